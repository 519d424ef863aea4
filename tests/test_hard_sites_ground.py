"""Hard sites with the answer known beforehand: what lies over the fence, a tree too near the line, ground cut after backfill.

They come from what the trade asks of a site plan (common practice, no source). Coordinates in feet from the south-west corner
of the lot; the rules are those of Montana: 100 ft from a well to an absorption area (ARM 36.21.638(1)(b)), casing 18 in above
finished ground (ARM 36.21.647), 54 in of cover (42 in of frost and 12 in, UPC 609.1 in the layer of Helena).
"""

from __future__ import annotations

from math import hypot, radians, sqrt, tan
from pathlib import Path
from statistics import NormalDist

import pytest
from pypdf import PdfReader
from shapely import Point

from siteplan.check.finding import Finding
from siteplan.document.asbuilt import record_geojson
from siteplan.document.plot_plan import plot_plan
from siteplan.document.record_model import Record
from siteplan.document.setback_review import setback_review
from siteplan.measure.prices import total
from siteplan.measure.spoil import NO_ROOM
from siteplan.plan import Plan, plan_folder
from siteplan.read.asbuilt import read_measurements
from siteplan.read.shots import read_shots
from siteplan.record import record_plan
from tests.hard_site import hard_site_with_water

FT, IN = 0.3048, 0.0254
SIGMA, BAND = 2.4477, 1.6449
"""Of a 95 % radius over its sigma per axis, and one-sided 95 % (standard tables)."""

SITE = hard_site_with_water("Hard ground")


def area(own: str, kind: str, method: str, west: int, south: int, east: int, north: int) -> str:
    first, *others = ((west, south), (east, south), (east, north), (west, north))
    rest = "".join(f"{own},,,{x},{y},,,,\n" for x, y in others)
    return f"{own},{kind},area,{first[0]},{first[1]},{method},,,\n{rest}"


def planned(folder: Path, *rows: str, site: str = SITE) -> Plan:
    folder.mkdir(exist_ok=True)
    (folder / "site.toml").write_text(site)
    head = "id,kind,shape,x,y,method,trunk_diameter,casing_height,casing_diameter\n"
    (folder / "points.csv").write_text(head + "".join(rows))
    return plan_folder(folder, thorough=False)


def well(x: int, y: int, casing: str = "24 in") -> str:
    return f"well,well,point,{x},{y},taped,,{casing},6 in\n"


def words_of(pdf: Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(pdf).pages).split())


# --- a neighbour's field known by hearsay, within the circle that crosses the fence

LOT = area("lot", "parcel", "surveyed", 0, 0, 200, 220)
HOUSE = area("house", "building", "taped", 60, 170, 100, 200)
OVER_THE_FENCE = """
[paper]
beyond_lot = "walked along the fence with both owners, 150 ft round the well"
"""


def neighbours(method: str, west: int) -> str:
    """A field on the land of others, 150 ft from the west: the fence is at 200 ft, the well at 150 ft."""
    return area("theirs", "absorption_area", method, west, 0, west + 30, 120)


def of_the_field(plan: Plan) -> Finding:
    """What the rule of the state asks of any well."""
    (found,) = (
        each
        for each in plan.findings
        if each.to == "theirs" and each.citation and each.citation.row == "us-mt-well-drainfield"
    )
    return found


CASING_FT = 0.25
"""From the middle of a 6 in casing to its edge, from where the rule counts."""


@pytest.mark.parametrize(
    ("method", "error_ft", "west", "verdict"),
    [
        ("owner_says", 15, 255, "too close to call"),
        ("owner_says", 15, 265, "clear"),
        ("owner_says", 15, 239, "short"),
        ("taped", 0.5, 255, "clear"),
        ("taped", 0.5, 249, "short"),
    ],
)
def test_a_field_over_the_fence_is_judged_by_how_it_is_known(
    tmp_path: Path, method: str, error_ft: float, west: int, verdict: str
) -> None:
    """The fence is 50 ft from the well. What the owner says is good to 15 ft, so some 10 ft one-sided at 95 %."""
    finding = of_the_field(planned(tmp_path, LOT, well(150, 60), HOUSE, neighbours(method, west)))
    away_ft, band_ft = west - 150 - CASING_FT, BAND * hypot(error_ft, 0.5) / SIGMA
    assert finding.measured_m == pytest.approx(away_ft * FT, abs=1e-3)
    assert finding.error_m == pytest.approx(band_ft * FT, abs=1e-3)
    answer = (
        "clear" if away_ft - band_ft > 100 else "short" if away_ft + band_ft < 100 else "too close to call"
    )
    assert finding.verdict == answer == verdict


def test_what_settles_the_field_over_the_fence_is_named(tmp_path: Path) -> None:
    """4.75 ft over what the rule asks: a tape good to that settles it, with the chance that it comes out clear."""
    finding = of_the_field(planned(tmp_path, LOT, well(150, 60), HOUSE, neighbours("owner_says", 255)))
    assert finding.method == "taped, both ends seen / owner says"
    assert finding.settle.startswith(
        "Tape well to the nearest edge of absorption area, both ends seen: good to 4."
    )
    assert finding.prospect is not None
    # taped, it comes out clear from 0.5 ft over the distance asked; the true edge lies 4.75 ft over it, sigma band / 1.645
    sigma_ft = hypot(15, 0.5) / SIGMA
    clear = NormalDist(4.75, hypot(sigma_ft, 0.5 / BAND)).cdf(0.5)
    assert finding.prospect.clear == pytest.approx(1 - clear, abs=0.02)


def test_the_papers_say_what_nobody_looked_at_beyond_the_lot(tmp_path: Path) -> None:
    """The circle of 100 ft goes 50 ft over the fence: hatched and said on both sheets, until somebody is named who looked."""
    rows = (LOT, well(150, 60), HOUSE, neighbours("owner_says", 255))
    review, plot = papers(planned(tmp_path, *rows), tmp_path / "plan")
    assert "beyond the lot within the circle of 100 ft required: nobody looked" in review
    assert "hatched: NOBODY LOOKED" in review
    assert "hatched: NOBODY LOOKED" in plot
    assert "absorption area; nobody looked beyond the lot lines" in plot
    assert "owner says, ± 15.0 ft" in plot
    review, plot = papers(planned(tmp_path, *rows, site=SITE + OVER_THE_FENCE), tmp_path / "looked")
    assert "hatched: NOBODY LOOKED" not in review + plot
    for sheet in (review, plot):
        assert "walked along the fence with both owners, 150 ft round the well" in sheet


def papers(plan: Plan, out: Path) -> tuple[str, str]:
    """Words of the setback review and of the plot plan."""
    out.mkdir()
    for name, sheet in (("review.pdf", setback_review), ("plot.pdf", plot_plan)):
        (out / name).write_bytes(sheet(plan))
    return words_of(out / "review.pdf"), words_of(out / "plot.pdf")


# --- a big tree 14 ft from the property line, a barn on its other side

TRUNK_IN, GAP_FT, ROOTS_FT = 25, 14, 25
"""1 ft of root zone for each inch of trunk (Springboro OH, 280.01, as the layer has it)."""


def tree_lot(folder: Path, site: str = SITE) -> Plan:
    """The only way from the well to the house leads between trunk and line."""
    return planned(
        folder,
        area("lot", "parcel", "surveyed", 0, 0, 100, 260),
        well(50, 40),
        area("house", "building", "taped", 40, 220, 70, 250),
        area("barn", "building", "taped", 20, 100, 100, 160),
        f"oak,tree,point,{GAP_FT},130,taped,{TRUNK_IN} in,,\n",
        site=site,
    )


def no_room(plan: Plan) -> list[tuple[float, float]]:
    """Stretches [ft from south] of the trench where the pile has no room."""
    path = plan.layout.reaches[0].path
    return [
        (path.interpolate(each.from_m).y / FT, path.interpolate(each.to_m).y / FT)
        for each in plan.works.intervals
        if each.what == NO_ROOM
    ]


CUT_FT = (54 + 3 + 1.315 + 4) / 12
"""Cover, 3 in for a bottom that may be off, the outside of 1 in iron-pipe-size PE (ASTM D2239), bedding."""

PILE_FT = 2 * sqrt(2 * CUT_FT * 1.11 / tan(radians(34)))
"""Foot of the pile of a ditch 2 ft wide: sand swells by 0.11 and stands at 34 degrees (from memory)."""

STRIP_FT = 1 + 2 + PILE_FT + 3
"""Half the ditch, 2 ft to the pile, the pile, and on the other side half of a machine of 6 ft."""


def test_a_tree_14_ft_from_the_line_leaves_no_room_for_the_strip_but_a_bore(tmp_path: Path) -> None:
    """3 ft stay clear of a trunk: 11 ft are left, and pile and machine take more. The bore under the roots is taken, priced."""
    plan = tree_lot(tmp_path)
    assert STRIP_FT > GAP_FT - 3
    assert plan.works.spoil[0].width_m == pytest.approx(PILE_FT * FT, rel=1e-3)
    (reach,) = plan.layout.reaches
    (bored,) = reach.bored
    assert bored.feature == "oak"
    # from edge to edge of the roots and half a trench: at most 5 cm of cut corners outside
    for at_m in (bored.from_m, bored.to_m):
        away_m = reach.path.interpolate(at_m).distance(Point(GAP_FT * FT, 130 * FT))
        assert (ROOTS_FT + 1) * FT <= away_m + 1e-6 <= (ROOTS_FT + 1) * FT + 0.05
    # nothing is dug beside the trunk that would want room
    assert all(to < 130 - 15 or from_ > 130 + 15 for from_, to in no_room(plan))
    assert not [each for each in plan.findings if each.topic == "roots"]
    # 400 for pits, at least 1500 for up to 60 ft at 25
    rows = {row.row: row.likely for row in plan.works.prices if row.row.startswith("bore")}
    assert (bored.to_m - bored.from_m) * 25 / FT < 1500
    assert rows == pytest.approx({"bore-pits": 400, "bore-least": 1500})


def test_without_a_bore_the_strip_beside_the_tree_has_no_room(tmp_path: Path) -> None:
    """It is hauled past the trunk, the roots are short and say so, and it costs more than the bore."""
    opened = tree_lot(tmp_path / "opened", SITE.replace("[[line]]", "bore = false\n\n[[line]]"))
    assert opened.layout.reaches[0].bored == ()
    ((from_, to),) = no_room(opened)
    # at least where the strip meets the 3 ft about the trunk
    assert from_ < 130 - 3 < 130 + 3 < to
    (roots,) = (each for each in opened.findings if each.topic == "roots")
    assert (roots.verdict, roots.to) == ("short", "oak")
    assert roots.required_m == pytest.approx(ROOTS_FT * FT)
    assert roots.settle.startswith("Bore under, or dig by hand round the roots of tree")
    bored = tree_lot(tmp_path / "bored")
    assert total(bored.works.prices)[1] < total(opened.works.prices)[1]


def test_a_tree_that_is_never_opened_is_bored_under_or_gone_round(tmp_path: Path) -> None:
    """A bore that nobody would choose by its price is made where it is asked for; without it the roots are opened."""
    dear = "\n[rates]\nbore-least = 9000\n\n[[line]]"
    opened = tree_lot(tmp_path / "opened", SITE.replace("[[line]]", dear.lstrip()))
    never = tree_lot(tmp_path / "never", SITE.replace("[[line]]", f'bored_under = ["oak"]\n{dear}'))
    assert opened.layout.reaches[0].bored == ()
    assert [bored.feature for bored in never.layout.reaches[0].bored] == ["oak"]


# --- finished grade after backfill

YARD = area("lot", "parcel", "surveyed", 0, 0, 200, 220)
COLUMNS = "line,what,reach,station,cover,date,crew\n"
BACKFILLED = """\
water,low point,Main,0+20,60 in,2026-10-01,AB
water,middle,Main,0+60,60 in,2026-10-01,AB
water,at the wall,Main,1+00,60 in,2026-10-01,AB
"""
GRADED = "water,at the wall,Main,1+00,52 in,2026-10-20,AB\n"
"""8 in were cut off near the wall."""


def straight(folder: Path, casing: str = "24 in") -> Plan:
    """110 ft from the well straight to the wall."""
    return planned(folder, YARD, well(100, 40, casing), area("house", "building", "taped", 80, 150, 120, 180))


def visit(folder: Path, plan: Plan, rows: str, earlier: Record | None = None) -> Record:
    """One visit with its own file; what was recorded before comes from the file that was written."""
    (folder / "shots.csv").write_text(COLUMNS + rows)
    kept = folder / "asbuilt.geojson"
    if earlier is not None:
        kept.write_text(record_geojson(earlier))
    return record_plan(plan, read_shots(folder, plan.site), read_measurements(kept))


def covers(record: Record) -> list[Finding]:
    return sorted(
        (each for each in record.findings if each.topic == "cover"), key=lambda each: each.from_m or 0.0
    )


def test_ground_cut_8_in_near_the_wall_turns_clear_into_short(tmp_path: Path) -> None:
    """60 in of cover less 8 in are 52 in against 54 in: short, a tape of cover is good to 1 in."""
    plan = straight(tmp_path)
    before = visit(tmp_path, plan, BACKFILLED)
    assert {each.verdict for each in covers(before)} == {"clear"}
    after = visit(tmp_path, plan, GRADED, before)
    (short,) = (each for each in covers(after) if each.verdict == "short")
    assert short.measured_m == pytest.approx((60 - 8) * IN, abs=1e-4)
    assert short.margin_m == pytest.approx((60 - 8 - 54) * IN, abs=1e-4)
    assert short.error_m == pytest.approx(1 * IN, abs=1e-3)
    # the lesser of two covers holds between them: from the middle on; further back nothing was cut
    assert short.from_m == pytest.approx(60 * FT, abs=0.02)
    assert "clear" in {each.verdict for each in covers(after) if (each.to_m or 0.0) <= 60 * FT + 0.02}
    (change,) = (each for each in after.changes if each.after.topic == "cover")
    assert (change.before.verdict if change.before else "", change.after.verdict) == ("clear", "short")


def test_the_cover_after_grading_takes_the_place_of_the_former(tmp_path: Path) -> None:
    """Both stay in the record; the later one holds, and the difference is said."""
    plan = straight(tmp_path)
    after = visit(tmp_path, plan, GRADED, visit(tmp_path, plan, BACKFILLED))
    at_wall = {
        point.superseded: round((point.measurement.cover_m or 0.0) / IN)
        for point in after.built.points
        if point.measurement.what == "at the wall"
    }
    assert at_wall == {True: 60, False: 52}
    assert len(after.built.points) == 4
    assert any(
        "at the wall was measured twice, cover 60 in, then 52 in; the later holds" in each
        for each in after.built.warnings
    )


@pytest.mark.parametrize(
    ("casing_in", "verdict"),
    [(24, "clear"), (24 + 8, "clear"), (24 - 8, "short"), (26 - 8, "too close to call")],
)
def test_the_casing_is_judged_again_over_finished_grade(tmp_path: Path, casing_in: int, verdict: str) -> None:
    """A cut of 8 in leaves more of the casing out, a fill of 8 in less: 24 in become 16 in against 18 in; taped to 1 in."""
    plan = straight(tmp_path, f"{casing_in} in")
    (finding,) = (each for each in plan.findings if each.topic == "wellhead")
    assert finding.verdict == verdict
    assert finding.measured_m == pytest.approx(casing_in * IN)
    assert finding.margin_m == pytest.approx((casing_in - 18) * IN)
    assert "after final grading" in finding.settle or verdict != "too close to call"
