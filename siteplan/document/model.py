"""The planned site: everything that the documents print."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from siteplan.check.finding import Finding
from siteplan.document.speech import ENGLISH, Speech
from siteplan.measure.model import Works
from siteplan.plane.ground import GroundSurface
from siteplan.plane.local import Plane
from siteplan.route.drawing_error import Tolerance
from siteplan.route.model import Layout
from siteplan.rules.clock import LocateDates, locate_dates
from siteplan.rules.model import Requirements
from siteplan.site.site import Site


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A planned site.

    Attributes
    ----------
    site : Site
        In ground metres.
    frame : Frame or LocalGrid
        The way back to degrees.
    ground : GroundSurface or None
        ``None``: no levels, cut from ground surface only.
    findings : tuple of Finding
        Worst first, numbered.
    tolerances : tuple of Tolerance
        How far each thing may lie from where it is drawn, the least first.
    call : datetime or None
        Local time of the call for locates; ``None``: not said.
    say : Speech
        The language in which a sheet is printed.
    """

    site: Site
    frame: Plane
    ground: GroundSurface | None
    requirements: Requirements
    layout: Layout
    works: Works
    findings: tuple[Finding, ...]
    tolerances: tuple[Tolerance, ...] = ()
    call: datetime | None = None
    say: Speech = ENGLISH

    @property
    def locate_dates(self) -> LocateDates | None:
        """Dates that follow from the call; ``None`` without a call, or without a rule that counts them."""
        clock = self.requirements.clock
        return locate_dates(clock, self.call) if clock and self.call else None
