"""Bearings and declinations as people write them, to degrees."""

from __future__ import annotations

import re

from siteplan.read.words import Unusable, shown

_NUMBER = r"([0-9]{1,3}(?:\.[0-9]+)?)"
_ANGLE = rf"{_NUMBER}(?:[ -]+{_NUMBER}(?:[ -]+{_NUMBER})?)?"
_QUADRANT = re.compile(rf"([NS]) ?{_ANGLE} ?([EW])")
_WHOLE_CIRCLE = re.compile(_ANGLE)
_DECLINATION = re.compile(rf"{_ANGLE} ?([EW])")
_CARDINAL = {"N": 0.0, "E": 90.0, "S": 180.0, "W": 270.0}
_BEARING = 'a bearing such as "N 26 10 E", "N 26.5 E" or "206.5" (0 to 360)'
_FROM_TRUE = 'the declination, such as "12.5 E"; "0" if the bearing is from true north'
_MOST_DECLINATION_DEG = 60.0


def parse_bearing_deg(text: str) -> float:
    """Read a bearing: by quadrant in degrees, minutes and seconds, or of the whole circle.

    Returns
    -------
    float
        Degrees clockwise from the north it was read from, 0 to 360.

    Raises
    ------
    Unusable

    Examples
    --------
    >>> round(parse_bearing_deg("N 26 10 E"), 4), parse_bearing_deg("S 15°30' W"), parse_bearing_deg("206.5")
    (26.1667, 195.5, 206.5)
    """
    plain = _plain(text)
    if plain in _CARDINAL:
        return _CARDINAL[plain]
    if quadrant := _QUADRANT.fullmatch(plain):
        north, *parts, east = quadrant.groups()
        angle_deg = _degrees(parts, text, _BEARING, most=90.0)
        from_north = angle_deg if north == "N" else 180.0 - angle_deg
        return (from_north if east == "E" else -from_north) % 360.0
    if whole := _WHOLE_CIRCLE.fullmatch(plain):
        return _degrees(list(whole.groups()), text, _BEARING, most=360.0) % 360.0
    raise Unusable(found=f"the bearing {shown(text)}", expected=_BEARING)


def parse_declination_deg(text: str) -> float:
    """Read how far magnetic north lies east of true north [deg]; west is negative.

    >>> parse_declination_deg("12 30 E"), parse_declination_deg("3.5 W"), parse_declination_deg("0")
    (12.5, -3.5, 0.0)
    """
    plain = _plain(text)
    if plain == "0":
        return 0.0
    match = _DECLINATION.fullmatch(plain)
    if match is None:
        raise Unusable(found=f"the declination {shown(text)}", expected=_FROM_TRUE)
    *parts, east = match.groups()
    return _degrees(parts, text, _FROM_TRUE, most=_MOST_DECLINATION_DEG) * (1 if east == "E" else -1)


def _plain(text: str) -> str:
    """Capitals, and blanks for the signs of degrees, minutes and seconds."""
    return " ".join(re.sub(r"[°º'′’\"″”]|\bDEG\b", " ", text.upper()).split())


def _degrees(parts: list[str | None], text: str, expected: str, *, most: float) -> float:
    whole, minutes, seconds = (float(part) if part else 0.0 for part in parts)
    split = parts[1] is not None and not whole.is_integer()
    split = split or (parts[2] is not None and not minutes.is_integer())
    angle_deg = whole + minutes / 60 + seconds / 3600
    if split or minutes >= 60 or seconds >= 60 or angle_deg > most:
        raise Unusable(found=shown(text), expected=expected)
    return angle_deg
