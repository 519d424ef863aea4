"""The printed sheets: what they say, that they are to scale, and that nothing in a name can break them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from itertools import combinations, pairwise
from math import hypot
from typing import Any, cast

import pytest
import shapely
from pypdf import PdfReader
from pypdf.generic import ContentStream
from sample_plan import FEATURES, MAIN, REACHES, sample_plan
from set_lines import watch
from shapely import LineString, MultiLineString, MultiPoint, MultiPolygon, Point, box

from siteplan.document.cautions import cautions
from siteplan.document.dig_area import STRIP_M, corners, dig_area
from siteplan.document.hazards import hand_dig_stretches
from siteplan.document.labels import Labels
from siteplan.document.locate_request import locate_request, locate_request_text
from siteplan.document.model import Plan
from siteplan.document.pdf import Pen, printable, text_width, wrap
from siteplan.document.picture import picture
from siteplan.document.plot_plan import plot_plan
from siteplan.document.quantities import quantities_sheet
from siteplan.document.route_sheet import route_sheet
from siteplan.document.setback_review import setback_review
from siteplan.document.sheet import A3, A4, LETTER, TABLOID, Box, Paper, Viewport, fit, largest_scale, scales
from siteplan.document.strip import NO_LEVELS
from siteplan.document.summary import margin_text, measured_text
from siteplan.document.tie_list import tie_list
from siteplan.document.variance import variance
from siteplan.plane.local import LocalGrid
from siteplan.route.model import Run
from siteplan.rules.citation import Citation
from siteplan.rules.model import Numbered
from siteplan.site.catalogue import kinds
from siteplan.site.evidence import Evidence
from siteplan.site.features import Feature, Source
from siteplan.units import Printer
from tests.document.printed import operations, pages, said, sheet_of

Sheet = Callable[[Plan, Paper], bytes]
SHEETS: tuple[Sheet, ...] = (
    route_sheet,
    tie_list,
    setback_review,
    plot_plan,
    variance,
    locate_request,
    quantities_sheet,
    picture,
)
POINTS_PER_MM = 72 / 25.4
"""ISO 32000-1, 8.3.2.3: the default user space unit is 1/72 inch; an inch is 25.4 mm exactly."""

HOSTILE = '<b>&</b><script>alert(1)</script> "Q" </para> 漢 Ærø'
LONG = "Upper " + "Long" * 60 + " Hollow"


def drawn_lines(page: list[tuple[Any, bytes]], width: float) -> list[list[tuple[float, float]]]:
    """Lines of one width on a page, in page points."""
    lines: list[list[tuple[float, float]]] = []
    current, pen = [], 0.0
    for operands, operator in page:
        if operator == b"w":
            pen = float(operands[0])
        elif operator == b"m":
            current = [(float(operands[0]), float(operands[1]))]
        elif operator == b"l":
            current.append((float(operands[0]), float(operands[1])))
        elif operator == b"S" and pen == pytest.approx(width):
            lines.append(current)
    return lines


def long_m(line: list[tuple[float, float]]) -> float:
    return sum(hypot(x1 - x0, y1 - y0) for (x0, y0), (x1, y1) in pairwise(line))


def straight_plan(length_m: float, units: Any = "ft") -> Plan:
    """The sample with one straight trench of so many metres, to the east."""
    plan = sample_plan(units=units)
    path = LineString([(9, 38), (9 + length_m, 38)])
    reach = replace(
        REACHES[0],
        path=path,
        runs=tuple(Run(line=run.line, from_m=0, to_m=length_m) for run in REACHES[0].runs),
    )
    first = plan.works.stations[0]
    stations = tuple(
        replace(
            first,
            distance_m=along,
            x=9 + along,
            y=38.0,
            kind="interval" if along % length_m else "end",
            what="straight",
        )
        for along in [n * 10.0 for n in range(int(length_m // 10))] + [length_m]
    )
    works = replace(plan.works, stations=stations, bends=(), crossings=(), intervals=(), spoil=())
    layout = replace(plan.layout, reaches=(reach,), paths=plan.layout.paths[:2])
    return replace(plan, layout=layout, works=works)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return sample_plan()


@pytest.mark.parametrize(("units", "paper"), [("ft", LETTER), ("ft-in", TABLOID), ("m", A4)])
@pytest.mark.parametrize("sheet", SHEETS)
def test_same_plan_same_bytes_on_every_paper(sheet: Sheet, units: Any, paper: Paper) -> None:
    plan = sample_plan(units=units)
    pdf = sheet_of(sheet, plan, paper)
    assert pdf == sheet(sample_plan(units=units), paper)
    for page in PdfReader(BytesIO(pdf)).pages:
        size = sorted((float(page.mediabox.width), float(page.mediabox.height)))
        assert size == pytest.approx([paper.width_pt, paper.height_pt], abs=0.01)


def test_sizes_of_paper() -> None:
    """Letter and tabloid: ANSI Y14.1 A and B; A4: ISO 216."""
    assert (LETTER.width_pt / 72, LETTER.height_pt / 72) == (8.5, 11)
    assert (TABLOID.width_pt / 72, TABLOID.height_pt / 72) == (11, 17)
    assert (A4.width_pt / POINTS_PER_MM, A4.height_pt / POINTS_PER_MM) == pytest.approx((210, 297))
    assert (LETTER.turned.width_pt, LETTER.turned.height_pt) == (792, 612)


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_page_is_numbered_and_has_its_check_bars(sheet: Sheet, plan: Plan) -> None:
    pdf = sheet_of(sheet, plan, LETTER)
    texts = pages(pdf)
    for n, text in enumerate(texts, 1):
        assert f"sheet {n} of {len(texts)}" in text
        assert "this is not a permit" in text
        assert "Cedar Bench" in text
    for page in operations(pdf):
        bars = [long_m(line[1:3]) for line in drawn_lines(page, 1.2) if len(line) == 4]
        assert any(bar == pytest.approx(100 * POINTS_PER_MM, abs=0.01) for bar in bars)
        assert any(bar == pytest.approx(4 * 72, abs=0.01) for bar in bars)


@pytest.mark.parametrize("sheet", SHEETS)
def test_black_on_white_and_large_enough(sheet: Sheet, plan: Plan) -> None:
    for page in operations(sheet_of(sheet, plan, LETTER)):
        sizes = [float(operands[1]) for operands, operator in page if operator == b"Tf"]
        greys = {float(operands[0]) for operands, operator in page if operator in (b"g", b"G")}
        colours = [
            operands for operands, operator in page if operator in (b"rg", b"RG", b"k", b"K", b"sc", b"scn")
        ]
        assert min(sizes) >= 9
        assert greys <= {0.0, 1.0}
        assert all(not any(float(part) for part in operands) for operands in colours)


def test_fonts_are_embedded(plan: Plan) -> None:
    for page in PdfReader(BytesIO(sheet_of(route_sheet, plan))).pages:
        used = {
            str(operands[0])
            for operands, operator in ContentStream(page.get_contents(), page.pdf).operations
            if operator == b"Tf" and float(operands[1]) < 12.5
        }
        fonts = page["/Resources"]["/Font"]
        embedded = {name for name in fonts if "/FontFile2" in fonts[name].get("/FontDescriptor", {})}
        assert used & embedded
        assert {"Vera" in fonts[name]["/BaseFont"] for name in embedded} == {True}


@pytest.mark.parametrize(("units", "ratio"), [("ft", 240.0), ("m", 250.0)])
def test_thirty_metres_through_the_window(units: Any, ratio: float) -> None:
    """30 m at 1:250 is 120 mm on the paper; at 20 ft to the inch it is 30 / 0.3048 / 20 inches."""
    scale = next(scale for scale in scales(units) if scale.ratio == pytest.approx(ratio))
    view = Viewport(box=Box(40, 40, 500, 500), scale=scale, centre=(15.0, 0.0), turn_deg=37.0)
    (x0, y0), (x1, y1) = view.place(0, 0), view.place(30, 0)
    expected = 120 * POINTS_PER_MM if units == "m" else 30 / 0.3048 / 20 * 72
    assert hypot(x1 - x0, y1 - y0) == pytest.approx(expected, abs=1e-9)
    assert view.place(15.0, 0.0) == pytest.approx((290, 290))


@pytest.mark.parametrize("units", ["ft", "m"])
def test_thirty_metres_on_the_strip(units: Any) -> None:
    pdf = sheet_of(route_sheet, straight_plan(30.0, units))
    strip = next(n for n, text in enumerate(pages(pdf)) if "strip of Main" in text)
    text = pages(pdf)[strip]
    scale = next(scale for scale in scales(units) if f"scale {scale.text} " in text + " ")
    (trench,) = drawn_lines(operations(pdf)[strip], 3.2)
    assert long_m(trench) * scale.ratio / POINTS_PER_MM / 1000 == pytest.approx(30.0, abs=0.01)
    assert trench[0][0] == pytest.approx(trench[-1][0], abs=0.01), (
        "a straight reach runs straight up the page"
    )
    assert trench[-1][1] > trench[0][1]


def test_scales_are_the_trades() -> None:
    assert [scale.text for scale in scales("ft")][:9] == [
        f"1 in = {n} ft" for n in (10, 20, 30, 40, 50, 60, 80, 100, 200)
    ]
    assert [scale.text for scale in scales("m")][:5] == ["1:100", "1:200", "1:250", "1:500", "1:1000"]
    assert scales("ft")[1].ratio == pytest.approx(240)
    room = Box(0, 0, 360, 360)
    assert largest_scale(scales("ft"), (30.48, 0), room).text == "1 in = 20 ft"
    assert largest_scale(scales("ft"), (30.5, 0), room).text == "1 in = 30 ft"


def test_a_turned_window_shows_what_it_says() -> None:
    view = fit([box(0, 0, 40, 10)], Box(0, 0, 200, 400), scales("m"), turn_deg=90.0)
    assert view.scale.text == "1:500"
    assert view.on_page(LineString([(-500, 5), (500, 5)])).length == pytest.approx(400)
    assert view.outline(box(-500, -500, 500, 500)).is_empty


def test_first_page_finds_the_line(plan: Plan) -> None:
    pdf = sheet_of(route_sheet, plan)
    first, rest = pages(pdf)[0], said(pdf)
    for words in (
        "TICKET NO.",
        "EXPIRES",
        "555-0137",
        "START at 0+00",
        "Spoil LEFT",
        "house NW",
        "B1",
        "CB-07",
        "HAND DIG",
    ):
        assert words in first
    for station in plan.works.stations:
        if station.kind in ("start", "bend", "end"):
            for _, distance_m in station.ties:
                assert Printer("ft").number(distance_m) in first
    assert "CALL 811 AND WAIT" in first
    assert "Overhead power, 7200 V" in first
    assert "crossing 1, Old pump cable" in first
    assert "NO ENTRY UNPROTECTED (29 CFR 1926.652(a)(1)): Main 0+90.5 to 1+06.2" in rest
    for caution in cautions(plan):
        assert " ".join(str(caution).split()) in rest


def test_first_page_has_the_ties_of_the_bends_where_all_do_not_fit(plan: Plan) -> None:
    bend = next(one for one in plan.works.stations if one.kind == "bend")
    ends = tuple(
        replace(bend, kind="end", what=f"wall {n}", ties=(("house NW", 70.0 + n), ("house SE", 90.0 + n)))
        for n in range(9)
    )
    bends = tuple(one for one in plan.works.stations if one.kind == "bend")
    works = replace(plan.works, stations=(*plan.works.stations, *ends))
    first, second = pages(sheet_of(route_sheet, replace(plan, works=works)))[:2]
    assert bends
    for one in bends:
        for name, distance_m in one.ties[:2]:
            assert f"{name} {Printer('ft').number(distance_m)}" in first
    assert "Ties, tape held level" in second
    for one in ends:
        assert one.what in second


def test_every_hand_dig_stretch_is_hatched_once(plan: Plan) -> None:
    assert [(reach, round(to_m - from_m, 3)) for reach, from_m, to_m in hand_dig_stretches(plan)] == [
        ("Main", 3.048),
        ("A", 3.048),
        ("Main", 2.0),
    ]
    texts = {text for text in pages(sheet_of(route_sheet, plan)) if "strip of" in text}
    assert sorted(text.count("HAND DIG") for text in texts) == [1, 2]
    assert "HAND DIG (beside Building sewer)" in said(sheet_of(route_sheet, plan))
    bare = replace(plan, works=replace(plan.works, intervals=()))
    assert len(hand_dig_stretches(bare)) == len(plan.works.crossings)


def test_a_large_site_has_its_ties_in_a_table_only() -> None:
    plan = straight_plan(300.0)
    tied = tuple(replace(one, kind="end", ties=(("house NW", 12.3),)) for one in plan.works.stations)
    text = pages(sheet_of(route_sheet, replace(plan, works=replace(plan.works, stations=tied))))
    assert Printer("ft").number(12.3) not in text[0].partition("Ties, tape held level")[0]
    assert f"house NW {Printer('ft').number(12.3)}" in " ".join(text)


def test_words_of_a_drawing_lie_apart() -> None:
    class Recorder:
        def __init__(self) -> None:
            self.boxes: list[Box] = []

        def fill(self, taken: Box) -> None:
            self.boxes.append(taken)

        def text(self, *_: Any, **__: Any) -> None: ...

        def line(self, *_: Any) -> None: ...

    labels, pen = Labels(Box(0, 0, 300, 300)), Recorder()
    for n in range(12):
        labels.add((150 + n % 3, 150 + n % 4), f"name {n}", 9)
        labels.add_along(LineString([(20 + n, 20), (280, 260)]), f"{n}.5", 9)
    labels.draw(cast("Pen", pen))
    assert len(pen.boxes) == 24
    covered = [shapely.box(one.x, one.y, one.right, one.top) for one in pen.boxes]
    assert all(shapely.box(0, 0, 300, 300).covers(one) for one in covered)
    assert sum(one.intersection(other).area for one, other in combinations(covered, 2)) == 0


def test_a_word_stands_by_its_own_point() -> None:
    """Two corners 30 points apart, the way to the open side taken: neither name lies or leads over the other's corner."""

    class Recorder:
        def __init__(self) -> None:
            self.boxes: list[Box] = []
            self.leaders: list[LineString] = []

        def fill(self, taken: Box) -> None:
            self.boxes.append(taken)

        def text(self, *_: Any, **__: Any) -> None: ...

        def line(self, points: Any, _: Any) -> None:
            self.leaders.append(LineString(points))

    corners = {"barn SW": (120.0, 60.0), "barn SE": (150.0, 60.0)}
    labels, pen = Labels(Box(0, 0, 300, 120)), Recorder()
    labels.keep_clear(Box(158, 0, 142, 120), 60.0)
    labels.keep_clear(Box(0, 66, 158, 54), 20.0)
    labels.keep_clear(Box(112, 0, 46, 54), 20.0)
    for name, at in corners.items():
        labels.add(at, name, 9, bold=True)
    labels.draw(cast("Pen", pen))
    for own, other, words in zip(corners.values(), reversed(corners.values()), pen.boxes, strict=True):
        spot = box(words.x, words.y, words.right, words.top)
        assert spot.distance(Point(other)) >= 6
        for leader in pen.leaders:
            if leader.distance(Point(own)) < 1:
                assert leader.distance(Point(other)) >= 6


def test_every_station_is_in_the_table(plan: Plan) -> None:
    printer = Printer("ft")
    table = " ".join(text for text in pages(sheet_of(route_sheet, plan)) if "stations and cuts" in text)
    for station in plan.works.stations:
        assert printer.station(station.distance_m) in table
        assert printer.number(station.cut_m) in table
        assert station.bottom_m is not None
        assert printer.number(station.bottom_m) in table
        for name, distance_m in station.ties:
            assert f"{name} {printer.number(distance_m)}" in table
    for crossing in plan.works.crossings:
        assert f"{crossing.angle_deg:.0f}°" in table


def test_sections_name_every_line(plan: Plan) -> None:
    text = next(text for text in pages(sheet_of(route_sheet, plan)) if "SECTION 1" in text)
    for section in plan.works.sections:
        assert f"SECTION {section.name}" in text
        assert f"cut {Printer('ft').length(section.cut_m)}" in text
    assert "a: Water to house: cover 54 in; asked 54 in" in text
    assert "NEC Table 300.5 (unconfirmed)" in text
    assert "width 24 in" in text
    assert "bedding 4 in" in text


def test_without_levels_it_says_so_large() -> None:
    pdf = sheet_of(route_sheet, sample_plan(levelled=False))
    texts = pages(pdf)
    assert NO_LEVELS in texts[0]
    assert all(NO_LEVELS in text for text in texts if "strip of" in text)
    assert not any("Profile of" in text for text in texts)
    assert "Bottom elev" not in said(pdf)
    sizes = [float(operands[1]) for operands, operator in operations(pdf)[0] if operator == b"Tf"]
    assert max(sizes) >= 16
    assert "Profile of Main" in said(sheet_of(route_sheet, sample_plan()))


def test_a_long_reach_is_cut_at_match_lines() -> None:
    pdf = sheet_of(route_sheet, straight_plan(300.0))
    strips = {n: text for n, text in enumerate(pages(pdf), 1) if "strip of Main" in text}
    assert len(strips) > 2
    for n, text in strips.items():
        others = {int(sheet) for sheet in re.findall(r"MATCH LINE \S+, see sheet (\d+)", text)}
        assert others == {n - 1, n + 1} & set(strips)
    ends = [re.search(r"(\d\+\S+) to (\d\+\S+)", text) for text in strips.values()]
    joined = [(match[1], match[2]) for match in ends if match]
    assert all(one[1] == other[0] for one, other in pairwise(joined))


def test_review_holds_every_finding(plan: Plan) -> None:
    pdf = sheet_of(setback_review, plan)
    text, printer = said(pdf), Printer("ft")
    for finding in plan.findings:
        assert re.search(rf"\b{finding.number}\b", text)
        if finding.verdict not in ("not applicable", "clear") and finding.topic != "unlooked":
            assert finding.verdict.upper() in text
        if finding.measured_m is not None and finding.unit == "m" and finding.verdict != "not applicable":
            assert measured_text(finding, printer) in text
        for words in finding.because:
            assert words in text
        if finding.citation is not None:
            assert finding.citation.text in text
    assert "To settle No. 3: Tape the casing centre" in text
    assert "if buried: 100 ft, clear; if above ground: the row does not apply" in text
    for words in (
        "advised",
        "by approval",
        "unconfirmed",
        "95 %",
        "Nobody looked",
        "county letter of 2026-05-02",
    ):
        assert words in text
    assert "Well, casing edge – Reserve area, nearest edge" in text
    assert "66 in (5.5 ft)" not in text, "measured in inches as well"
    assert text.index("SHORT") < text.index("TOO CLOSE TO CALL") < text.index("CLEAR")


def test_review_draws_each_measured_line_to_scale(plan: Plan) -> None:
    pdf = sheet_of(setback_review, plan)
    key = next(n for n, text in enumerate(pages(pdf)) if "Key map" in text)
    scale = next(scale for scale in scales("ft") if f"scale {scale.text} " in pages(pdf)[key])
    drawn = sorted(
        long_m(line) * scale.ratio / POINTS_PER_MM / 1000 for line in drawn_lines(operations(pdf)[key], 1.05)
    )
    shown = {
        f.points: f.measured_m
        for f in plan.findings
        if f.measured_m and len(f.points) == 2 and f.verdict != "not applicable"
        if f.subject == "well" or f.verdict != "clear"
    }
    assert len(shown) >= 4
    assert drawn == pytest.approx(sorted(shown.values()), abs=0.01), "these and no others"


@pytest.mark.parametrize("units", ["ft", "m"])
@pytest.mark.parametrize(
    ("sheet", "weight", "most"), [(plot_plan, 1.2, 2), (picture, 4.5, 1)], ids=["plot plan", "picture"]
)
def test_each_drawing_is_to_the_scale_it_names(sheet: Sheet, weight: float, most: int, units: Any) -> None:
    """Within 0.2 %: the outline of the lot, 2 (61 + 46) = 214 m, on the plot plan and its sketch; the trenches on the picture."""
    plan = sample_plan(units=units)
    pdf, trenches = sheet_of(sheet, plan, LETTER), sorted(reach.length_m for reach in plan.layout.reaches)
    wanted = [214.0] if sheet is plot_plan else trenches
    seen = 0
    for text, page in zip(pages(pdf), operations(pdf), strict=True):
        scale = next((each for each in scales(units) if f"scale {each.text} " in text), None)
        if scale is None:
            continue
        lines = sorted(
            long_m(line) * scale.ratio / POINTS_PER_MM / 1000 for line in drawn_lines(page, weight)
        )
        seen += 1
        if sheet is picture:
            assert lines == pytest.approx(wanted, rel=0.002)
        else:
            assert any(long == pytest.approx(wanted[0], rel=0.002) for long in lines)
    assert seen == most


def test_review_circles_what_the_rules_ask_and_hatches_what_lies_beyond_the_lot(plan: Plan) -> None:
    """Circles of 100, 75 and 26 ft, and 3 in more from the centre of the casing; the lot of the sample ends 9 m west of it."""
    pdf = sheet_of(setback_review, plan)
    key = next(n for n, text in enumerate(pages(pdf)) if "Key map" in text)
    text = pages(pdf)[key]
    scale = next(scale for scale in scales("ft") if f"scale {scale.text} " in text)
    arcs = drawn_lines(operations(pdf)[key], 0.7)
    well = next(
        line[0]
        for line in drawn_lines(operations(pdf)[key], 1.05)
        if long_m(line) * scale.ratio / POINTS_PER_MM / 1000 == pytest.approx(26.2 * 0.3048, abs=0.1)
    )
    asked = {s.least.metres + 3 * 0.0254 for s in plan.requirements.setbacks if s.of == "well" and s.applies}
    paper_m = scale.ratio / POINTS_PER_MM / 1000
    radii = {
        round(hypot(x - well[0], y - well[1]) * paper_m, 2)
        for arc in arcs
        if len(arc) > 9
        for x, y in arc[1:-1]
    }
    assert radii
    for radius in radii:
        assert min(abs(radius - one) for one in asked) < 0.2, radius
    assert "hatched: NOBODY LOOKED" in text
    assert "beyond the lot within the circle of" in said(pdf)
    paper = replace(plan.site.paper, beyond_lot="walked with the neighbour")
    looked = said(sheet_of(setback_review, replace(plan, site=replace(plan.site, paper=paper))))
    assert "NOBODY LOOKED" not in looked
    assert "walked with the neighbour" in looked


def test_review_has_the_wellhead_and_a_statement_of_evidence(plan: Plan) -> None:
    text = said(sheet_of(setback_review, plan))
    for words in (
        "Wellhead: Well",
        "Flood elevation of the 100-year flood at the well no flood plain drawn, nobody looked",
        "6 in across, to 62.0 ft",
        "to be seen on site",
        "Measured by ____",
        "Monuments and control points found",
    ):
        assert words in text, words
    paper = replace(plan.site.paper, licence="WC-114", measured_by="T. Larch", instruments="steel tape")
    text = said(sheet_of(setback_review, replace(plan, site=replace(plan.site, paper=paper))))
    assert "Licence WC-114" in text
    assert "Measured by T. Larch on ____" in text


def test_review_says_each_rule_and_each_way_to_measure_once(plan: Plan) -> None:
    texts = pages(sheet_of(setback_review, plan))
    text = " ".join(texts)
    cited = {f.citation.text for f in plan.findings if f.citation}
    for words in cited:
        assert text.count(f" = {words}, ") >= 1, words
    codes = re.findall(r"\b(R\d+) = ", text)
    assert codes == [f"R{n}" for n in range(1, len(codes) + 1)]
    for finding in plan.findings:
        if finding.verdict == "clear" and finding.method:
            for way in finding.method.split(" / "):
                assert re.search(rf"\b[A-Z]\d* = {re.escape(way)}", text), way
    assert "To settle No. 3" in texts[0]
    assert "Key map" in texts[1]
    few = replace(plan, findings=tuple(one for one in plan.findings if one.number not in (2, 4, 9)))
    assert "Key map" in pages(sheet_of(setback_review, few))[0]


def test_review_joins_cover_of_one_line_with_the_same_numbers(plan: Plan) -> None:
    drive, yard = (f for f in plan.findings if f.topic == "cover")
    same = replace(
        drive,
        number=yard.number,
        what="cover of water to house, yard",
        from_m=yard.from_m,
        to_m=yard.to_m,
    )
    printer = Printer("ft")
    ends = [printer.station(cast("float", at)) for at in (yard.from_m, yard.to_m)]
    joined = f"drive, Main {printer.station(cast('float', drive.from_m))} to"
    together = said(sheet_of(setback_review, replace(plan, findings=(drive, same))))
    assert f"{drive.number}, {yard.number} cover of water to house, {joined}" in together
    assert f"yard, Main {ends[0]} to {ends[1]}" in together
    assert together.count("max(frost 54 in + 12 in, 12 in) = 66 in") == 1
    apart = said(sheet_of(setback_review, plan))
    assert f"{drive.number}, {yard.number}" not in apart


@pytest.mark.parametrize(
    ("units", "measured_m", "required_m", "topic", "printed", "margin"),
    [
        ("ft", 49.96 * 0.3048, 50 * 0.3048, "setback", "49.96 ft", "-0.04 ft"),
        ("ft", 49.9 * 0.3048, 50 * 0.3048, "setback", "49.9 ft", "-0.1 ft"),
        ("ft", 49.999 * 0.3048, 50 * 0.3048, "setback", "just under 50.00 ft", "0.00 ft"),
        ("m", 14.997, 15.0, "setback", "14.997 m", "-0.003 m"),
        ("ft-in", 49.99 * 0.3048, 50 * 0.3048, "setback", "49 ft 11 7/8 in", "-0 ft 1/8 in"),
        ("ft", 53.97 * 0.0254, 54 * 0.0254, "cover", "53.97 in", "-0.03 in"),
    ],
)
def test_a_number_that_is_not_clear_never_prints_as_the_requirement(
    units: Any, measured_m: float, required_m: float, topic: Any, printed: str, margin: str, plan: Plan
) -> None:
    """49.96 ft is 50.0 ft to a tenth: by hand, 50 - 49.96 = 0.04; 49.99 ft is 49 ft 11.88 in."""
    short = replace(
        plan.findings[0],
        topic=topic,
        required_m=required_m,
        measured_m=measured_m,
        margin_m=measured_m - required_m,
    )
    assert measured_text(short, Printer(units)) == printed
    margin_printed = margin_text(short, Printer(units))
    assert margin_printed == margin
    clear = replace(short, verdict="clear")
    assert measured_text(clear, Printer(units)) != printed or "49.9 ft" in printed
    changed = replace(plan, site=replace(plan.site, units=units), findings=(short, *plan.findings[1:]))
    assert printed in said(sheet_of(setback_review, changed))


def test_what_a_tank_holds_is_in_the_units_of_the_sheet() -> None:
    """1 US liquid gallon = 3.785 412 L (NIST SP 811, appendix B.8; from memory)."""
    for gallons in (500, 1000, 1250):
        litres = gallons * 3.785412
        assert Printer("ft").liquid(litres / 1000) == f"{gallons} gal"
        assert Printer("m").liquid(litres / 1000) == f"{litres:.0f} L"


def test_a_small_review_is_one_page_or_both_sides_of_a_letter(plan: Plan) -> None:
    """The front of a letter holds what is not clear and the key map, its back the rest."""
    small = replace(plan, findings=plan.findings[:5], site=replace(plan.site, looked={}))
    for paper in (TABLOID, A3):
        assert len(pages(sheet_of(setback_review, small, paper))) == 1
    front, back = pages(sheet_of(setback_review, small))
    assert "Key map" in front
    for finding in small.findings:
        assert re.search(rf"\b{finding.number}\b", back if finding.verdict == "clear" else front)
    assert "Signature" in back


def test_review_joins_the_lines_that_one_rule_keeps_from_one_thing(plan: Plan) -> None:
    """A second rule of one pair with the same numbers stands in the row of the first, a farther line in that of the nearer."""
    near = next(one for one in plan.findings if one.topic == "setback" and one.subject == "water-house")
    near = replace(near, number=20, verdict="clear", margin_m=2.0, because=(), settle="")
    measured = cast("float", near.measured_m) + 10
    far = replace(near, number=21, subject="water-barn", what="water to barn, sewer", measured_m=measured)
    well = next(one for one in plan.findings if one.number == 5)
    other = replace(well, number=22, citation=replace(cast("Citation", well.citation), text="Another code 7"))
    text = said(sheet_of(setback_review, replace(plan, findings=(near, far, well, other))))
    printer = Printer("ft")
    assert f"No. 21, Water to barn: {printer.length(measured)} ±" in text
    assert text.count(printer.length(measured)) == 1
    assert "5, 22 Well, casing edge – Absorption area" in text
    assert "Another code 7" in text


def test_locate_request_answers_the_call_taker(plan: Plan) -> None:
    text = locate_request_text(plan)
    assert (
        "From the Well, the trench runs 122.0 ft southeast, with 1 bend, to the west wall of the House"
        in text
    )
    assert "Depth: 5.9 ft at the deepest" in text
    assert "Overhead lines within 10.0 ft: yes: Overhead power" in text
    assert "confirm with the one-call centre" in text
    assert (
        text.index("Caller and company")
        < text.index("Depth")
        < text.index("Address")
        < text.index("Where to mark")
    )
    pdf = said(sheet_of(locate_request, plan))
    for words in (
        "Old pump cable (drawn)",
        "Owner's initials",
        "Answers of the line owners",
        "46.594642, -112.071283",
    ):
        assert words in pdf
    assert "Telephone line (drawn)" not in pdf, "the telephone company marks its own"
    for caution in cautions(plan):
        assert caution.head in pdf


def test_far_overhead_lines_are_a_no(plan: Plan) -> None:
    far = tuple(
        replace(one, shape=LineString([(0, 200), (60, 200)])) if one.kind == "overhead_line" else one
        for one in FEATURES
    )
    text = locate_request_text(replace(plan, site=replace(plan.site, features=far)))
    assert "Overhead lines within 10.0 ft: none drawn nearer" in text


def test_dig_area_holds_ten_feet_each_side(plan: Plan) -> None:
    area = dig_area(plan)
    assert pytest.approx(10 * 0.3048) == STRIP_M
    for reach in plan.layout.reaches:
        assert area.covers(reach.path.buffer(STRIP_M))
    assert area.area < 1.5 * MAIN.union(REACHES[1].path).buffer(STRIP_M).area
    assert len(corners(area)) <= 16
    listed = re.findall(r"^\d+\. (-?\d+\.\d{6}), (-?\d+\.\d{6})$", locate_request_text(plan), re.MULTILINE)
    assert len(listed) == len(corners(area))
    for (latitude, longitude), corner in zip(listed, corners(area), strict=True):
        back = plan.frame.to_ground(Point(float(longitude), float(latitude)))
        assert back.distance(Point(corner)) < 0.1


def test_a_tape_grid_without_a_place_gives_no_coordinates(plan: Plan) -> None:
    loose = replace(plan, frame=LocalGrid())
    text = locate_request_text(loose)
    assert "Latitude, longitude of the well: ____" in text
    assert "southeast" not in text
    assert "tape grid without a place on the earth" in said(sheet_of(locate_request, loose))
    assert sheet_of(route_sheet, loose)


def test_sheets_are_short(plan: Plan) -> None:
    assert len(pages(sheet_of(setback_review, plan))) <= 3
    assert len(pages(sheet_of(locate_request, plan))) <= 5, (
        "answers, white marks, private lines, answers of the owners"
    )
    assert "strip of" in pages(sheet_of(route_sheet, plan))[2], "two pages find the line"


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize("name", [HOSTILE, LONG, "", "%n\\(\\) ) Tj ET"])
def test_any_name_is_only_a_name(sheet: Sheet, name: str, plan: Plan) -> None:
    features = tuple(replace(one, name=name) for one in plan.site.features)
    lines = tuple(replace(one, name=name) for one in plan.site.lines)
    paper = replace(plan.site.paper, owner=name, address=name, contractor=name, phone=name, directions=name)
    findings = tuple(replace(one, what=name, because=(name,), settle=name) for one in plan.findings)
    site = replace(
        plan.site, name=name, features=features, lines=lines, paper=paper, looked={"cesspool": name}
    )
    text = said(sheet_of(sheet, replace(plan, site=site, findings=findings), LETTER))
    if name == HOSTILE:
        assert "<b>&</b><script>alert(1)</script>" in text
        assert "Ærø" in text
    if name == LONG:
        assert "LongLongLong" in text


@pytest.mark.parametrize("paper", [LETTER, A4, A3, TABLOID])
@pytest.mark.parametrize("units", ["ft", "ft-in", "m"])
@pytest.mark.parametrize("name", ["", LONG])
def test_nothing_of_the_review_runs_off_the_paper(
    paper: Paper, units: Any, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = watch(monkeypatch)
    plan = sample_plan(units=units)
    if name:
        features = tuple(replace(one, name=name) for one in plan.site.features)
        findings = tuple(replace(one, what=name, because=(name,)) for one in plan.findings)
        owner = replace(plan.site.paper, licence=name, measured_by=name, beyond_lot=name)
        plan = replace(plan, site=replace(plan.site, features=features, paper=owner), findings=findings)
    setback_review(plan, paper)
    assert lines
    for line in lines:
        assert 20 <= line.left <= line.right <= paper.width_pt - 20, line
        assert 20 <= line.y <= paper.height_pt - 20, line


def test_every_kind_of_thing_can_be_drawn(plan: Plan) -> None:
    shapes = {
        "point": MultiPoint([(5, 5), (25, 38)]),
        "line": MultiLineString([[(2, 20), (8, 22)], [(200, 200), (210, 200)]]),
        "area": MultiPolygon([box(1, 1, 6, 4), box(300, 300, 301, 301)]),
    }
    more = tuple(
        Feature(
            id=f"{kind.id}-{sort}",
            kind=kind.id,
            name="",
            shape=shapes[sort],
            evidence=Evidence(method="taped"),
            source=Source(file="site.geojson"),
        )
        for kind in kinds().values()
        for sort in kind.shapes
    )
    full = replace(plan, site=replace(plan.site, features=(*plan.site.features, *more)))
    for sheet in SHEETS:
        assert sheet_of(sheet, full, LETTER)
    assert "buried line, contents unknown" in said(sheet_of(route_sheet, full))


@pytest.mark.parametrize("sheet", SHEETS)
def test_words_that_must_not_be_printed(sheet: Sheet, plan: Plan) -> None:
    text = said(sheet_of(sheet, plan, LETTER)).lower()
    assert not re.findall(
        r"\b(safe|safely|compliant|compliance|node|polygon|vertex|feature|snap|buffer|layer)\b", text
    )


def test_an_unconfirmed_safety_number_says_so(plan: Plan) -> None:
    doubtful = plan.requirements.trench.engineer_depth_m.citation
    trench = replace(plan.requirements.trench, spoil_back_m=Numbered(value=0.61, citation=doubtful))
    changed = replace(plan, requirements=replace(plan.requirements, trench=trench))
    spoil = {caution.id: caution.text for caution in cautions(changed)}["spoil"]
    assert "2.0 ft (unconfirmed)" in spoil
    assert "unconfirmed" not in {caution.id: caution.text for caution in cautions(plan)}["spoil"]


def test_text_is_broken_to_width() -> None:
    for text in (LONG, "one two three", "x" * 300, "a\nb", ""):
        lines = wrap(text, 100, 12)
        assert all(text_width(line, 12) <= 100 for line in lines)
        assert "".join("".join(lines).split()) == "".join(text.split())
    assert wrap("word", 1, 12) == list("word")
    assert printable("tab\tand\x00nul  6′") == "tab andnul 6'"


def test_a_number_stays_with_its_unit() -> None:
    assert wrap("no entry at 5.0 ft, taped ± 0.5 ft", text_width("no entry at 5.0", 12) + 1, 12) == [
        "no entry at",
        "5.0 ft, taped",
        "± 0.5 ft",
    ]
    narrow = wrap("1500 mm", text_width("1500", 12) + 1, 12)
    assert narrow == ["1500", "mm"], "but a word that is too long is broken before its unit"
