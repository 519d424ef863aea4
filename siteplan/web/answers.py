"""What the drawing page is told: the kinds that may be drawn, and a plan in words and shapes. No length is computed here."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from siteplan.check.finding import Finding
from siteplan.document.geojson import blocked_geojson, plan_geojson
from siteplan.document.model import Plan
from siteplan.document.price_list import sums_words
from siteplan.document.summary import error_text, margin_text, measured_text
from siteplan.errors import InputFaults, NoRoute, SiteplanError
from siteplan.read import read_site
from siteplan.site.catalogue import kinds, methods
from siteplan.units import Printer


def site_heading(folder: Path) -> dict[str, Any]:
    """Name, printed units and height of a site, and whether it lies in a tape grid; a guess while it cannot be read."""
    try:
        site = read_site(folder, finished=False)
    except SiteplanError:
        return {"name": folder.resolve().name, "units": "ft", "elevation_m": 0.0, "grid": False}
    return {
        "name": site.name,
        "units": site.units,
        "elevation_m": site.elevation_m,
        "grid": site.coordinates == "local",
    }


def catalogue() -> dict[str, Any]:
    """Kinds by group in the order of the table, and the ways to measure a position."""
    groups: dict[str, list[dict[str, Any]]] = {}
    for kind in kinds().values():
        row = {"id": kind.id, "name": kind.name, "shapes": list(kind.shapes), "mark": kind.mark}
        groups.setdefault(kind.group, []).append({**row, "facts": dict(kind.facts)})
    return {
        "groups": [{"name": name, "kinds": rows} for name, rows in groups.items()],
        "methods": [{"id": method.id, "name": method.name} for method in methods().values()],
    }


def fault_lines(error: SiteplanError) -> list[str]:
    """What must be mended, one line each."""
    if isinstance(error, InputFaults):
        return [str(fault) for fault in error.faults]
    line = " ".join(str(error).split())
    return [f"no route: {line}" if isinstance(error, NoRoute) else line]


def blocked(error: SiteplanError) -> dict[str, Any] | None:
    """Ground that closes the way, as GeoJSON."""
    if not isinstance(error, NoRoute) or error.where.is_empty:
        return None
    shapes: dict[str, Any] = json.loads(blocked_geojson(error))
    return shapes


def plan_answer(plan: Plan) -> dict[str, Any]:
    """Return a plan as the page shows it: shapes, numbers in the units of the site, findings worst first."""
    return {
        "shapes": json.loads(plan_geojson(plan)),
        "numbers": list(_numbers(plan)),
        "certificate": plan.layout.certificate,
        "findings": [_finding(finding, Printer(plan.site.units)) for finding in plan.findings],
    }


def _numbers(plan: Plan) -> Iterable[tuple[str, str]]:
    print_ = Printer(plan.site.units)
    cuts = [station.cut_m for station in plan.works.stations]
    volumes = plan.works.volumes
    yield "Trench", print_.length(plan.layout.length_m)
    least, most = print_.length(min(cuts)), print_.length(max(cuts))
    yield "Cut", least if least == most else f"{least} to {most}"
    yield "Dirt in the bank", print_.volume(volumes.bank_m3)
    yield "Loose", print_.volume(volumes.loose_m3)
    yield "Haul off, loose", print_.volume(volumes.haul_off_m3)
    yield "Crossings", str(len(plan.works.crossings))
    yield "Price", sums_words(plan)


def _finding(finding: Finding, print_: Printer) -> dict[str, Any]:
    citation = finding.citation
    return {
        "number": finding.number,
        "verdict": finding.verdict,
        "what": finding.what,
        "subject": finding.subject,
        "to": finding.to,
        "reach": finding.reach,
        "required": finding.required_text,
        "measured": measured_text(finding, print_),
        "error": error_text(finding, print_),
        "margin": margin_text(finding, print_),
        "method": finding.method,
        "because": list(finding.because),
        "settle": finding.settle,
        "rule": citation
        and {
            "text": citation.text,
            "edition": citation.edition,
            "row": citation.row,
            "layer": citation.layer,
            "url": citation.url,
            "force": citation.force.replace("_", " "),
            "confirmed": citation.confirmed,
            "note": citation.note,
        },
    }
