"""The planned site: everything that the documents print."""

from __future__ import annotations

from dataclasses import dataclass

from siteplan.check.finding import Finding
from siteplan.measure.model import Works
from siteplan.plane.frame import Frame
from siteplan.plane.ground import GroundSurface
from siteplan.plane.local import LocalGrid
from siteplan.route.model import Layout
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
    """

    site: Site
    frame: Frame | LocalGrid
    ground: GroundSurface | None
    requirements: Requirements
    layout: Layout
    works: Works
    findings: tuple[Finding, ...]
