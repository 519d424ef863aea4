"""Where typed measurements put a thing, and ``ties.csv`` with their rows added and taken out. It is solved in ``plane``."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

from shapely import Point

from siteplan.document.geojson import geometry
from siteplan.document.tape_table import signed_words, value_words
from siteplan.errors import Fault, InputFaults
from siteplan.plane.by_tape import TapedPlace, Taping
from siteplan.read import read_site
from siteplan.read.features import stated_evidence
from siteplan.read.folder import TIES
from siteplan.read.ties import COLUMNS, parse_ties
from siteplan.read.words import FaultList
from siteplan.site.catalogue import kinds, methods
from siteplan.site.features import Feature, Source
from siteplan.site.field_notes import Measurement
from siteplan.site.net import Misfit
from siteplan.units import Printer

MOST_ROWS = 12
"""Measurements of one place that are taken."""

_LOOSE_M = 1.0
"""A thing whose corners are known no better than this is spoken of (own choice)."""

SEEN = 0.0005
"""A misfit below this is none [m or deg]."""

_TYPED = ("from", "to", "distance", "rise", "along", "offset", "bearing", "declination", "side", "error")
_HANDS = ("left", "right")

Typed = Mapping[str, str]
"""One measurement as it was typed: column of ``ties.csv`` to text; corners by the names that the page shows."""


class Refused(Exception):
    """Measurements that cannot be read: what is wrong, by number of the row; -1: with all of them."""

    def __init__(self, rows: Mapping[int, Sequence[str]]) -> None:
        self.rows = rows
        super().__init__(str(rows))


def tried(folder: Path, thing: Mapping[str, Any], rows: Sequence[Typed]) -> dict[str, Any]:
    """Say where typed measurements put a thing: one place, or two that fit alike."""
    taping = Taping(read_site(folder, finished=False))
    feature = _feature(taping, thing)
    print_ = Printer(taping.site.units)
    loose = list(_loosely_known(taping, rows, print_))
    places = []
    for letter, (hand, asked) in zip("AB", _ways(taping, feature, rows), strict=False):
        found = taping.places(feature, _measurements(taping, feature, asked))
        side = _where(asked, hand)
        places.append({"letter": letter, "side": hand, "where": side, **_place(found, asked, print_)})
    return {"places": places, "loose": loose}


def _loosely_known(taping: Taping, rows: Sequence[Typed], print_: Printer) -> Iterator[str]:
    """Say of each thing that is measured from and hardly known itself that no tape from it can be better."""
    used = {name for row in rows for name in (row.get("from"), row.get("to"))}
    ids = {each.feature for each in taping.corners if each.name in used}
    for thing in taping.placed.features:
        if thing.id in ids and thing.evidence.private_m > _LOOSE_M:
            good = print_.length(thing.evidence.private_m)
            yield (
                f"{thing.name} is known to {good} only ({methods()[thing.evidence.method].name}), and what is taped from it no "
                "better. If it was measured better, choose it on the drawing and say how it was measured."
            )


def kept(
    folder: Path, thing: Mapping[str, Any], rows: Sequence[Typed], side: str | None
) -> tuple[str, list[str]]:
    """Write typed measurements below those of ``ties.csv``.

    Returns
    -------
    str, list of str
        The whole text, and the lines that are new in it.

    Raises
    ------
    InputFaults, Refused
        With these rows the tapes cannot be read or solved.
    """
    taping = Taping(read_site(folder, finished=False))
    feature = _feature(taping, thing)
    asked = _on(side, rows) if side else list(rows)
    taping.places(feature, _measurements(taping, feature, asked))
    written = _written(taping, feature, asked)
    used = [name for name in COLUMNS if any(name in row for row in written)]
    text = ties_text(folder)
    first, _, rest = text.partition("\n")
    header = next(csv.reader([first]), []) if first.strip() else []
    wider = [*header, *(name for name in used if name not in header)]
    head = first.rstrip("\r") if wider == header else _csv(wider)
    lines = [_csv([row.get(name.strip(), "") for name in wider]) for row in written]
    body = rest if not rest or rest.endswith("\n") else rest + "\n"
    return f"{head}\n{body}" + "".join(f"{line}\n" for line in lines), lines


def without(folder: Path, lines: Iterable[str]) -> str | None:
    """Return ``ties.csv`` without some lines, each taken out once, the last one first; ``None`` if no measurement is left."""
    head, *body = ties_text(folder).split("\n")
    for line in lines:
        if line in body:
            del body[len(body) - 1 - body[::-1].index(line)]
    return "\n".join([head, *body]) if any(each.strip() for each in body) else None


def _ways(
    taping: Taping, feature: Feature, rows: Sequence[Typed]
) -> list[tuple[str | None, Sequence[Typed]]]:
    """The measurements as typed, or with both hands where nobody says on which side they mean."""
    if any(row.get("offset") and row["offset"].split()[-1] not in _HANDS for row in rows):
        return [(hand, _on(hand, rows)) for hand in _HANDS]
    try:
        taping.places(feature, _measurements(taping, feature, rows))
    except InputFaults as faults:
        if not all(fault.where == "side" for fault in faults.faults) or _other_end(rows) is None:
            raise
        return [(hand, _on(hand, rows)) for hand in _HANDS]
    return [(None, rows)]


def _on(hand: str, rows: Sequence[Typed]) -> list[Typed]:
    """Say the side of every offset that has none; else of the first tape, as seen towards the corner of another."""
    bare = [
        number
        for number, row in enumerate(rows)
        if row.get("offset") and row["offset"].split()[-1] not in _HANDS
    ]
    if bare:
        return [
            {**row, "offset": f"{row['offset']} {hand}"} if number in bare else row
            for number, row in enumerate(rows)
        ]
    end = _other_end(rows)
    return [
        {**row, "to": end[1], "side": hand} if end and number == end[0] else row
        for number, row in enumerate(rows)
    ]


def _other_end(rows: Sequence[Typed]) -> tuple[int, str] | None:
    """Number of the first tape, and the corner of another: the line that the side is told by."""
    tapes = [(n, row["from"]) for n, row in enumerate(rows) if row.get("distance") and not row.get("bearing")]
    for n, corner in tapes:
        for _, other in tapes:
            if other != corner:
                return n, other
    return None


def _where(rows: Sequence[Typed], hand: str | None) -> str:
    if hand is None:
        return ""
    row = next(row for row in rows if row.get("to"))
    return f"{hand} of the line from {row['from']} to {row['to']}"


def _place(found: TapedPlace, rows: Sequence[Typed], print_: Printer) -> dict[str, Any]:
    worst = found.worst
    return {
        "at": found.at,
        "ellipse": geometry(found.ellipse),
        "arcs": [[list(place) for place in arc.coords] for arc in found.arcs],
        "within": print_.length(found.point.ellipse.radius_m),
        "long": print_.length(found.point.ellipse.major_m),
        "toward": round(found.point.ellipse.bearing_deg) % 180,
        "ties": [misfit_answer(each, print_) for each in found.misfits],
        "worst": found.misfits.index(worst) if worst and abs(worst.misfit) > SEEN else None,
        "checked": worst is not None,
        "warnings": [each.text for each in found.warnings],
    }


def misfit_answer(each: Misfit, print_: Printer) -> dict[str, Any]:
    """Tell one measured number, in words."""
    return {
        "what": each.what,
        "measured": value_words(each, each.measured, print_),
        "error": value_words(each, each.error, print_),
        "misfit": signed_words(each, each.misfit, print_) if each.without is not None else "",
        "sigmas": round(each.standardised, 1),
    }


def _feature(taping: Taping, thing: Mapping[str, Any]) -> Feature:
    """Make the thing to be placed: one of the site, or a new one."""
    own, kind = str(thing.get("id", "")).strip(), str(thing.get("kind", ""))
    old = next((each for each in taping.placed.features if each.id == own), None)
    if old is not None:
        if old.shape.geom_type != "Point":
            raise Refused({-1: [f"{old.name} is not a point"]})
        return old
    if kind not in kinds() or "point" not in kinds()[kind].shapes or not own:
        raise Refused({-1: ["choose what is to be placed: a thing that is drawn as a point"]})
    if any(own.casefold() in (each.name.casefold(), each.written.casefold()) for each in taping.corners):
        raise Refused({-1: [f"{own} is the name of a corner already"]})
    return Feature(
        id=own,
        kind=kind,
        name=kinds()[kind].name,
        shape=Point(),
        evidence=stated_evidence(None, None, None),
        source=Source(file=TIES),
    )


def _written(taping: Taping, feature: Feature, rows: Sequence[Typed]) -> list[dict[str, str]]:
    """Return rows as they stand in the file: only what is filled in, corners by the names that are written."""
    written = {each.name: each.written for each in taping.corners}
    return [
        {
            "point": feature.id,
            **{
                name: written.get(text, text) if name in ("from", "to") else text
                for name in _TYPED
                if (text := row.get(name, "").strip())
            },
        }
        for row in rows
    ]


def _measurements(taping: Taping, feature: Feature, rows: Sequence[Typed]) -> tuple[Measurement, ...]:
    """Read typed rows as those of a file are; ``Refused`` with what is wrong by row."""
    if not 0 < len(rows) <= MOST_ROWS:
        raise Refused({-1: [f"expected 1 to {MOST_ROWS} measurements"]})
    names = {each.name for each in taping.corners}
    wrong = {
        number: ["choose a corner"]
        for number, row in enumerate(rows)
        if row.get("from", "") not in names or (row.get("to") and row["to"] not in names)
    }
    if wrong:
        raise Refused(wrong)
    table = "\n".join(
        (
            _csv(COLUMNS),
            *(_csv([row.get(name, "") for name in COLUMNS]) for row in _written(taping, feature, rows)),
        )
    )
    faults = FaultList()
    read = parse_ties(table, TIES, faults)
    if len(faults):
        lines: dict[int, list[str]] = {}
        for fault in faults.error().faults:
            lines.setdefault((fault.line or 1) - 2, []).append(
                str(replace(fault, file="", line=None)).lstrip(": ")
            )
        raise Refused(lines)
    spelled = {each.written.casefold(): each.name for each in taping.corners}

    def name(of: str | None) -> str | None:
        return spelled.get(of.casefold(), of) if of else of

    return tuple(replace(row, start=name(row.start) or "", towards=name(row.towards)) for row in read)


def _csv(cells: Iterable[str]) -> str:
    out = StringIO()
    csv.writer(out, lineterminator="").writerow(cells)
    return out.getvalue()


def ties_text(folder: Path) -> str:
    """Return ``ties.csv`` as it stands, empty if there is none."""
    path = folder / TIES
    try:
        return path.read_bytes().decode("utf-8-sig") if path.exists() else ""
    except (OSError, UnicodeDecodeError) as error:
        raise InputFaults(
            [Fault(file=TIES, found="a file that cannot be read", expected="text in UTF-8")]
        ) from error
