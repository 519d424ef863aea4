"""``[[underlay]]`` of ``site.toml``: a scan or photo to lie under the map, PNG or JPEG, from the site folder only."""

from __future__ import annotations

import struct
import warnings
from collections.abc import Iterable
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from siteplan.read.folder import may_be_read
from siteplan.read.shapes import check_lonlat, point
from siteplan.read.site_fields import Name, misfit
from siteplan.read.words import FaultList, Unusable, clean_text, shown
from siteplan.site.features import Source
from siteplan.site.underlay import KnownPoint, Underlay, Where

if TYPE_CHECKING:
    from siteplan.read.site_file import Row

MOST_PICTURE_BYTES = 4_000_000
"""Of one picture; it goes into the map page whole, which should still open on a phone."""
MOST_PICTURE_DOTS = 25_000_000

_FIRST_BYTES: dict[bytes, Literal["image/png", "image/jpeg"]] = {
    b"\x89PNG\r\n\x1a\n": "image/png",
    b"\xff\xd8\xff": "image/jpeg",
}
_POINTS = (
    'two or three points, each [dots to the right, dots down, "House NE"] or [dots to the right, dots down,'
    " longitude, latitude]"
)
_TURNED = frozenset((5, 6, 7, 8))
_EXIF_ORIENTATION = 0x0112


def _check_points(points: list[list[float | str]]) -> list[list[float | str]]:
    for each in points:
        *numbers, last = each
        is_named = isinstance(last, str) and len(numbers) == 2
        if any(isinstance(number, str) for number in numbers) or not (is_named or len(each) == 4):
            raise misfit(Unusable(found=shown(each), expected=_POINTS))
        try:
            if isinstance(last, str):
                clean_text(last)
            else:
                check_lonlat(point([float(each[2]), float(last)]))
        except Unusable as error:
            raise misfit(error) from error
    return points


class UnderlayTable(BaseModel):
    """[[underlay]]: a scan or photo that lies under the map, to look at; nothing is measured on it."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)

    picture: Name = Field(description='a PNG or JPEG file of this folder, such as "plat.png"')
    points: Annotated[
        list[Annotated[list[float | str], Field(min_length=3, max_length=4)]],
        Field(min_length=2, max_length=3),
        AfterValidator(_check_points),
    ] = Field(description=_POINTS)


def read_underlays(
    rows: Iterable[Row[UnderlayTable]], folder: Path, faults: FaultList, *, lonlat: bool
) -> tuple[Underlay, ...]:
    """Read the pictures that the tables name. Faults go into the list."""
    found = (_read(row, folder, faults, lonlat=lonlat) for row in rows)
    return tuple(each for each in found if each is not None)


def _read(row: Row[UnderlayTable], folder: Path, faults: FaultList, *, lonlat: bool) -> Underlay | None:
    name, points = row.table.picture, tuple(_known_point(each) for each in row.table.points)
    key = "picture"
    try:
        path = _in_folder(folder, name)
        if not may_be_read(path, faults):
            return None
        content = path.read_bytes()
        sort = _sort(content, name)
        width_px, height_px = _size(content)
        key = "points"
        _check_places(points, width_px, height_px, lonlat=lonlat)
    except Unusable as misfit:
        faults.take(row.at(key), misfit)
        return None
    at = row.at("points")
    return Underlay(
        name=name,
        sort=sort,
        content=content,
        width_px=width_px,
        height_px=height_px,
        points=points,
        source=Source(file=at.file, line=at.line),
    )


def _in_folder(folder: Path, name: str) -> Path:
    if Path(name).name != name or not (folder / name).exists():
        raise Unusable(found=shown(name), expected="a file of this folder", mend="copy the picture here")
    return folder / name


def _known_point(given: list[float | str]) -> KnownPoint:
    at: Where = given[2] if isinstance(given[2], str) else (float(given[2]), float(given[3]))
    return KnownPoint(right_px=float(given[0]), down_px=float(given[1]), at=at)


def _sort(content: bytes, name: str) -> Literal["image/png", "image/jpeg"]:
    """What the picture is, by its first bytes, and that it is not too large."""
    sort = next((sort for first, sort in _FIRST_BYTES.items() if content.startswith(first)), None)
    if sort is None:
        raise Unusable(
            found=f"{shown(name)}, by its first bytes no PNG or JPEG", expected="a PNG or JPEG picture"
        )
    if len(content) > MOST_PICTURE_BYTES:
        raise Unusable(
            found=f"a picture of {len(content) / 1e6:.1f} MB",
            expected=f"at most {MOST_PICTURE_BYTES / 1e6:.0f} MB, because the map page holds it whole",
            mend="save it smaller: grey, 150 dots to the inch",
        )
    return sort


def _size(content: bytes) -> tuple[int, int]:
    """Width and height as it is seen."""
    from PIL import Image

    too_large = Unusable(
        found="too large a picture",
        expected=f"at most {MOST_PICTURE_DOTS / 1e6:.0f} million dots",
        mend="save it smaller",
    )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(BytesIO(content), formats=("PNG", "JPEG")) as picture:
                width, height = picture.size
                if width * height > MOST_PICTURE_DOTS:
                    raise too_large
                picture.load()
                is_turned = picture.getexif().get(_EXIF_ORIENTATION) in _TURNED
    except Image.DecompressionBombError:
        raise too_large from None
    except Unusable:
        raise
    except (OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError, struct.error):
        raise Unusable(
            found="a picture that does not open", expected="a whole one", mend="save it again"
        ) from None
    return (height, width) if is_turned else (width, height)


def _check_places(points: Iterable[KnownPoint], width_px: int, height_px: int, *, lonlat: bool) -> None:
    for each in points:
        if not (0 <= each.right_px <= width_px and 0 <= each.down_px <= height_px):
            raise Unusable(
                found=f"the point {each.right_px:g}, {each.down_px:g}",
                expected=f"a place in the picture of {width_px} by {height_px} dots",
                mend="count from its upper left corner",
            )
        if not (lonlat or isinstance(each.at, str)):
            raise Unusable(
                found="longitude and latitude, on a site with a [grid]", expected="corners by name"
            )
