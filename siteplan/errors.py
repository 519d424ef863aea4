"""Everything that can go wrong, on one page.

::

    SiteplanError            could not do what was asked
    |-- InputFaults          the files need mending; holds every Fault found, not only the first
    `-- NoRoute              no trench can be dug; says what blocks it and where

A rule that is not met is never an exception: it is a ``Finding`` (see ``siteplan.check``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


class SiteplanError(Exception):
    """Base of all errors that siteplan raises on purpose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing to mend in an input file.

    Attributes
    ----------
    file : str
        Path as the user gave it, relative to the site folder where possible.
    line : int or None
        Line number, counted from 1, if known.
    where : str
        Feature id or key path inside the file, ``""`` if none.
    found, expected, mend : str
        What stands there, what should, and what to do about it.
    """

    file: str
    line: int | None = None
    where: str = ""
    found: str
    expected: str
    mend: str = ""

    def __str__(self) -> str:
        place = self.file + (f":{self.line}" if self.line is not None else "")
        where = f" {self.where}:" if self.where else ""
        mend = f"; {self.mend}" if self.mend else ""
        text = f"{place}:{where} found {self.found}, expected {self.expected}{mend}"
        return " ".join(text.split())


class InputFaults(SiteplanError):
    """The input cannot be used as it is; ``faults`` names everything to mend.

    >>> print(InputFaults([Fault(file="site.toml", line=3, found='"36"', expected="a length with its unit")]))
    site.toml:3: found "36", expected a length with its unit
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))

    def __reduce__(self) -> tuple[type[InputFaults], tuple[tuple[Fault, ...]]]:
        return InputFaults, (self.faults,)


@dataclass(frozen=True, slots=True, kw_only=True)
class WayOut:
    """What would leave a way where there is none. Nobody has granted it, and nothing here says that anybody will.

    Attributes
    ----------
    kind : str
        measure: find the true place of a thing; variance: a rule that asks less here; bore: go under; hand dig: come nearer
        with a shovel than a machine does; easement: over the ground of others; move: a thing that is only proposed.
    feature : str
        Id of the thing; the parcel for an easement.
    row : str
        Id of the rules row that would have to ask less; ``""`` for other kinds.
    amount_m : float
        What it takes [m]: how well it must be known, how much less is asked, how long the bore, the digging by hand or the
        trench on the ground of others is, how far it is moved.
    price : float or None
        Likely price of that at the rates of the site; ``None`` if the table has none for it.
    words : str
        A clause that prints.
    """

    kind: Literal["measure", "variance", "bore", "hand dig", "easement", "move"]
    feature: str
    row: str = ""
    amount_m: float
    price: float | None = None
    words: str


class NoRoute(SiteplanError):
    """No trench fits between two points.

    Attributes
    ----------
    blockers : tuple of str
        Ids of the features whose kept-off areas close the way.
    where : shapely geometry
        The closing areas, to be drawn: ground metres from the router, degrees out of ``plan``.
    ways_out : tuple of WayOut
        What would leave a way: what needs nobody's leave first, of that the cheapest.
    """

    def __init__(
        self,
        message: str,
        *,
        blockers: tuple[str, ...],
        where: BaseGeometry,
        ways_out: tuple[WayOut, ...] = (),
    ) -> None:
        self.blockers = blockers
        self.where = where
        self.ways_out = ways_out
        super().__init__(message)

    def __reduce__(self) -> tuple[Callable[[str], NoRoute], tuple[str]]:
        told = partial(NoRoute, blockers=self.blockers, where=self.where, ways_out=self.ways_out)
        return told, (str(self),)
