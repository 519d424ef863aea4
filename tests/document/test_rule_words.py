"""What the documents say of the rules as a whole: out of bounds, not whole, set aside, silent, replaced, computed frost."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from siteplan.document.compare import compare_table
from siteplan.document.locate_request import locate_request, locate_request_text
from siteplan.document.model import Plan
from siteplan.document.route_sheet import route_sheet
from siteplan.document.rule_words import in_words_only, on_every_sheet, page_mark
from siteplan.document.setback_review import setback_review
from siteplan.document.summary import review_table, summary
from siteplan.document.tables import findings_json
from siteplan.document.web_map import map_html
from siteplan.plan import plan_folder
from siteplan.rules.frost import CITATION
from siteplan.rules.model import LayerNote
from siteplan.site.catalogue import data_folder, kinds
from siteplan.site.features import Source
from siteplan.site.frost import FrostInputs
from tests.document.printed import pages as said
from tests.document.printed import sheet_of
from tests.document.sample_plan import sample_plan
from tests.plans import example

OUTSIDE = (
    "the site (46.594, -112.071) lies outside the bounds of An invented state (us/xx): are these its rules?"
)
STRANGE = 'House (building): use "hut" is no text that the rules us/xx test'
GAPS = ("paragraph (E) was not read", "frost depth: each place adopts its own")
SHORT = "Rules of us/xx: not whole, see the setback review."
REASON = "tank watertight, county letter of 2026-05-02: 5 ft"
SHEETS = (route_sheet, setback_review, locate_request)
FROST = FrostInputs(
    freezing_index_c_days=1400,
    mean_annual_c=7.0,
    season_days=130,
    n_factor=0.5,
    surface="turf, snow left lying",
    soil="silt-clay",
    dry_density_kg_m3=1600,
    water_percent=15,
    source=Source(file="site.toml"),
)


def page_words(html: str) -> str:
    body = re.split(r'<main id="sheet"[^>]*>', html)[1].split("</main>", maxsplit=1)[0]
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


@pytest.fixture
def plan() -> Plan:
    """The sample plan under rules that are not whole, out of their bounds, with rows set aside and kinds without number."""
    sample = sample_plan()
    us, state = sample.requirements.stack
    state = replace(state, gaps=GAPS, thin=True, silent=("privy", "manure_storage"))
    why = "set aside, us preempts every cover below"
    town = LayerNote(
        layer="us/xx/town",
        title="A town",
        authority="its clerk",
        edition="2020",
        set_aside=(f"a-yard: {why}", f"a-drive: {why}"),
    )
    stations, section = [], ""
    for station in sample.works.stations:
        section = station.section or section
        stations.append(replace(station, section=section))
    requirements = replace(
        sample.requirements, stack=(us, state, town), warnings=(OUTSIDE, STRANGE), outside=True
    )
    works = replace(sample.works, stations=tuple(stations))
    return replace(sample, requirements=requirements, works=works)


@pytest.fixture
def frozen(plan: Plan) -> Plan:
    """The same plan with a computed frost depth in the cover of every water line."""

    def computed(laid: object) -> object:
        water = laid.line != "pump-power"  # type: ignore[attr-defined]
        required = laid.required  # type: ignore[attr-defined]
        return replace(laid, required=replace(required, also=(CITATION,) if water else ()))  # type: ignore[type-var]

    sections = tuple(
        replace(one, lines=tuple(computed(laid) for laid in one.lines))  # type: ignore[misc]
        for one in plan.works.sections
    )
    return replace(plan, site=replace(plan.site, frost=FROST), works=replace(plan.works, sections=sections))


def many_unlooked(plan: Plan, count: int = 20) -> Plan:
    one = next(finding for finding in plan.findings if finding.topic == "unlooked")
    others = tuple(finding for finding in plan.findings if finding is not one)
    names = sorted(kind.name for kind in kinds().values())[:count]
    left = tuple(
        replace(one, number=100 + n, what=f"{name}: none drawn, nobody looked", settle=f"Look for {name}.")
        for n, name in enumerate(names)
    )
    return replace(plan, findings=(*others, *left))


def test_findings_json_says_what_the_rules_lack(plan: Plan) -> None:
    data = json.loads(findings_json(plan))
    us, state, town = data["layers"]
    assert data["warnings"] == [OUTSIDE, STRANGE]
    assert (us["thin"], state["thin"]) == (False, True)
    assert state["gaps"] == list(GAPS)
    assert state["silent"] == ["privy", "manure_storage"]
    assert town["set_aside"][0].startswith("a-yard: ")
    assert data["overrides"][0]["note"] == REASON


def test_the_review_says_all_of_it(plan: Plan) -> None:
    pages = said(sheet_of(setback_review, plan))
    text = " ".join(pages)
    assert "The site (46.594, -112.071) lies outside the bounds of An invented state (us/xx)" in pages[0]
    assert STRANGE in pages[0]
    assert f"NOT WHOLE: rules of us/xx: {'; '.join(GAPS)}." in pages[0]
    assert "Read, and no number for: privy, manure storage." in text
    assert "Set aside, us preempts every cover below: a-yard, a-drive." in text
    assert REASON in text


@pytest.mark.parametrize("sheet", [route_sheet, locate_request])
def test_the_other_sheets_say_it_in_short_on_their_first_page(
    sheet: Callable[[Plan], bytes], plan: Plan
) -> None:
    first = said(sheet_of(sheet, plan))[0]
    assert "This site lies outside the bounds of its rules (us/xx), see the setback review." in first
    assert "the setback review gives 2 warnings." in first
    assert SHORT in first
    assert STRANGE not in first
    assert REASON in first
    assert GAPS[0] not in first


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_page_is_marked_if_the_rules_are_in_doubt(sheet: Callable[[Plan], bytes], plan: Plan) -> None:
    mark = "RULES us/xx NOT WHOLE; SITE OUTSIDE THEIR BOUNDS"
    assert page_mark(plan) == mark
    assert all(mark in page for page in said(sheet_of(sheet, plan)))
    assert not any("NOT WHOLE" in page or "BOUNDS" in page for page in said(sheet_of(sheet, sample_plan())))


def test_rules_without_doubt_print_only_what_was_replaced() -> None:
    plan = sample_plan()
    assert [REASON in words for words in on_every_sheet(plan)] == [True]
    assert page_mark(plan) == ""
    bounds = replace(plan, requirements=replace(plan.requirements, warnings=(OUTSIDE,), outside=True))
    assert page_mark(bounds) == "SITE OUTSIDE THE BOUNDS OF ITS RULES"
    strange = replace(plan, requirements=replace(plan.requirements, warnings=(STRANGE,)))
    assert page_mark(strange) == ""
    assert "gives 1 warning." in on_every_sheet(strange)[0]


def test_the_request_as_text_says_it_too(plan: Plan) -> None:
    lines = locate_request_text(plan).splitlines()
    assert SHORT in lines
    assert any(REASON in line for line in lines)


def test_the_terminal_says_all_of_it(plan: Plan) -> None:
    for text in (summary(plan), " ".join(review_table(plan).split())):
        assert "The site (46.594, -112.071) lies outside" in text
        assert STRANGE in text
        assert f"NOT WHOLE: rules of us/xx: {'; '.join(GAPS)}." in text
        assert REASON in text


def test_the_map_says_all_of_it(plan: Plan) -> None:
    text = page_words(map_html(plan))
    assert text.index("lies outside the bounds") < text.index("verdicts, worst first")
    assert text.index("NOT WHOLE: rules of us/xx") < text.index("verdicts, worst first")
    assert text.count(GAPS[0]) == 1
    assert "us/xx: privy, manure storage" in text
    assert "set aside, us preempts every cover below: a-yard, a-drive" in text
    assert "These rules" not in page_words(map_html(replace(plan, requirements=sample_plan().requirements)))


def test_twenty_unlooked_kinds_stay_one_paragraph_and_one_line(plan: Plan) -> None:
    full = many_unlooked(plan)
    left = [finding for finding in full.findings if finding.topic == "unlooked"]
    names = [finding.what.partition(":")[0] for finding in left]
    assert len(names) == 20
    assert len(said(sheet_of(setback_review, full))) == len(said(sheet_of(setback_review, plan)))
    text = " ".join(said(sheet_of(setback_review, full)))
    assert f"NOT CHECKED: 100. {names[0]}, 101. {names[1]}, " in text
    table = review_table(full)
    assert f"nobody looked: {', '.join(names)}." in " ".join(table.split())
    assert table.count("none drawn, nobody looked") == table.count("Look for ") == 0
    assert len(table.splitlines()) < len(review_table(plan).splitlines()) + 8
    assert [line for line in summary(full).splitlines() if names[7] in line] == [
        f"    not checked: nobody looked: {', '.join(names)}"
    ]
    rows = json.loads(findings_json(full))["findings"]
    assert sum(row["topic"] == "unlooked" for row in rows) == 20
    assert f"20 not checked, nobody looked: {', '.join(names)}" in page_words(map_html(full))


def test_a_comparison_has_one_line_for_what_nobody_looked_for(plan: Plan) -> None:
    full = many_unlooked(plan)
    text = " ".join(compare_table({"us/xx": full, "us": sample_plan()}).split())
    assert text.count("nobody looked") == 2
    assert "rules of us/xx NOT WHOLE" in text
    assert "lies outside the bounds" in text


def test_what_is_asked_in_words_does_not_fill_a_narrow_column(plan: Plan) -> None:
    words = "18 in, measured vertically: the water line over the sewer"
    asked = replace(
        plan.findings[3],
        required_m=None,
        measured_m=None,
        margin_m=None,
        error_m=None,
        required_text=words,
        settle=f"Check on site, or with the authority: {words}.",
        points=(),
    )
    assert in_words_only(asked)
    assert [one.number for one in plan.findings if in_words_only(one)] == []
    changed = replace(plan, findings=(*plan.findings[:3], asked, *plan.findings[4:]))
    for text in (" ".join(said(sheet_of(setback_review, changed))), " ".join(review_table(changed).split())):
        assert "in words" in text
        assert text.count(words) == 1
    assert "in words" in page_words(map_html(changed))


def test_a_computed_frost_depth_prints_its_inputs(frozen: Plan, plan: Plan) -> None:
    """1400 C-days is 2520 F-days (times 9/5); concrete cleared of snow has n = 0.75 in ``layers/frost_surfaces.toml``."""
    review, map_ = " ".join(said(sheet_of(setback_review, frozen))), page_words(map_html(frozen))
    for text in (review, map_):
        assert text.count("by the modified Berggren formula (UFC 3-130-06)") == 1
        assert "air freezing index 2520 F-days in a season of 130 days" in text
        assert "turf, snow left lying, n-factor 0.5" in text
        assert re.search(r"under concrete pavement, snow cleared off, n-factor 0.75: \d+\.\d in", text)
    dry = replace(frozen, works=plan.works)
    assert "Berggren" not in " ".join(said(sheet_of(setback_review, dry))) + page_words(map_html(dry))


@pytest.mark.parametrize("sheet", SHEETS)
def test_no_page_says_layer(sheet: Callable[[Plan], bytes], plan: Plan) -> None:
    assert not re.search(r"\blayers?\b", " ".join(said(sheet_of(sheet, plan))).lower())


def test_no_other_page_says_layer(plan: Plan) -> None:
    texts = (page_words(map_html(plan)), summary(plan), review_table(plan))
    assert not re.search(r"\blayers?\b", " ".join([*texts, compare_table({"us": plan})]).lower())


@pytest.mark.parametrize(("site", "most"), [("cedar-bench", 4), ("birch-landing", 3)])
def test_the_review_of_an_example_has_the_verdicts_on_two_pages(site: str, most: int) -> None:
    plan = example(site)
    assert page_mark(plan) == ""
    texts = said(sheet_of(setback_review, plan))
    assert len(texts) <= most
    assert "Key map" in texts[0]
    assert [n for n, text in enumerate(texts) if "Inspector verified" in text][-1] <= 2


def test_an_example_under_rules_that_are_not_its_own(tmp_path: Path) -> None:
    """Cedar Bench lies at 46.6 N, 112.1 W; Ohio, whose rules here are not whole, from 38.3 to 42.4 N."""
    for file in (data_folder("example_sites") / "cedar-bench").iterdir():
        text = file.read_text(encoding="utf-8")
        if file.name == "site.toml":
            text = re.sub(r'(?m)^rules = ".*?"', 'rules = "us/oh"', text)
            text = text.replace('carries = "water"', 'carries = "water"\ncover = "5 ft"')
        (tmp_path / file.name).write_text(text, encoding="utf-8")
    plan = plan_folder(tmp_path, thorough=False)
    first = said(sheet_of(setback_review, plan))[0]
    assert "lies outside the bounds of Ohio" in first
    assert "NOT WHOLE: rules of us/oh: OAC 3701-28-07 from paragraph (E) on was not read" in first
    assert "Rules of us/oh: not whole, see the setback review." in said(sheet_of(route_sheet, plan))[0]
