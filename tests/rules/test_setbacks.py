"""Distances against the facts of a site: defaults, sums, formulas, multipliers, approvals, and the six traps.

The traps are those of real rules, told in small rows: where a test names a section of law, the numbers are its own, read
in November 2026 in the law, an agency page or a copy; all others are made up. The layers that ship are held against the
law in ``tests/cases``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rules_scenes import BASE, HEAD, feature, line, multiplier, override, setback, site, when, write_layer

from siteplan.errors import InputFaults
from siteplan.rules import explain, layer_page, load_stack, resolve
from siteplan.rules.model import Requirements, Setback
from siteplan.rules.setbacks import ranked
from siteplan.rules.stack import Stack
from siteplan.site.features import Feature, Line

HOUSE = feature("house", "building")


def _stack(folder: Path, rows: str, below: str | None = None, head: str = HEAD) -> Stack:
    """Layer ``xx`` with these rows; if there are rows below it, with ``xx/yy``."""
    write_layer(folder, "xx", BASE + rows, head)
    if below is None:
        return load_stack("xx", folder)
    write_layer(folder, "xx/yy", below)
    return load_stack("xx/yy", folder)


def _needs(
    stack: Stack,
    *things: Feature,
    well: Mapping[str, Any] | None = None,
    facts: Mapping[str, Any] | None = None,
    lines: tuple[Line, ...] = (),
) -> Requirements:
    return resolve(
        stack, site(feature("well", "well", **(well or {})), HOUSE, *things, facts=facts, lines=lines)
    )


def _governs(needs: Requirements, to: str = "it", of: str = "well") -> tuple[str, str]:
    """Distance and row that govern a pair."""
    first = ranked(one for one in needs.setbacks if (one.of, one.to) == (of, to))[0]
    return str(first.least), first.citation.row


def _first(needs: Requirements, to: str = "it", of: str = "well") -> Setback:
    return ranked(one for one in needs.setbacks if (one.of, one.to) == (of, to))[0]


def _either(one: Setback) -> list[tuple[str, str]]:
    return [(words, str(answer or "")) for words, answer in one.either]


# --- default rows and any source

DEFAULT = setback("xx-any", 'distance = "200 ft"\ndefault = true', "any_source")


def test_specific_over_default_and_the_default_says_why(tmp_path: Path) -> None:
    """77 Ill. Adm. Code 920.50(b)(1): a listed figure governs over the 200 ft default, so a septic tank is 50 ft."""
    stack = _stack(tmp_path, DEFAULT + setback("xx-tank", 'distance = "50 ft"'))
    needs = _needs(stack, feature("it", "septic_tank"), feature("pit", "cesspool"))
    assert _governs(needs) == ("50 ft", "xx-tank")
    assert _governs(needs, "pit") == ("200 ft", "xx-any")
    (default,) = [one for one in needs.setbacks if one.to == "it" and one.citation.row == "xx-any"]
    assert not default.applies
    assert default.because == ("a default; xx-tank of the same rules is specific",)


def test_default_holds_where_the_specific_row_does_not_meet_its_conditions(tmp_path: Path) -> None:
    rows = DEFAULT + setback(
        "xx-tank", f'distance = "50 ft"\nwhen = [{when("hazard.watertight", "==", "true")}]'
    )
    stack = _stack(tmp_path, rows)
    assert _governs(_needs(stack, feature("it", "septic_tank", watertight=False))) == ("200 ft", "xx-any")
    assert _governs(_needs(stack, feature("it", "septic_tank", watertight=True))) == ("50 ft", "xx-tank")


def test_default_and_specific_row_with_a_missing_fact_show_both_distances(tmp_path: Path) -> None:
    rows = DEFAULT + setback(
        "xx-tank", f'distance = "50 ft"\nwhen = [{when("hazard.watertight", "==", "true")}]'
    )
    one = _first(_needs(_stack(tmp_path, rows), feature("it", "septic_tank")))
    assert (str(one.least), one.citation.row, one.missing) == ("200 ft", "xx-any", ("hazard.watertight",))
    assert _either(one) == [("otherwise", "200 ft"), ("watertight yes", "50 ft")]


def test_default_gives_way_where_a_specific_row_speaks_in_any_case(tmp_path: Path) -> None:
    rows = DEFAULT + "".join(
        setback(
            f"xx-{word}", f'distance = "{far}"\ngroup = "g"\nwhen = [{when("hazard.watertight", "==", word)}]'
        )
        for word, far in (("true", "10 ft"), ("false", "75 ft"))
    )
    needs = _needs(_stack(tmp_path, rows), feature("it", "septic_tank"))
    assert _governs(needs) == ("75 ft", "xx-false")
    assert [one.because for one in needs.setbacks if one.to == "it" and one.citation.row == "xx-any"] == [
        ("a default; a specific row of the same rules speaks in any case",)
    ]


def test_default_gives_way_to_no_row_of_another_layer_nor_to_words(tmp_path: Path) -> None:
    """R 560.417 and Washtenaw: the county's 100 ft stands above the state's 50 ft."""
    rows = DEFAULT + setback("xx-words", 'defers_to = "the plumbing code"')
    stack = _stack(tmp_path, rows, setback("yy-tank", 'distance = "50 ft"'))
    needs = _needs(stack, feature("it", "septic_tank"))
    assert _governs(needs) == ("200 ft", "xx-any")
    assert sum(one.applies for one in needs.setbacks if one.to == "it") == 2
    assert [one.citation.row for one in needs.unmeasured] == ["xx-words"]


def test_a_required_default_gives_way_to_no_advice(tmp_path: Path) -> None:
    rows = DEFAULT + setback("xx-tank", 'distance = "50 ft"\nforce = "advised"')
    needs = _needs(_stack(tmp_path, rows), feature("it", "septic_tank"))
    assert _governs(needs) == ("200 ft", "xx-any")
    assert [one.applies for one in needs.setbacks] == [True, True]
    open_row = f'distance = "50 ft"\nforce = "advised"\nwhen = [{when("hazard.watertight", "==", "true")}]'
    needs = _needs(_stack(tmp_path, DEFAULT + setback("xx-tank", open_row)), feature("it", "septic_tank"))
    assert (_first(needs).citation.row, _first(needs).missing) == ("xx-any", ()), "nothing could displace it"


@pytest.mark.parametrize(
    ("default", "specific", "governs"),
    [
        ("required", "by_approval", "xx-any"),
        ("by_approval", "required", "xx-tank"),
        ("advised", "advised", "xx-tank"),
        ("advised", "by_approval", "xx-tank"),
    ],
)
def test_a_default_gives_way_to_what_binds_as_much(
    tmp_path: Path, default: str, specific: str, governs: str
) -> None:
    rows = setback("xx-any", f'distance = "200 ft"\ndefault = true\nforce = "{default}"', "any_source")
    rows += setback("xx-tank", f'distance = "50 ft"\nforce = "{specific}"')
    assert _governs(_needs(_stack(tmp_path, rows), feature("it", "septic_tank")))[1] == governs


def test_any_source_names_every_source_and_nothing_else(tmp_path: Path) -> None:
    kinds = ("privy", "fuel_tank", "livestock_yard", "effluent_line", "pond", "parcel", "building")
    needs = _needs(_stack(tmp_path, DEFAULT), *(feature(kind, kind) for kind in kinds))
    assert [one.to for one in needs.setbacks] == ["privy", "fuel_tank", "livestock_yard", "effluent_line"]
    unlooked = dict(needs.unlooked)
    assert "cesspool" in unlooked
    assert not {"privy", "pond"} & set(unlooked)


# --- multipliers: trap 1, selective doubling

MN = (
    setback("mn-field", 'distance = "50 ft"', "absorption_area")
    + setback("mn-tank", 'distance = "50 ft"')
    + multiplier(
        "mn-sensitive",
        'factor = 2.0\nrows = ["mn-field"]\nwords = "sensitive well"\nwhen = ['
        + when("well.casing_depth", "<", '"50 ft"')
        + ", "
        + when("well.confining_thickness", "<", '"10 ft"')
        + "]",
        "any_source",
    )
)


def test_trap_1_doubles_the_drainfield_and_not_the_tank(tmp_path: Path) -> None:
    """Minn. R. 4725.4450: 40 ft of casing, no confining layer: 50 ft x 2 for what discharges to the soil."""
    stack = _stack(tmp_path, MN)
    things = (feature("field", "absorption_area"), feature("tank", "septic_tank"))
    needs = _needs(stack, *things, well={"casing_depth": "40 ft", "confining_thickness": "0 ft"})
    field, tank = _first(needs, "field"), _first(needs, "tank")
    assert (str(field.least), field.multiplied) == ("100 ft", ("x 2: sensitive well",))
    assert [one.row for one in field.also] == ["mn-sensitive"]
    assert (str(tank.least), tank.multiplied) == ("50 ft", ())
    deep = _needs(stack, *things, well={"casing_depth": "40 ft", "confining_thickness": "10 ft"})
    assert _governs(deep, "field") == ("50 ft", "mn-field")


def test_a_multiplier_of_which_a_fact_is_missing_shows_both_distances(tmp_path: Path) -> None:
    needs = _needs(_stack(tmp_path, MN), feature("it", "absorption_area"), well={"casing_depth": "40 ft"})
    one = _first(needs)
    assert (str(one.least), one.missing) == ("100 ft", ("well.confining_thickness",))
    assert _either(one) == [("x 2: sensitive well", "100 ft"), ("otherwise", "50 ft")]
    known = _first(
        _needs(_stack(tmp_path, MN), feature("it", "absorption_area"), well={"casing_depth": "50 ft"})
    )
    assert (str(known.least), known.missing) == ("50 ft", ()), "one test that fails is enough"


def test_a_multiplier_with_a_test_that_fails_asks_for_no_other_fact(tmp_path: Path) -> None:
    rows = MN.replace(
        'distance = "50 ft"', f'distance = "50 ft"\nwhen = [{when("hazard.in_use", "==", "true")}]', 1
    )
    field = feature("it", "absorption_area")
    one = _first(_needs(_stack(tmp_path, rows), field, well={"casing_depth": "60 ft"}))
    assert (str(one.least), one.missing) == ("50 ft", ("hazard.in_use",))
    assert _either(one) == [("in use yes", "50 ft"), ("otherwise", "")]
    one = _first(_needs(_stack(tmp_path, rows), field, well={"casing_depth": "40 ft"}))
    assert (str(one.least), one.missing) == ("100 ft", ("hazard.in_use", "well.confining_thickness"))


def test_a_multiplier_acts_on_rows_of_its_own_layer_and_not_on_an_override(tmp_path: Path) -> None:
    below = setback("yy-tank", 'distance = "60 ft"') + multiplier("yy-times", "factor = 1.5")
    stack = _stack(tmp_path, setback("xx-tank", 'distance = "50 ft"'), below)
    place = site(feature("well", "well"), feature("it", "septic_tank"))
    found = {one.citation.row: str(one.least) for one in resolve(stack, place).setbacks}
    assert found == {"xx-tank": "50 ft", "yy-tank": "90 ft"}
    place = site(
        feature("well", "well"),
        feature("it", "septic_tank"),
        overrides=(override("yy-tank", distance="70 ft"),),
    )
    assert {str(one.least) for one in resolve(stack, place).setbacks} == {"50 ft", "70 ft"}


def test_multipliers_by_slope_and_percolation_multiply_each_other(tmp_path: Path) -> None:
    rows = setback(
        "xx-tank", 'distance = "100 ft"\napprovable_to = "50 ft"\napproval = "the board"'
    ) + "".join(
        multiplier(f"xx-{word}", f'factor = 1.5\nwords = "{word}"\nwhen = [{when(fact, op, value)}]')
        for word, fact, op, value in (
            ("steep", "hazard.slope_percent", ">", "15"),
            ("fast", "hazard.perc_min_per_inch", "<", "2"),
        )
    )
    steep = feature("it", "septic_tank", slope_percent=16, perc_min_per_inch=1)
    one = _first(_needs(_stack(tmp_path, rows), steep))
    assert (str(one.least), str(one.approvable)) == ("225 ft", "112.5 ft")
    assert one.multiplied == ("x 1.5: steep", "x 1.5: fast")


# --- sums: trap 2, adding tanks

AK = setback(
    "ak-fuel",
    'distance = "25 ft"\nsum_of = { fact = "hazard.capacity", over = ['
    + when("hazard.buried", "==", "false")
    + ", "
    + when("hazard.product", "!=", '"propane"')
    + "] }\nwhen = [\n    { any = ["
    + when("hazard.buried", "==", "true")
    + ", "
    + when("sum.capacity", ">", '"500 gal"')
    + "] },\n    "
    + when("hazard.product", "!=", '"propane"')
    + ",\n]",
    "fuel_tank",
)


def _oil(name: str, **facts: Any) -> Feature:
    return feature(name, "fuel_tank", **{"product": "oil", "buried": False, "capacity": "300 gal", **facts})


def test_trap_2_adds_the_tanks_above_ground(tmp_path: Path) -> None:
    """18 AAC 72.100(a)(4): 600 gal of oil above ground in two tanks is more than 500; one alone, or propane, is exempt."""
    stack = _stack(tmp_path, AK)
    assert _governs(_needs(stack, _oil("it"), _oil("other"))) == ("25 ft", "ak-fuel")
    for things in (
        (_oil("it"),),
        (_oil("it", product="propane", capacity="1000 gal"), _oil("other")),
        (_oil("it"), _oil("other", product="propane")),
        (_oil("it"), _oil("other", buried=True)),
        (_oil("it", capacity="200 gal"), _oil("other")),
    ):
        needs = _needs(stack, *things)
        assert not [one for one in needs.setbacks if one.to == "it" and one.applies], things


def test_a_tank_of_which_the_size_is_not_stated_leaves_the_sum_open(tmp_path: Path) -> None:
    other = feature("other", "fuel_tank", product="oil", buried=False)
    one = _first(_needs(_stack(tmp_path, AK), _oil("it"), other))
    assert (str(one.least), one.missing) == ("25 ft", ("sum.capacity",))
    assert [answer for _, answer in _either(one)] == ["25 ft", ""]


# --- formulas

CASING = setback(
    "xx-casing",
    'interpolate = { fact = "well.casing_depth", points = [["20 ft", "100 ft"], ["50 ft", "50 ft"]] }',
)


@pytest.mark.parametrize(
    ("casing", "distance"),
    [("10 ft", "100 ft"), ("20 ft", "100 ft"), ("35 ft", "75 ft"), ("50 ft", "50 ft"), ("90 ft", "50 ft")],
)
def test_interpolation_is_straight_and_flat_beyond(tmp_path: Path, casing: str, distance: str) -> None:
    one = _first(
        _needs(_stack(tmp_path, CASING), feature("it", "septic_tank"), well={"casing_depth": casing})
    )
    assert str(one.least) == distance
    assert "straight between the rule's points" in one.because[0]


def test_interpolation_without_its_fact_keeps_the_largest_and_shows_the_points(tmp_path: Path) -> None:
    one = _first(_needs(_stack(tmp_path, CASING), feature("it", "septic_tank")))
    assert (str(one.least), one.missing, one.open_top) == ("100 ft", ("well.casing_depth",), False)
    assert _either(one) == [("casing depth 20 ft or less", "100 ft"), ("casing depth 50 ft or more", "50 ft")]


def _flow(ends: str) -> str:
    return setback("xx-flow", f'scale = {{ fact = "well.daily_gallons", power = 0.5, unit = "ft"{ends} }}')


@pytest.mark.parametrize(
    ("gallons", "distance"),
    [(400, "50 ft"), (2500, "50 ft"), (10000, "100 ft"), (90000, "300 ft"), (1e6, "300 ft")],
)
def test_square_root_of_the_daily_flow(tmp_path: Path, gallons: float, distance: str) -> None:
    """OAC 3745-9-04(B)(2) takes the square root of the daily gallons; the floor and the ceiling are made up."""
    stack = _stack(tmp_path, _flow(', floor = "50 ft", most = "300 ft"'))
    needs = _needs(stack, feature("it", "septic_tank"), well={"daily_gallons": gallons})
    assert _governs(needs) == (distance, "xx-flow")


def test_a_formula_without_its_fact_keeps_what_is_sure(tmp_path: Path) -> None:
    tank = feature("it", "septic_tank")
    one = _first(_needs(_stack(tmp_path / "a", _flow(', floor = "50 ft", most = "300 ft"')), tank))
    assert (str(one.least), one.missing, one.open_top) == ("300 ft", ("well.daily_gallons",), False)
    one = _first(_needs(_stack(tmp_path / "b", _flow(', floor = "50 ft"')), tank))
    assert (str(one.least), one.missing, one.open_top) == ("50 ft", ("well.daily_gallons",), True)
    needs = _needs(_stack(tmp_path / "c", _flow("")), tank)
    assert not needs.setbacks
    (words,) = needs.unmeasured
    assert (words.words, words.missing) == ("1 x daily gallons^0.5, in ft", ("well.daily_gallons",))


def test_a_fraction_of_a_length_counts_in_the_unit_of_the_rule(tmp_path: Path) -> None:
    rows = setback("xx-part", 'scale = { fact = "well.casing_depth", factor = 0.75, unit = "m" }')
    needs = _needs(_stack(tmp_path, rows), feature("it", "septic_tank"), well={"casing_depth": "20 m"})
    assert _governs(needs) == ("15 m", "xx-part")


# --- trap 3: exactly 2,000 gal a day, and whose

ME = "".join(
    setback(
        f"me-field-{far}",
        f'distance = "{far} ft"\ngroup = "me"\nwhen = [{when("hazard.flow_gpd", op, "2000")}]',
        "absorption_area",
    )
    for far, op in ((300, ">="), (100, "<"))
)
FL = "".join(
    setback(
        f"fl-field-{far}",
        f'distance = "{far} ft"\ngroup = "fl"\nwhen = [{when("well.class", "==", chr(34) + "public" + chr(34))}, '
        f"{when('site.facility_gpd', op, '2000')}]",
        "absorption_area",
    )
    for far, op in ((200, ">"), (100, "<="))
)


@pytest.mark.parametrize(("flow", "distance"), [(1999, "100 ft"), (2000, "300 ft"), (2001, "300 ft")])
def test_trap_3_the_operator_is_exact(tmp_path: Path, flow: float, distance: str) -> None:
    """10-144 CMR 232 s. 400.2: a field of 2,000 gal a day or more keeps 300 ft."""
    needs = _needs(_stack(tmp_path, ME), feature("it", "absorption_area", flow_gpd=flow))
    assert _governs(needs)[0] == distance


@pytest.mark.parametrize(("flow", "distance"), [(2000, "100 ft"), (2001, "200 ft")])
def test_trap_3_the_flow_is_that_of_the_facility(tmp_path: Path, flow: float, distance: str) -> None:
    """62-6.005(1)(b)-(c): the facility that the well serves counts, whatever the field's own flow."""
    stack = _stack(tmp_path, FL, head=HEAD + 'site_facts = { facility_gpd = "number" }\n')
    field = feature("it", "absorption_area", flow_gpd=9000)
    needs = _needs(stack, field, well={"class": "public"}, facts={"facility_gpd": float(flow)})
    assert _governs(needs)[0] == distance


# --- trap 4: not on the ground, or no longer used


@pytest.mark.parametrize("status", ["existing", "proposed", "reserve", "abandoned"])
def test_trap_4_every_status_counts_unless_the_row_says_otherwise(tmp_path: Path, status: str) -> None:
    """WAC 173-160-171(3)(b)(iv), Reg. 903 s. 12, Minn. R. 4725.4450 subp. 1."""
    rows = setback("wa-field", 'distance = "100 ft"', "absorption_area")
    needs = _needs(_stack(tmp_path, rows), feature("it", "absorption_area", status))
    assert _governs(needs) == ("100 ft", "wa-field")
    rows = setback("xx-field", 'distance = "100 ft"\nstatuses = ["existing"]', "absorption_area")
    needs = _needs(_stack(tmp_path / "b", rows), feature("it", "absorption_area", status))
    assert [one.applies for one in needs.setbacks] == [status == "existing"]


def test_trap_4_an_abandoned_source_counts_until_it_is_cleaned_out(tmp_path: Path) -> None:
    rows = setback(
        "mn-pit",
        'distance = "75 ft"\nwhen = [{ any = ['
        + when("hazard.status", "!=", '"abandoned"')
        + ", "
        + when("hazard.clean_closed", "==", "false")
        + "] }]",
        "seepage_pit",
    )
    stack = _stack(tmp_path, rows)
    for closed, applies in ((True, False), (False, True)):
        needs = _needs(stack, feature("it", "seepage_pit", "abandoned", clean_closed=closed))
        assert [one.applies for one in needs.setbacks] == [applies]
    assert _first(_needs(stack, feature("it", "seepage_pit", "abandoned"))).missing == (
        "hazard.clean_closed",
    )


def test_the_day_of_building_decides(tmp_path: Path) -> None:
    """As NR 812.42 does, by period of construction; the day and the distances are made up."""
    rows = "".join(
        setback(
            f"wi-{far}",
            f'distance = "{far} ft"\ngroup = "wi"\nwhen = [{when("well.drilled", op, "1991-02-01")}]',
        )
        for far, op in ((50, ">="), (25, "<"))
    )
    for day, row in (("1991-02-01", "wi-50"), ("1991-01-31", "wi-25")):
        needs = _needs(_stack(tmp_path, rows), feature("it", "septic_tank"), well={"drilled": day})
        assert _governs(needs)[1] == row


# --- trap 5: the state preempts the county

MD_HEAD = HEAD + 'preempts = ["setback"]\n'


def test_trap_5_preempted_rows_count_for_nothing_and_are_told(tmp_path: Path) -> None:
    """COMAR 26.04.04.01B: the county's well-construction rows are set aside, its other rows are not."""
    county = setback("yy-tank", 'distance = "300 ft"') + '[[bend]]\nid = "yy-bend"\nlimit_deg = 180\nSOURCE\n'
    stack = _stack(tmp_path, setback("xx-tank", 'distance = "50 ft"'), county, MD_HEAD)
    place = site(feature("well", "well"), feature("it", "septic_tank"))
    needs = resolve(stack, place)
    assert _governs(needs) == ("50 ft", "xx-tank")
    assert needs.bend_limit_deg.value == 180
    words = "yy-tank: set aside, xx preempts every setback below"
    assert [note.set_aside for note in needs.stack] == [(), (words,)]
    assert "300 ft: set aside, xx preempts what xx/yy says of setbacks" in explain(stack, place, "well", "it")
    assert f"Counts for nothing here: {words}" in layer_page("xx/yy", tmp_path)


def test_a_preempted_row_replaces_nothing(tmp_path: Path) -> None:
    county = setback("yy-tank", 'distance = "20 ft"\nreplaces = "xx-tank"\nreason = "local ordinance"')
    stack = _stack(tmp_path, setback("xx-tank", 'distance = "50 ft"'), county, MD_HEAD)
    assert _governs(_needs(stack, feature("it", "septic_tank"))) == ("50 ft", "xx-tank")


# --- trap 6: a reduction is not a pass


def test_trap_6_what_an_authority_may_grant(tmp_path: Path) -> None:
    """N.J.A.C. 7:9A-4.3 footnote 4: 100 ft, down to 50 ft by approval where the casing is deep."""
    rows = setback(
        "nj-field", 'distance = "100 ft"\napprovable_to = "50 ft"\napproval = "the board of health"'
    )
    one = _first(_needs(_stack(tmp_path, rows), feature("it", "septic_tank")))
    assert (str(one.least), str(one.approvable), one.approval) == ("100 ft", "50 ft", "the board of health")


def test_alternatives_with_and_without_approval_promise_none(tmp_path: Path) -> None:
    grant = '\napprovable_to = "40 ft"\napproval = "the board"'
    rows = "".join(
        setback(
            f"xx-{far}",
            f'distance = "{far} ft"\ngroup = "g"\nwhen = [{when("hazard.in_use", "==", word)}]{more}',
        )
        for far, word, more in ((100, "true", grant), (60, "false", ""))
    )
    assert _first(_needs(_stack(tmp_path, rows), feature("it", "septic_tank"))).approvable is None


# --- vertical, deferring and prohibiting rows; suction lines


def test_rows_that_no_plan_can_be_tested_for(tmp_path: Path) -> None:
    rows = (
        setback(
            "xx-over",
            'distance = "18 in"\nmeasured = "vertical"\nwords = "water over sewer"',
            "building_sewer",
            "line:water",
        )
        + setback("xx-code", 'defers_to = "chapter 4725"', "building_sewer", "line:water")
        + setback(
            "xx-never",
            f"prohibit = true\nwhen = [{when('site.subdivision', '==', 'true')}]",
            "building_sewer",
            "line:water",
        )
        + setback(
            "xx-if",
            f'defers_to = "the county"\nwhen = [{when("hazard.watertight", "==", "false")}]',
            "building_sewer",
            "line:water",
        )
    )
    needs = _needs(
        _stack(tmp_path, rows),
        feature("it", "building_sewer", watertight=True),
        feature("other", "building_sewer"),
        lines=(line("water", "water"),),
        facts={"subdivision": True},
    )
    found = [(one.citation.row, one.words, one.applies, one.missing) for one in needs.unmeasured]
    assert found == [
        ("xx-over", "18 in, measured vertically: water over sewer", True, ()),
        ("xx-code", "no number here: chapter 4725", True, ()),
        ("xx-if", "no number here: the county", False, ()),
        ("xx-over", "18 in, measured vertically: water over sewer", True, ()),
        ("xx-code", "no number here: chapter 4725", True, ()),
        ("xx-if", "no number here: the county", True, ("hazard.watertight",)),
    ]
    assert [(one.citation.row, one.prohibit, one.least.value) for one in needs.setbacks] == [
        ("xx-never", True, 0.0),
        ("xx-never", True, 0.0),
    ]
    assert {"xx-over", "xx-code"} <= {one.row for one in needs.unconfirmed}


def test_a_suction_line_is_one_whose_pump_is_not_in_the_well(tmp_path: Path) -> None:
    rows = setback("nj-suction", 'distance = "50 ft"', "septic_tank", "suction_line")
    stack, tank = _stack(tmp_path, rows), feature("it", "septic_tank")
    for stated, well, applies in (
        ({"suction": True}, {}, True),
        ({"suction": False}, {}, False),
        ({}, {"pump_at_well": True}, False),
        ({}, {"pump_at_well": False}, True),
        ({"suction": True}, {"pump_at_well": True}, True),
    ):
        needs = _needs(
            stack, tank, well=well, lines=(line("water", "water", **stated), line("power", "electric"))
        )
        assert [(one.of, one.applies) for one in needs.setbacks] == [("water", applies)]
    branch = replace(line("branch", "water"), start="water")
    needs = _needs(stack, tank, well={"pump_at_well": False}, lines=(line("water", "water"), branch))
    assert [(one.of, one.applies) for one in needs.setbacks] == [("water", True), ("branch", True)]
    one = _first(_needs(stack, tank, lines=(line("water", "water"),)), of="water")
    assert (str(one.least), one.missing) == ("50 ft", ("line.suction",))


# --- three values at once


def test_facts_that_change_nothing_are_not_asked_for(tmp_path: Path) -> None:
    rows = "".join(
        setback(
            f"xx-{word}", f'distance = "50 ft"\ngroup = "g"\nwhen = [{when("hazard.in_use", "==", word)}]'
        )
        for word in ("true", "false")
    )
    one = _first(_needs(_stack(tmp_path, rows), feature("it", "septic_tank")))
    assert (str(one.least), one.missing) == ("50 ft", ())


def test_missing_facts_of_rows_default_and_multiplier_together(tmp_path: Path) -> None:
    rows = (
        DEFAULT
        + setback("xx-tank", f'distance = "50 ft"\nwhen = [{when("hazard.watertight", "==", "true")}]')
        + multiplier(
            "xx-times",
            f'factor = 3.0\nwords = "permeable soil"\nwhen = [{when("site.soil_permeable", "==", "true")}]',
            "any_source",
        )
    )
    one = _first(_needs(_stack(tmp_path, rows), feature("it", "septic_tank")))
    assert one.missing == ("hazard.watertight", "site.soil_permeable")
    assert sorted(answer for _, answer in _either(one)) == ["150 ft", "200 ft", "50 ft", "600 ft"]
    assert (str(one.least), one.multiplied) == ("600 ft", ("x 3: permeable soil",))


# --- which of equal distances governs


def test_of_equal_distances_the_required_then_the_more_surely_read_governs(tmp_path: Path) -> None:
    read = 'url = "https://example.org"\nread = "2026-11"\n'
    sources = {
        "memory": 'status = "memory"\n',
        "secondary": f'status = "secondary"\n{read}',
        "verified": f'status = "verified"\n{read}',
    }
    names = [
        *(("advised", standing) for standing in ("verified", "memory")),
        *(("by_approval", standing) for standing in ("verified",)),
        *(("required", standing) for standing in ("memory", "secondary", "verified")),
    ]
    rows = "".join(
        setback(
            f"xx-{force.replace('_', '-')}-{standing}",
            f'distance = "{("15.24 m", "50 ft", "600 in")[place % 3]}"\nforce = "{force}"',
        ).replace("SOURCE\n", f'citation = "Test Code 1"\n{sources[standing]}')
        for place, (force, standing) in enumerate(names)
    )
    needs = _needs(_stack(tmp_path, rows), feature("it", "septic_tank"))
    order = [(one.citation.force, one.citation.standing) for one in ranked(needs.setbacks)]
    assert order == [
        ("required", "verified"),
        ("required", "secondary"),
        ("required", "memory"),
        ("by_approval", "verified"),
        ("advised", "verified"),
        ("advised", "memory"),
    ]
    longer = rows + setback("xx-longer", 'distance = "50.1 ft"\nforce = "advised"')
    assert _governs(_needs(_stack(tmp_path, longer), feature("it", "septic_tank"))) == (
        "50.1 ft",
        "xx-longer",
    )


# --- explain, overrides, bounds


def test_explain_tells_multipliers_approval_and_what_does_not_apply(tmp_path: Path) -> None:
    rows = (
        DEFAULT
        + setback("xx-tank", 'distance = "50 ft"\napprovable_to = "25 ft"\napproval = "the health officer"')
        + setback("xx-less", 'distance = "20 ft"\nforce = "advised"')
        + multiplier("xx-times", 'factor = 2.0\nwords = "sensitive well"')
        + setback("xx-deep", 'distance = "3 ft"\nmeasured = "vertical"')
    )
    stack = _stack(tmp_path, rows)
    text = explain(stack, site(feature("well", "well"), feature("it", "septic_tank")), "well", "septic_tank")
    for words in (
        "100 ft from the nearest edge to the nearest edge: governs: the largest of 2 that hold",
        "x 2: sensitive well",
        "down to 50 ft by approval: the health officer",
        "[xx-times]",
        "40 ft from the nearest edge to the nearest edge: holds too, asks for no more",
        "3 ft, measured vertically: holds too, and no plan can be tested for it",
        "200 ft from the nearest edge to the nearest edge: does not apply",
        "because a default; xx-tank of the same rules is specific",
    ):
        assert words in text, words


def test_explain_tells_the_chain_of_a_cover() -> None:
    place = site(
        feature("well", "well"),
        HOUSE,
        lines=(line("water-house", "water"),),
        overrides=(override("us-mt-upc-609-1", fixed="72 in"), override("us-frost", depth="40 in")),
    )
    text = explain(load_stack("us/mt"), place, "water-house", "cover")
    for words in (
        "cover over water-house, under us/mt",
        "at least 6.0 ft",
        "because fixed 72 in",
        "site override of UPC 609.1",
        "the inspector said so on 2026-11-20",
        "[us-ipc-305-4]",
    ):
        assert words in text, words
    with pytest.raises(InputFaults, match="ids of the site"):
        explain(load_stack("us/mt"), place, "well", "cover")


@pytest.mark.parametrize("day", ["1972", "1972-13-01", 1972.0, True])
def test_a_day_of_the_site_that_is_none_is_a_fault(tmp_path: Path, day: object) -> None:
    stack = _stack(tmp_path, "")
    with pytest.raises(InputFaults, match="a value of sort date"):
        resolve(stack, site(feature("well", "well"), facts={"lot_created": day}))
    resolve(stack, site(feature("well", "well"), facts={"lot_created": "1972-05-01"}))


def test_an_override_of_the_distance_takes_the_place_of_any_formula(tmp_path: Path) -> None:
    place = site(
        feature("well", "well"),
        feature("it", "septic_tank"),
        overrides=(override("xx-casing", distance="80 ft"),),
    )
    one = _first(resolve(_stack(tmp_path, CASING), place))
    assert (str(one.least), one.missing, one.citation.standing) == ("80 ft", (), "site")


def test_a_site_outside_the_bounds_of_a_layer_gets_a_warning(tmp_path: Path) -> None:
    stack = _stack(tmp_path, "", head=HEAD + "bbox = [-114.0, 44.0, -104.0, 49.0]\n")
    place = site(feature("well", "well"))
    assert resolve(stack, place).warnings == ()
    assert resolve(stack, place, (-111.95, 46.65)).warnings == ()
    (warning,) = resolve(stack, place, (-100.0, 46.65)).warnings
    assert warning == "the site (46.650, -100.000) lies outside the bounds of Test (xx): are these its rules?"
