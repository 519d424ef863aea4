"""The plot plan: to scale, every length and distance as the coordinates give it, what is lacking named, nothing run together."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from io import BytesIO
from itertools import combinations, pairwise
from math import hypot
from typing import Any

import pytest
import shapely
from pypdf import PdfReader
from pypdf.generic import ContentStream
from shapely import LineString, Point, box

from siteplan.document.labels import Labels
from siteplan.document.model import Plan
from siteplan.document.plot_checklist import checklist
from siteplan.document.plot_map import MOST_DISTANCES, Chosen, accepted, choose
from siteplan.document.plot_plan import plot_plan
from siteplan.document.sheet import A4, LETTER, PAPERS, TABLOID, Box, Paper
from siteplan.plane.local import LocalGrid
from siteplan.rules.model import PlotPlanRules
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature, Source
from siteplan.units import Length, Printer
from tests.document.printed import pages, sheet_of
from tests.document.sample_plan import FEATURES, cite, sample_plan, thing
from tests.document.set_lines import watch
from tests.plans import example

FOOT = 0.3048
POINTS_PER_M = 72 / 0.0254
WELL, CASING_M = (9.0, 38.0), 3 * 0.0254
"""Of the sample: the well and half the diameter of its casing."""

BOXES = {
    "House (proposed)": (38, 8, 52, 18),
    "Barn": (44, 32, 54, 40),
    "Septic tank": (32.5, 9.4, 35, 10.6),
    "Absorption area": (14, 4, 27, 12),
    "Reserve area": (14, 13.5, 27, 18),
    "Propane tank": (56, 12, 58, 13.2),
}
"""Corners of the areas of the sample, as they stand in it."""


def strokes(pdf: bytes, width: float) -> list[list[list[tuple[float, float]]]]:
    """Lines of one width, page by page, in page points."""
    reader = PdfReader(BytesIO(pdf))
    found: list[list[list[tuple[float, float]]]] = []
    for page in reader.pages:
        lines: list[list[tuple[float, float]]] = []
        current: list[tuple[float, float]] = []
        pen = 0.0
        for operands, operator in ContentStream(page.get_contents(), reader).operations:
            if operator == b"w":
                pen = float(operands[0])
            elif operator == b"m":
                current = [(float(operands[0]), float(operands[1]))]
            elif operator == b"l":
                current.append((float(operands[0]), float(operands[1])))
            elif operator == b"S" and pen == pytest.approx(width) and len(current) > 1:
                lines.append(current)
        found.append(lines)
    return found


def long_pt(line: list[tuple[float, float]]) -> float:
    return sum(hypot(x1 - x0, y1 - y0) for (x0, y0), (x1, y1) in pairwise(line))


def to_box(west: float, south: float, east: float, north: float) -> float:
    """From the casing edge of the sample to an upright rectangle [m], by plain arithmetic."""
    x, y = WELL
    return hypot(max(west - x, 0, x - east), max(south - y, 0, y - north)) - CASING_M


def ratio_of(text: str) -> float:
    feet = re.search(r"scale 1 in = (\d+) ft", text)
    if feet:
        return float(feet[1]) * 12
    metric = re.search(r"scale 1:(\d+)", text)
    assert metric, text
    return float(metric[1])


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


@pytest.mark.parametrize("units", ["ft", "ft-in", "m"])
def test_distances_and_sides_are_those_of_the_coordinates(units: Any) -> None:
    """The lot of the sample is 61 m by 46 m; distances by ``to_box``, each also as long on the paper, within 0.2 %."""
    pdf, printer = sheet_of(plot_plan, sample_plan(units=units)), Printer(units)
    texts = pages(pdf)
    whole = " ".join(texts)
    expected = {name: to_box(*corners) for name, corners in BOXES.items()}
    for name, distance_m in expected.items():
        assert f"{name} {printer.length(distance_m)}" in whole, name
    for number, length_m in ((1, 61), (2, 46), (3, 61), (4, 46)):
        assert f"{number}: {printer.length(length_m)}" in whole
        well_m = (46 - 38, 61 - 9, 38, 9)[number - 1] - CASING_M
        row = f"{number} {printer.length(length_m)} {printer.length(well_m)}Parcel 7"
        assert row in whole.replace(" Parcel", "Parcel")
    drawing = next(n for n, text in enumerate(texts) if "scale 1" in text)
    ratio = ratio_of(texts[drawing])
    drawn = sorted(long_pt(line) * ratio / POINTS_PER_M for line in strokes(pdf, 0.75)[drawing])
    cable = Point(WELL).distance(shapely.LineString([(4, 28), (24, 40)])) - CASING_M
    lines = {
        "overhead": Point(WELL).distance(shapely.LineString([(0, 37), (20, 46)])) - CASING_M,
        "effluent": Point(WELL).distance(shapely.LineString([(32.5, 10), (27, 9)])) - CASING_M,
        "sewer": Point(WELL).distance(shapely.LineString([(38, 10), (35, 10)])) - CASING_M,
    }
    assert f"Old pump cable {printer.length(cable)}" in whole
    sides = (8 - CASING_M, 9 - CASING_M)
    assert drawn == pytest.approx(sorted([*expected.values(), *lines.values(), *sides]), rel=0.002)
    for distance_m in (*expected.values(), *lines.values(), *sides):
        assert printer.length(distance_m) in texts[drawing]


@pytest.mark.parametrize(
    ("units", "ratios"), [("ft", {120, 240, 360, 480, 600, 720}), ("m", {100, 200, 250, 500})]
)
@pytest.mark.parametrize("paper", list(PAPERS.values()), ids=list(PAPERS))
def test_the_scale_is_one_that_offices_accept(units: Any, ratios: set[int], paper: Paper) -> None:
    """1 in = 10 to 60 ft is 1:120 to 1:720, as a foot is 12 in."""
    plan = sample_plan(units=units)
    assert {round(scale.ratio) for scale in accepted(plan)} == ratios
    pdf = sheet_of(plot_plan, plan, paper)
    texts = pages(pdf)
    assert ratio_of(next(text for text in texts if "scale 1" in text)) in ratios
    sizes = {
        tuple(sorted((float(p.mediabox.width), float(p.mediabox.height))))
        for p in PdfReader(BytesIO(pdf)).pages
    }
    assert len(sizes) == 1


def test_only_the_scales_that_the_office_names(plan: Plan) -> None:
    def under(*names: str) -> tuple[str, Chosen, Plan]:
        paper = replace(plan.site.paper, scales=names)
        changed = replace(plan, site=replace(plan.site, paper=paper))
        return " ".join(pages(sheet_of(plot_plan, changed))), choose(changed, Box(0, 0, 557, 560)), changed

    text, chosen, changed = under("1 in = 50 ft")
    assert "Scale 1 in = 50 ft, of the scales that the office accepts" in text
    assert chosen.whole
    entries = {entry.item: entry.state for entry in checklist(changed, chosen)}
    assert entries["Drawn to a scale that the office accepts"] == "shown"
    text, chosen, changed = under("1:50")
    assert "NOT ALL FITS: print on larger paper." in text
    entries = {entry.item: entry.state for entry in checklist(changed, chosen)}
    assert entries["Drawn to a scale that the office accepts"] == "LACKING"
    assert "The whole lot" in text


def test_every_verdict_of_the_well_stands_beside_its_distance(plan: Plan) -> None:
    text = " ".join(pages(sheet_of(plot_plan, plan)))
    found = [f for f in plan.findings if (f.topic, f.subject) == ("setback", "well") and f.to != "parcel"]
    assert len(found) >= 4
    for finding in found:
        if finding.verdict == "not applicable":
            assert f"(No. {finding.number})" not in text
            continue
        verdict = finding.verdict if finding.verdict == "clear" else finding.verdict.upper()
        assert f"{finding.required_text}: {verdict} (No. {finding.number})" in text


def test_the_rules_name_radius_and_scales_and_the_file_overrides_them() -> None:
    plan = sample_plan()
    rules = PlotPlanRules(
        search_radius=Length(150.0, "ft"),
        scales=("1 in = 40 ft", "1 in = 80 ft"),
        radius_from=cite("xx-plan", "County code 9", standing="memory"),
        scales_from=cite("xx-plan", "County code 9"),
    )
    ruled = replace(plan, requirements=replace(plan.requirements, plot_plan=rules))
    text = " ".join(pages(sheet_of(plot_plan, ruled)))
    assert "search radius 150.0 ft, as County code 9 (unconfirmed) asks for it" in text
    assert "of the scales that the rules accept" in text
    assert "as County code 9 accepts it" in text
    paper = replace(plan.site.paper, search_radius_m=30.48, scales=("1 in = 60 ft",))
    text = " ".join(pages(sheet_of(plot_plan, replace(ruled, site=replace(plan.site, paper=paper)))))
    assert "search radius 100.0 ft, as the office asks for it" in text
    assert "Scale 1 in = 60 ft, of the scales that the office accepts" in text
    assert "County code 9" not in text
    silent = " ".join(pages(sheet_of(plot_plan, plan)))
    assert "neither the file nor the rules say how far" in silent
    assert "neither the file nor the rules say which scales" in silent


def test_the_vicinity_sketch_says_what_is_to_be_drawn_by_hand(plan: Plan) -> None:
    """A road 20 m south of the well, 65.6 ft: the casing's edge is 3 in nearer, 65.4 ft."""
    text = " ".join(pages(sheet_of(plot_plan, plan)))
    assert "No road is drawn in the files. Draw by hand around the lot, or attach a map" in text
    road = thing("road", "road", "Mill Road", LineString([(-30, 18), (90, 18)]))
    paper = replace(plan.site.paper, directions="Past the mill, second gate.")
    site = replace(plan.site, features=(*plan.site.features, road), paper=paper)
    text = " ".join(pages(sheet_of(plot_plan, replace(plan, site=site))))
    assert "Mill Road: 65.4 ft south of the well." in text
    assert "Draw by hand: the nearest crossing of roads" in text
    assert text.count("Directions: Past the mill, second gate.") == 1


def test_the_distances_are_those_of_the_setback_review() -> None:
    """On the example, measured by the checks from the casing edge: 13 rows."""
    plan = example("cedar-bench")
    printer, text = Printer("ft"), " ".join(pages(sheet_of(plot_plan, plan)))
    judged = [
        finding
        for finding in plan.findings
        if (finding.topic, finding.subject) == ("setback", "well") and finding.measured_m is not None
        if finding.to != "parcel"
    ]
    assert len(judged) >= 7
    for finding in judged:
        name = plan.site.feature(finding.to).name
        length = printer.length(finding.measured_m or 0.0)
        assert re.search(
            rf"{re.escape(name)} {re.escape(length)}|{re.escape(length)} {re.escape(name)}", text
        )


def test_what_is_lacking_is_named_and_what_is_stated_is_not(plan: Plan) -> None:
    text = pages(sheet_of(plot_plan, plan))
    whole = " ".join(text)
    for words in (
        "LACKING Surface water, wetland none drawn, nobody looked: pond, stream",
        "LACKING Neighbours' wells, septic, sewer lines within the search radius nobody looked beyond the lot lines",
        "LACKING Flood plain and flood elevation none drawn, nobody looked",
        "BLANK Licence number of the contractor",
        "BLANK Legal description",
        "search radius 200.0 ft, chosen",
        "hatched: NOBODY LOOKED",
        "LACKING Other wells: abandoned, neighbours' none drawn, nobody looked: other well",
    ):
        assert words in whole, words
    paper = replace(
        plan.site.paper,
        licence="WC-114",
        legal="Lot 7, Block 2",
        prepared_by="T. Larch",
        search_radius_m=45.0,
        beyond_lot="walked with both neighbours: no well, no septic within 150 ft",
        measured_by="T. Larch",
        measured=date(2026, 11, 18),
        instruments="100 ft steel tape",
    )
    looked = {"pond": "none", "stream": "none", "other_well": "none", "floodplain": "none, county map"}
    stated = replace(plan, site=replace(plan.site, paper=paper, looked=looked))
    whole = " ".join(pages(sheet_of(plot_plan, stated)))
    for words in ("WC-114", "Lot 7, Block 2", "search radius 147.6 ft", "walked with both neighbours"):
        assert words in whole
    assert "Measured by T. Larch on 2026-11-18 with 100 ft steel tape" in whole
    for words in (
        "BLANK Licence",
        "BLANK Legal",
        "LACKING Surface water",
        "LACKING Neighbours",
        "NOBODY LOOKED",
        "chosen",
    ):
        assert words not in whole, words
    levels = " ".join(pages(sheet_of(plot_plan, sample_plan(levelled=False))))
    assert "LACKING Slope and which way it drains no levels" in levels
    assert re.search(r"LACKING 2\.0 ft contours \(sewage plans, above 6 %\) no levels", levels)


def test_ground_at_each_thing_over_or_under_the_well(plan: Plan) -> None:
    """The four levels of the sample span flat triangles; the elevation at a corner is that of the surface."""
    assert plan.ground is not None
    west, south = 44.0, 38.0
    rise_m = plan.ground.elevations([[west, south], list(WELL)])
    printer = Printer("ft")
    words = f"{printer.length(abs(rise_m[0] - rise_m[1]))} {'higher' if rise_m[0] > rise_m[1] else 'lower'}"
    assert f"Barn {printer.length(to_box(*BOXES['Barn']))} {words}" in " ".join(
        pages(sheet_of(plot_plan, plan))
    )


def placed(monkeypatch: pytest.MonkeyPatch) -> list[tuple[int, Any, bool]]:
    """Return a list that fills with each box of words that a drawing places, and whether its words are bold."""
    found: list[tuple[int, Any, bool]] = []
    plain = Labels._best

    def watched(labels: Labels, label: Any) -> Box:
        spot = plain(labels, label)
        # without the margin that is kept round the words
        letters = box(spot.x + 2, spot.y + 1, spot.right - 2, spot.top - 1)
        found.append((id(labels), letters, label.bold))
        return spot

    monkeypatch.setattr(Labels, "_best", watched)
    return found


def many(plan: Plan, count: int) -> Plan:
    """The sample with so many fuel tanks more, all over the lot but not on the well."""

    def tanks() -> Iterator[Feature]:
        places = [(x, y) for x in range(3, 60, 6) for y in range(2, 45, 6) if hypot(x - 9, y - 38) > 3]
        assert len(places) >= count
        for n, (x, y) in enumerate(places[:count]):
            yield Feature(
                id=f"more-{n}",
                kind="fuel_tank",
                name=f"Tank {n}",
                shape=box(x, y, x + 1.5, y + 1),
                evidence=Evidence(method="taped", private_m=0.15),
                source=Source(file="site.geojson"),
            )

    return replace(plan, site=replace(plan.site, features=(*FEATURES, *tanks())))


@pytest.mark.parametrize("units", ["ft", "m"])
@pytest.mark.parametrize("paper", [LETTER, A4, TABLOID])
def test_no_words_lie_on_words(units: Any, paper: Paper, monkeypatch: pytest.MonkeyPatch) -> None:
    found = placed(monkeypatch)
    plot_plan(sample_plan(units=units), paper)
    assert len(found) > 40
    hidden = [
        one.intersection(other).area
        for (a, one, _), (b, other, _) in combinations(found[: len(found) // 2], 2)
        if a == b
    ]
    assert max(hidden) < 1.0


def test_forty_hazards_are_all_in_the_table(plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    found, lines = placed(monkeypatch), watch(monkeypatch)
    crowded, printer = many(plan, 40), Printer("ft")
    pdf = plot_plan(crowded)
    whole = " ".join(pages(pdf))
    for feature in crowded.site.features:
        if feature.id.startswith("more-"):
            length = printer.length(max(to_box(*feature.shape.bounds), 0.0))
            assert f"{feature.name} {length}" in whole, feature.name
    drawn = next(lines for lines in strokes(pdf, 0.75) if lines)
    assert len(drawn) == MOST_DISTANCES + 2
    bold = [(a, one) for a, one, is_bold in found[: len(found) // 2] if is_bold]
    hidden = [one.intersection(other).area for (a, one), (b, other) in combinations(bold, 2) if a == b]
    assert max(hidden) < 2.0, "no distance is hidden by another"
    for line in lines:
        assert 20 <= line.left <= line.right <= LETTER.height_pt - 20, line


@pytest.mark.parametrize("paper", list(PAPERS.values()), ids=list(PAPERS))
@pytest.mark.parametrize("name", ["", "Upper " + "Long" * 30 + " Hollow"])
def test_nothing_is_clipped_and_no_letter_is_too_small(
    paper: Paper, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Capitals of 9 points are 0.09 in high (the font's are 0.729 of its size), over the 0.08 in of drafting practice."""
    lines = watch(monkeypatch)
    plan = sample_plan()
    if name:
        features = tuple(replace(each, name=name) for each in plan.site.features)
        owner = replace(
            plan.site.paper, owner=name, legal=name, licence=name, beyond_lot=name, directions=name
        )
        plan = replace(plan, site=replace(plan.site, name=name, features=features, paper=owner))
    pdf = plot_plan(plan, paper)
    assert pdf == plot_plan(plan, paper)
    longest = max(paper.width_pt, paper.height_pt)
    assert lines
    for line in lines:
        assert 20 <= line.left <= line.right <= longest - 20, line
        assert 20 <= line.y <= longest - 20, line
        assert 0.729 * line.size / 72 >= 0.08, line


def test_a_site_without_a_lot_says_so(plan: Plan) -> None:
    features = tuple(one for one in FEATURES if one.kind != "parcel")
    text = " ".join(pages(sheet_of(plot_plan, replace(plan, site=replace(plan.site, features=features)))))
    assert re.search("LACKING Lot lines with the length of each side ?no lot is drawn", text)
    assert "Sides of the lot" not in text


def test_a_tape_grid_without_north_has_no_compass_words(plan: Plan) -> None:
    text = " ".join(pages(sheet_of(plot_plan, replace(plan, frame=LocalGrid()))))
    assert re.search("LACKING North arrow ?the site has no bearing of north", text)
    assert "clockwise from its corner farthest along +y" in text
    assert not re.search(r"\b(north|south)(east|west)\b", text)
