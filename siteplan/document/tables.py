"""The same rows for people's spreadsheets and for programs: findings.json, stations.csv, quantities.csv."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Sequence
from typing import Any

from shapely import Point

from siteplan.check.finding import Finding, Prospect
from siteplan.document.geojson import NOT_A_PERMIT
from siteplan.document.model import Plan
from siteplan.document.price_list import FOR_SCALE, NOT_IN_IT
from siteplan.measure.amounts import PriceRow, Quantity
from siteplan.measure.prices import total
from siteplan.route.drawing_error import words
from siteplan.rules.citation import Citation
from siteplan.units import Printer, money


def findings_json(plan: Plan) -> str:
    """Findings, worst first, in SI with the citation of each; beside them the rules, what they lack, and the site's overrides."""
    requirements = plan.requirements
    data = {
        "site": plan.site.name,
        "note": NOT_A_PERMIT,
        "confidence": requirements.confidence,
        "layers": [
            {
                "layer": note.layer,
                "title": note.title,
                "edition": note.edition,
                "thin": note.thin,
                "gaps": list(note.gaps),
                "silent": list(note.silent),
                "set_aside": list(note.set_aside),
            }
            for note in requirements.stack
        ],
        "warnings": list(requirements.warnings),
        "overrides": [_citation(citation) for citation in requirements.overridden],
        "trench_length_m": round(plan.layout.length_m, 4),
        "bank_volume_m3": round(plan.works.volumes.bank_m3, 4),
        "certificate": plan.layout.certificate,
        "price": dict(
            zip(("low", "likely", "high"), (round(each, 2) for each in total(plan.works.prices)), strict=True)
        ),
        "currency": plan.site.rates.currency,
        "least_price": None if plan.layout.least_price is None else round(plan.layout.least_price, 2),
        "alternatives": [
            {
                "name": other.name,
                "length_m": round(other.length_m, 4),
                "price": round(other.price, 2),
                "why": other.why,
            }
            for other in plan.layout.alternatives
        ],
        "tolerances": [
            {
                "feature": each.feature,
                "shift_m": round(each.shift_m, 4),
                "fails": each.fails,
                "row": each.row,
                "words": words(plan.site, each),
            }
            for each in plan.tolerances
        ],
        "findings": [_finding(finding) for finding in plan.findings],
    }
    return json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _finding(finding: Finding) -> dict[str, Any]:
    def rounded(value: float | None) -> float | None:
        return None if value is None else round(value, 4)

    return {
        "number": finding.number,
        "topic": finding.topic,
        "what": finding.what,
        "subject": finding.subject,
        "to": finding.to,
        "verdict": finding.verdict,
        "unit": finding.unit,
        "required": rounded(finding.required_m),
        "required_text": finding.required_text,
        "measured": rounded(finding.measured_m),
        "error": rounded(finding.error_m),
        "margin": rounded(finding.margin_m),
        "confidence": finding.confidence,
        "chance": rounded(finding.chance),
        "method": finding.method,
        "reach": finding.reach,
        "from_m": rounded(finding.from_m),
        "to_m": rounded(finding.to_m),
        "points_m": [[round(x, 4), round(y, 4)] for x, y in finding.points],
        "settle": finding.settle,
        "prospect": _prospect(finding.prospect) if finding.prospect else None,
        "because": list(finding.because),
        "citation": _citation(finding.citation) if finding.citation else None,
    }


def _prospect(prospect: Prospect) -> dict[str, Any]:
    return {
        "measurement": prospect.measurement,
        "clear": round(prospect.clear, 3),
        "short": round(prospect.short, 3),
    }


def _citation(citation: Citation) -> dict[str, Any]:
    return {
        "row": citation.row,
        "layer": citation.layer,
        "text": citation.text,
        "edition": citation.edition,
        "url": citation.url,
        "standing": citation.standing,
        "force": citation.force,
        "note": citation.note,
    }


def stations_csv(plan: Plan) -> str:
    """One row a station, in the units of the sheets; longitude and latitude at the end, if the site has any."""
    print_ = Printer(plan.site.units)
    unit = print_.unit
    head = [
        *("reach", "station", f"distance_{unit}", "what", f"cut_{unit}", f"ground_elevation_{unit}"),
        *(f"bottom_elevation_{unit}", f"width_{unit}", "section", "hand_dig"),
        *("tie_a", f"tie_a_{unit}", "tie_b", f"tie_b_{unit}", "longitude", "latitude"),
    ]
    rows = []
    for station in plan.works.stations:
        spot = Point(station.x, station.y)
        place = plan.frame.to_lonlat(spot) if plan.frame.placed else None
        ties = [part for name, tape in station.ties[:2] for part in (name, print_.number(tape))]
        rows.append(
            [
                station.reach,
                print_.station(station.distance_m),
                print_.number(station.distance_m),
                station.what,
                print_.number(station.cut_m),
                "" if station.grade_m is None else print_.number(station.grade_m),
                "" if station.bottom_m is None else print_.number(station.bottom_m),
                print_.number(station.width_m),
                station.section,
                "yes" if station.hand_dig else "",
                *(ties + [""] * (4 - len(ties))),
                *((f"{place.x:.9f}", f"{place.y:.9f}") if place else ("", "")),
            ]
        )
    return _csv(head, rows)


def quantities_csv(plan: Plan) -> str:
    """The take-off, in the units of the sheets."""
    print_ = Printer(plan.site.units)
    rows = [
        [
            row.item,
            *amount(row, row.amount, print_).split(" ", 1),
            amount(row, row.order, print_).split(" ", 1)[0],
            "; order ".join(part for part in (row.note, row.pieces) if part),
        ]
        for row in plan.works.quantities
    ]
    currency = plan.site.rates.currency
    for row in plan.works.prices:
        doubt = "" if row.stated else f" ({FOR_SCALE})"
        low, likely, high = (money(each, currency) for each in (row.low, row.likely, row.high))
        sums = f"{low} to {high}, likely {likely}{doubt}"
        rows.append([f"Price, {row.what}", *amount(row, row.amount, print_).split(" ", 1), "", sums])
    if plan.works.prices:
        low_sum, likely_sum, high_sum = total(plan.works.prices)
        between = f"{money(low_sum, currency)} to {money(high_sum, currency)}; {NOT_IN_IT}"
        rows.append(["Price, all of these", f"{likely_sum:.0f}", currency, "", between])
    return _csv(["item", "amount", "unit", "order", "note"], rows)


def amount(row: Quantity | PriceRow, value: float, print_: Printer) -> str:
    """Print an amount of a row of the take-off or the price list with its unit: ``185.0 ft``, ``12.3 CY``, ``4 no.``."""
    if row.unit == "count":
        return f"{value:.0f} no."
    if row.unit == "length":
        return print_.length(value) if print_.system != "ft-in" else Printer("ft").length(value)
    return print_.volume(value) if row.unit == "volume" else print_.area(value)


def _csv(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Write CSV that no spreadsheet reads as a formula: a text that begins like one gets a leading quote."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(head)
    for row in rows:
        writer.writerow([_inert(cell) for cell in row])
    return text.getvalue()


def _inert(cell: str) -> str:
    if cell and cell[0] in "=+-@\t\r" and not cell[1:].replace(".", "").isdigit():
        return "'" + cell
    return cell
