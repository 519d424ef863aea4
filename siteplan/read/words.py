"""How this room speaks of a fault, and which texts it takes: shared by all readers.

``FaultList`` gathers everything to mend, so that a user hears of all of it at once. ``Unusable`` carries one
misfit from the place that sees it up to the reader that knows the file and the line.
"""

from __future__ import annotations

import json
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

from siteplan.errors import Fault, InputFaults

LONGEST_NAME = 200
LONGEST_TEXT = 1000

_DIRECTION_MARKS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where in the files something stands, for faults."""

    file: str
    line: int | None = None
    where: str = ""


class Unusable(ValueError):
    """A value that cannot be used; the attributes are those of ``siteplan.errors.Fault``."""

    def __init__(self, *, found: str, expected: str, mend: str = "") -> None:
        self.found = found
        self.expected = expected
        self.mend = mend
        super().__init__(f"found {found}, expected {expected}")


class FaultList:
    """All faults found so far."""

    def __init__(self) -> None:
        self._faults: list[Fault] = []

    def __len__(self) -> int:
        return len(self._faults)

    def add(self, place: Place, *, found: str, expected: str, mend: str = "") -> None:
        """Note one fault."""
        self._faults.append(
            Fault(
                file=place.file,
                line=place.line,
                where=place.where,
                found=found,
                expected=expected,
                mend=mend,
            )
        )

    def take(self, place: Place, misfit: Unusable) -> None:
        """Note a misfit that was raised further down."""
        self.add(place, found=misfit.found, expected=misfit.expected, mend=misfit.mend)

    def join(self, others: FaultList) -> None:
        """Note all that another list has."""
        self._faults += others._faults

    def error(self) -> InputFaults:
        """Everything noted, by file and line, each once."""
        unique = dict.fromkeys(self._faults)
        return InputFaults(sorted(unique, key=lambda fault: (fault.file, fault.line or 0)))


def shown(value: object) -> str:
    """A value as it stands in a file, cut to one short line.

    >>> shown("36"), shown(True), shown(2.5)
    ('"36"', 'true', '2.5')
    """
    if isinstance(value, str | bool | int | float | list | dict) or value is None:
        text = json.dumps(value, ensure_ascii=False, default=str)
    else:
        text = str(value)
    text = "".join(sign if _prints(sign) else "\N{REPLACEMENT CHARACTER}" for sign in text)
    return text if len(text) <= 60 else text[:57] + "..."


def listed(options: Iterable[str]) -> str:
    """Some names in a row, sorted.

    >>> listed(["water", "electric"])
    'electric, water'
    """
    return ", ".join(sorted(options))


def suggestion(word: str, options: Iterable[str]) -> str:
    """Ask about the nearest of the options, ``""`` if none is near.

    >>> suggestion("casing_dpth", ["casing_depth", "tag"])
    'did you mean "casing_depth"?'
    """
    nearest = near(word, options)
    return f'did you mean "{nearest}"?' if nearest else ""


def near(word: str, options: Iterable[str], *, likeness: float = 0.6) -> str | None:
    """Nearest of the options, None if none is alike enough (0 to 1)."""
    found = get_close_matches(word, sorted(options), n=1, cutoff=likeness)
    return found[0] if found else None


def clean_text(text: str, *, longest: int = LONGEST_NAME) -> str:
    """Return a text that can be printed on one line, blanks at the ends taken off.

    Raises ``Unusable`` for control characters, hidden direction marks, and more than ``longest`` signs.
    """
    if len(text) > longest:
        raise Unusable(
            found=f"a text of {len(text)} characters", expected=f"at most {longest}", mend="shorten it"
        )
    for sign in "" if text.isprintable() else text:
        if not _prints(sign):
            raise Unusable(
                found=f"the hidden character U+{ord(sign):04X} in {shown(text)}",
                expected="a text that prints on one line",
                mend="take it out",
            )
    return text.strip()


def one_line(text: str, *, longest: int = LONGEST_TEXT) -> str:
    """Join a longer text that may run over several lines into one; raises as ``clean_text``."""
    return clean_text(" ".join(text.split()), longest=longest)


def _prints(sign: str) -> bool:
    return unicodedata.category(sign) not in ("Cc", "Cs", "Zl", "Zp") and sign not in _DIRECTION_MARKS
