"""What the page is told of the tapes of a site: the corners to tape from, and the measurements that are there."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

from shapely import Point

from siteplan.errors import InputFaults
from siteplan.plane.by_tape import Corner, Taping
from siteplan.read import read_site
from siteplan.units import Printer
from siteplan.web.tapes import SEEN, misfit_answer, ties_text

_OFF_M = 0.05
"""A thing drawn no farther from where the tapes put it is drawn there [m]."""


def told(folder: Path) -> dict[str, Any]:
    """Corners to tape from, and the tapes that are there with how they fit."""
    site = read_site(folder, finished=False)
    if site.coordinates == "lonlat" and all(each.shape.is_empty for each in site.features):
        return {
            "corners": [],
            "tapes": [],
            "worst": "",
            "warnings": [],
            "faults": [],
            "lines": [],
            "points": [],
        }
    taping = Taping(site)
    print_, net = Printer(taping.site.units), taping.placed.net
    names = {each.id: each.name for each in taping.placed.features}
    lines = ties_text(folder).split("\n")
    worst = net.worst if net else None
    return {
        "corners": [
            {
                "name": each.name,
                "plain": _plain(each),
                "of": each.feature,
                "thing": names.get(each.feature, ""),
                "at": each.at,
            }
            for each in taping.corners
        ],
        "tapes": [
            {
                **misfit_answer(each, print_),
                "of": taping.owners.get(each.point.casefold(), ""),
                "line": each.source.line,
                "text": lines[(each.source.line or 1) - 1],
            }
            for each in (net.misfits if net else ())
        ],
        "worst": worst.what if worst and abs(worst.misfit) > SEEN else "",
        "warnings": [f"{each.source.file}:{each.source.line}: {each.text}" for each in net.warnings]
        if net
        else [],
        "faults": [str(fault) for fault in taping.faults.faults] if taping.faults else [],
        "points": list(_taped_points(taping, print_)),
        "lines": [[number, line] for number, line in enumerate(lines, 1) if number > 1 and line.strip()],
    }


def _taped_points(taping: Taping, print_: Printer) -> Iterator[dict[str, Any]]:
    """Things that are drawn as a point and taped: where the tapes alone put them, and how far off they are drawn."""
    misfits = taping.placed.net.misfits if taping.placed.net else ()
    taped = {taping.owners.get(each.point.casefold()) for each in misfits}
    for thing in taping.site.features:
        if thing.id not in taped or thing.shape.geom_type != "Point" or thing.shape.is_empty:
            continue
        with suppress(InputFaults):
            at = taping.places(thing, ()).at
            off_m = taping.plane.to_ground(thing.shape).distance(taping.plane.to_ground(Point(at)))
            yield {"of": thing.id, "at": at, "off": print_.length(off_m) if off_m > _OFF_M else ""}


def _plain(corner: Corner) -> str:
    """Name of a corner for a picture: its thing by id and the side, whether it is staked or stands."""
    side = corner.written.removeprefix(corner.feature).removeprefix(" stake")
    return f"{corner.feature}{side}"
