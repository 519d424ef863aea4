"""What settles a close call: chances against simulation, the choice of the measurement, the words."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely import Point

from siteplan.check.finding import Finding
from siteplan.check.lines import check_cover, check_crossings
from siteplan.check.pair_error import PairError, pair_error
from siteplan.check.setbacks import check_setbacks
from siteplan.check.settle import End, prospect, settling, survey_advice
from siteplan.check.verdicts import judge
from siteplan.document.model import Plan
from siteplan.route.model import Layout
from siteplan.rules.citation import Citation
from siteplan.rules.model import Setback
from siteplan.site.catalogue import kinds, measurements, methods
from siteplan.site.evidence import Z95_ONE_SIDED, Evidence
from siteplan.site.net import Net, NetPoint, error_ellipse
from siteplan.site.site import Site
from siteplan.units import Length, Printer
from tests.check.scenes import EXACT, FT, ROW, feature, requirements, site, well_to, works
from tests.plane.taped_site import HEAD, solved, tie
from tests.plans import example

FEET = Printer("ft")


@pytest.mark.parametrize(
    ("margin", "sigma", "tool"),
    [(0.0, 2.0, 0.3), (1.0, 2.0, 0.3), (-1.5, 2.0, 0.8), (3.0, 2.0, 2.0), (0.4, 0.5, 0.45)],
)
@pytest.mark.parametrize("confidence", [0.9, 0.95])
def test_chances_are_what_a_simulation_finds(
    margin: float, sigma: float, tool: float, confidence: float
) -> None:
    """Truths about the margin as known, each measured with the tool, both weighed together, and judged: 200,000 times."""
    rng = np.random.default_rng(3)
    truth = rng.normal(margin, sigma, 200_000)
    read = truth + rng.normal(0.0, tool, truth.size)
    after = 1.0 / math.hypot(1.0 / sigma, 1.0 / tool)
    told = after**2 * (margin / sigma**2 + read / tool**2)
    band = after * {0.9: 1.2816, 0.95: 1.6449}[confidence]
    verdicts = [judge(one, band) for one in told[:20_000]]
    found = prospect(margin, sigma, measurements()["tape"], after, confidence)
    assert found.clear == pytest.approx((told >= band).mean(), abs=0.004)
    assert found.short == pytest.approx((told <= -band).mean(), abs=0.004)
    assert found.clear == pytest.approx(verdicts.count("clear") / 20_000, abs=0.012)
    assert found.short == pytest.approx(verdicts.count("short") / 20_000, abs=0.012)


def test_a_measurement_that_tells_nothing_settles_nothing() -> None:
    found = prospect(0.5, 1.0, measurements()["tape"], 1.0, 0.95)
    assert (found.clear, found.short) == (0.0, 0.0)


def phone(name: str, kind: str, outing: str) -> End:
    evidence = Evidence(method="phone", shared_m=16 * FT, private_m=3 * FT, outing=outing)
    return End(name=name, kind=kind, evidence=evidence)


def asked(margin_ft: float, *ends: End) -> tuple[str, str, float]:
    """What is named: the sentence, the measurement, the chance that it settles."""
    error = pair_error(*(end.evidence for end in ends))
    text, chances = settling(margin_ft * FT, error, ends, FEET, 0.95)
    return text, chances.measurement if chances else "", chances.clear + chances.short if chances else 0.0


def test_the_cheapest_that_is_likely_to_settle_it() -> None:
    """Two phone walks: an hour of probing or a surveyor would do as well, ten minutes of tape do."""
    text, measurement, settles = asked(5.0, phone("Well", "well", "mon"), phone("Tank", "septic_tank", "tue"))
    assert measurement == "tape"
    assert settles > 0.8
    assert text == (
        "Tape Well to the nearest edge of Tank, both ends seen: good to 5.0 ft or better. "
        "Done to 0.5 ft (two people, 10 minutes): 68 % chance that it comes out clear, 28 % short."
    )


def test_a_fuzzy_edge_is_found_before_the_tape_is_unrolled() -> None:
    field = End(name="Field", kind="absorption_area", evidence=Evidence(method="record", edge_m=3 * FT))
    well = End(name="Well", kind="well", evidence=Evidence(method="taped", private_m=0.5 * FT))
    text, measurement, _ = asked(1.0, well, field)
    assert measurement == "probe"
    assert text.startswith(
        "Find the true edge of Field (probe or dig), then tape Well to Field: good to 1.0 ft or better. "
    )


def test_if_none_is_likely_the_likeliest_is_named_with_its_chance() -> None:
    """Both ends taped, 0.2 ft to spare: a steel tape is the likeliest to tell, and far from sure to."""
    ends = [End(name=n, kind="", evidence=Evidence(method="taped", private_m=0.5 * FT)) for n in "AB"]
    text, measurement, settles = asked(0.2, *ends)
    assert measurement == "steel_tape"
    assert 0.3 < settles < 0.8
    assert " % chance that it comes out clear" in text


def test_on_the_limit_no_tape_settles_it() -> None:
    ends = [End(name=n, kind="", evidence=Evidence(method="taped", private_m=0.5 * FT)) for n in "AB"]
    text, measurement, _ = asked(0.02, *ends)
    assert measurement == ""
    assert text == "A to B stands on the limit: no tape settles it. Move one of them, or ask the authority."


def test_on_the_limit_as_a_phone_sees_it_a_tape_still_tells() -> None:
    """Known to 9 ft, the reading 0 says little: the truth is likely feet away from the limit, either side."""
    text, measurement, settles = asked(0.0, phone("Well", "well", "mon"), phone("Tank", "septic_tank", "tue"))
    assert measurement == "tape"
    assert settles > 0.9
    assert text.count("48 %") == 2


def test_one_more_tie_before_the_whole_distance_where_a_tape_holds_one_end() -> None:
    """Well tied with 3 ft of error to spare (one bad tie), tank surveyed: one more tie is enough, and is the cheapest."""
    well = End(name="Well", kind="well", evidence=Evidence(method="taped", private_m=6 * FT))
    tank = End(name="Tank", kind="septic_tank", evidence=Evidence(method="surveyed"))
    text, measurement, _ = asked(2.5, well, tank)
    assert measurement == "tie"
    assert "tape tie to Well" in text


def test_a_property_line_is_for_a_surveyor_not_for_a_tape() -> None:
    well = End(name="Well", kind="well", evidence=Evidence(method="taped", private_m=0.5 * FT))
    fence = End(name="East line", kind="property_line", evidence=Evidence(method="record", private_m=3 * FT))
    text, measurement, _ = asked(1.0, well, fence)
    assert measurement == "survey"
    assert text.startswith("Have a licensed surveyor find East line and measure Well to it")


def test_a_line_in_the_ground_is_not_taped_to_as_if_it_were_seen() -> None:
    well = End(name="Well", kind="well", evidence=EXACT)
    sewer = End(name="Sewer", kind="building_sewer", evidence=Evidence(method="record", private_m=6 * FT))
    power = End(name="Power", kind="buried_line", evidence=Evidence(method="owner_says", private_m=15 * FT))
    assert asked(1.0, well, sewer)[1] == "probe_line"
    assert asked(4.0, well, power)[1] == "trace"


def test_a_marked_line_is_dug_to_by_hand_and_never_probed_for() -> None:
    well = End(name="Well", kind="well", evidence=EXACT)
    paint = Evidence(method="marked", private_m=0.5 * FT, zone_m=1.5 * FT)
    text, measurement, _ = asked(1.0, well, End(name="Power", kind="buried_line", evidence=paint))
    assert measurement == "expose"
    assert text.startswith("Dig by hand, within the paint and its zone, until Power is seen")
    assert "probe" not in text


def test_finding_one_edge_leaves_the_other_as_fuzzy_as_it_was() -> None:
    """Edges of 3 ft and 2 ft: the first is found to 0.5 ft, so 2 ft and 0.49 ft stay, and the tape."""
    error = pair_error(*(Evidence(method="record", private_m=FT, edge_m=edge * FT) for edge in (3, 2)))
    ends = tuple(
        End(name=n, kind="pond", evidence=Evidence(method="record", private_m=FT, edge_m=edge * FT))
        for n, edge in (("A", 3), ("B", 2))
    )
    _, chances = settling(1.0 * FT, error, (ends[0], ends[1]), FEET, 0.95)
    assert chances is not None
    assert chances.measurement == "probe"
    tape = 1.0 / math.hypot(1.0 / error.position_m, Z95_ONE_SIDED / (0.5 * FT))
    edge = 1.0 / math.hypot(Z95_ONE_SIDED / (3 * FT), Z95_ONE_SIDED / (0.5 * FT))
    left = math.hypot(tape, edge, 2 * FT / Z95_ONE_SIDED)
    told = prospect(1.0 * FT, error.sigma_m, measurements()["probe"], left, 0.95)
    assert (chances.clear, chances.short) == (pytest.approx(told.clear), pytest.approx(told.short))


@pytest.mark.parametrize(
    ("kind", "margin", "error", "advised"),
    [
        ("parcel", 0.9, 0.1, True),
        ("parcel", 1.1, 0.1, False),
        ("parcel", 3.0, 4.0, True),
        ("septic_tank", 0.1, 3.0, False),
    ],
)
def test_a_survey_is_advised_near_a_line_of_the_land(
    kind: str, margin: float, error: float, advised: bool
) -> None:
    """Within 1 ft of the distance, as the city code EMC 19.39.070 asks, or within the error."""
    ends = End(name="Well", kind="well", evidence=EXACT), End(name="Thing", kind=kind, evidence=EXACT)
    said = survey_advice(margin * FT, error * FT, "clear", ends)
    assert bool(said) is advised
    assert not said or "EMC 19.39.070" in said[0]


def test_two_ends_seen_from_the_sky_alone_prove_nothing() -> None:
    far = phone("Well", "well", "mon"), phone("Tank", "septic_tank", "tue")
    assert survey_advice(2.0, 3.0, "too close to call", far)
    assert survey_advice(20.0, 3.0, "clear", far) == ()
    assert (
        survey_advice(2.0, 3.0, "too close to call", (far[0], End(name="T", kind="", evidence=EXACT))) == ()
    )


def test_the_table_of_measurements_speaks_of_what_there_is() -> None:
    for each in measurements().values():
        assert set(each.kinds) | set(each.without) <= set(kinds())
        assert set(each.methods) <= set(methods())
        assert each.error_m > 0
        assert each.minutes > 0
        assert each.source
        assert each.words.format(a="A", b="B", one="C")


def test_a_finding_holds_the_chances() -> None:
    finding = well_to(51 * FT, other=Evidence(method="record", edge_m=3 * FT))
    assert finding.chance == pytest.approx(0.708, abs=0.001)  # 1 ft at 3 / 1.645 ft
    assert finding.prospect is not None
    assert finding.prospect.measurement == "probe"
    assert finding.prospect.clear > finding.prospect.short > 0
    assert well_to(60 * FT).prospect is None


def test_what_may_be_granted_is_told_as_such_and_never_as_clear() -> None:
    """100 ft asked, down to 50 ft by approval: at 99 ft it may need approval, at 51 ft it may be short of even that."""
    fuzzy = Evidence(method="record", edge_m=3 * FT)
    grant = {"required": 100.0, "approvable": Length(50, "ft"), "approval": "the board"}
    assert "comes out clear, " in well_to(99 * FT, other=fuzzy, **grant).settle
    assert well_to(99 * FT, other=fuzzy, **grant).settle.endswith(" needs approval.")
    assert "comes out needs approval, " in well_to(51 * FT, other=fuzzy, **grant).settle
    assert well_to(51 * FT, other=fuzzy, **grant).settle.endswith(" short.")
    row = Citation(row="row", layer="us/xx", text="Rule 1", standing="verified", force="by_approval")
    assert well_to(51 * FT, other=fuzzy, citation=row).settle.endswith(" needs approval.")


def test_touching_what_must_not_be_touched_is_a_chance_too() -> None:
    """1 ft from a thing that may never be entered, each known by phone from its own walk: nobody can say."""
    walks = [Evidence(method="phone", shared_m=16 * FT, outing=each) for each in ("mon", "tue")]
    finding = well_to(1 * FT, required=0.0, prohibit=True, well=walks[0], other=walks[1])
    assert finding.verdict == "too close to call"
    assert finding.chance == pytest.approx(0.54, abs=0.02)


def test_the_tape_net_gives_the_error_where_it_holds_both() -> None:
    """Well and tank in one net: 0.2 ft along the distance and 2 ft across it; without the net 16 ft by phone."""
    spot = error_ellipse(np.diag([0.01, 0.01]))
    points = tuple(NetPoint(name=n, x=x, y=0.0, ellipse=spot) for n, x in (("Well", 0.0), ("Tank", 52 * FT)))
    along, across = 0.2 * FT / math.sqrt(2.0), 2.0 * FT / math.sqrt(2.0)
    net = Net(
        points=points,
        covariance=np.diag([along**2, across**2] * 2),
        chains={"well": ((0,),), "tank": ((1,),)},
    )
    far = Evidence(method="phone", shared_m=16 * FT)
    found = pair_error(far, far, net, ("well", "tank"), ((0.0, 0.0), (52 * FT, 0.0)))
    assert found == PairError(position_m=pytest.approx(0.2 * FT))
    assert pair_error(far, far, net, ("well", "barn"), ((0.0, 0.0), (1.0, 0.0))) == pair_error(far, far)
    rule = well_rule("tank")
    things = feature("well", "well", Point(0, 0), far), feature("tank", "septic_tank", Point(52 * FT, 0), far)
    assert one_setback(replace(site(*things), net=net), rule).verdict == "clear"
    assert one_setback(site(*things), rule).verdict == "too close to call"


def test_tapes_of_the_folder_decide_a_setback_of_a_well_found_by_phone(tmp_path: Path) -> None:
    """Three tapes from the corners of the house to the well, 55.8 ft from it: the phone's 16 ft are no longer in the error."""
    ties = HEAD + "".join(tie(corner) for corner in ("NE", "SE", "NW"))
    placed, net = solved(tmp_path, ties)
    rule = replace(well_rule("house"), least=Length(54, "ft"))
    finding = one_setback(placed, rule)
    sigma = net.sigma_m("well", finding.points[0], "house", finding.points[1])
    assert sigma is not None
    assert 0.05 * FT < sigma < 1.0 * FT
    assert finding.error_m == pytest.approx(1.6449 * sigma, rel=0.1)
    assert finding.verdict == "clear"
    untied = one_setback(replace(placed, net=None), rule)
    assert untied.error_m is not None
    assert finding.error_m is not None
    assert untied.error_m >= finding.error_m


def well_rule(to: str) -> Setback:
    return Setback(
        subject="well",
        of="well",
        to=to,
        least=Length(50, "ft"),
        from_point="casing edge",
        to_edge="nearest edge",
        citation=ROW,
    )


def one_setback(at: Site, rule: Setback) -> Finding:
    layout = Layout(reaches=(), paths=(), kept_off=(), corridor=Point(), certificate="")
    (finding,) = check_setbacks(at, requirements(setbacks=(rule,)), layout, works())
    return finding


@pytest.fixture(scope="module")
def plan() -> Plan:
    return example("cedar-bench")


def covers(plan: Plan, above_ft: float, depth_error_ft: float) -> list[Finding]:
    """Cover findings with every line laid so much above its requirement."""
    sections = tuple(
        replace(
            section,
            lines=tuple(
                replace(laid, cover_m=(laid.required.least_m or 0.0) + above_ft * FT)
                for laid in section.lines
            ),
        )
        for section in plan.works.sections
    )
    at = replace(plan.site, digging=replace(plan.site.digging, depth_error_m=depth_error_ft * FT))
    return list(check_cover(at, plan.requirements, plan.layout, replace(plan.works, sections=sections)))


def test_cover_planned_on_the_limit_is_a_coin_toss(plan: Plan) -> None:
    """48 in required and planned at 48.0, the bottom good to 0.25 ft with a stick: even odds, and a level tells half of it."""
    found = covers(plan, 0.0, 0.25)
    assert found
    for finding in found:
        assert finding.verdict == "too close to call"
        assert finding.chance == pytest.approx(0.5)
        assert finding.prospect is not None
        assert finding.prospect.clear == pytest.approx(finding.prospect.short)
        assert "laser level" in finding.settle


@pytest.mark.parametrize(
    ("above", "verdict"), [(0.25, "clear"), (0.2, "too close to call"), (-0.26, "short")]
)
def test_cover_is_judged_like_a_distance(plan: Plan, above: float, verdict: str) -> None:
    for finding in covers(plan, above, 0.25):
        assert finding.verdict == verdict
        assert finding.chance == pytest.approx({0.25: 0.95, 0.2: 0.906, -0.26: 0.044}[above], abs=0.001)


def test_a_trench_that_is_said_to_be_exact_is_no_toss(plan: Plan) -> None:
    assert {(finding.verdict, finding.chance) for finding in covers(plan, 0.0, 0.0)} == {("clear", 1.0)}


def test_a_close_crossing_tells_what_a_test_hole_may_say(plan: Plan) -> None:
    crossing = plan.works.crossings[0]
    required = crossing.required_m if crossing.required_m is not None else 0.3
    close = replace(crossing, clear_m=required + 0.2 * FT, required_m=required)
    (finding,) = check_crossings(plan.site, plan.requirements, replace(plan.works, crossings=(close,)))
    assert finding.verdict == "too close to call"
    assert finding.prospect is not None
    assert finding.prospect.measurement == "test_hole"
    assert finding.settle.startswith("Hand dig a test hole at crossing")
    assert " % chance that it comes out clear" in finding.settle
