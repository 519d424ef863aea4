"""The route sheet in Spanish: every word of it is in the table, the table has no idle word, and nothing but words changes."""

from __future__ import annotations

import ast
import re
import tomllib
from dataclasses import replace
from datetime import date, datetime
from io import BytesIO
from pathlib import Path
from string import Formatter

import pytest
from big_plan import big_plan
from click.testing import CliRunner
from pypdf import PdfReader
from sample_plan import sample_plan
from set_lines import watch

import siteplan
from siteplan.cli import main
from siteplan.document import speech
from siteplan.document.model import Plan
from siteplan.document.pages import MARGIN_PT
from siteplan.document.route_sheet import route_sheet
from siteplan.document.sheet import A4, LETTER, Paper
from siteplan.document.speech import LANGUAGES, Speech, words
from siteplan.document.symbols import ALL_LOOKS
from siteplan.document.write import write_documents
from siteplan.measure.said import Said
from siteplan.rules.clock import CONFIRM, GATES
from siteplan.site.catalogue import kinds, layers_folder, surfaces
from tests.document.printed import pages, said, sheet_of

SPANISH = Speech("es")
IN_TABLES = {
    *GATES.values(),
    CONFIRM,
    *(look.legend for look in ALL_LOOKS),
    *(kind.name for kind in kinds().values()),
    *surfaces(),
    *("proposed", "abandoned"),
    *("N", "NE", "E", "SE", "S", "SW", "W", "NW"),
}
"""Words that the sheet says and that other tables hold."""


def text_of(plan: Plan) -> str:
    return said(sheet_of(route_sheet, plan))


def said_in_the_code() -> set[str]:
    """First argument of every call of ``say``, ``Said`` and ``word``."""
    found: set[str] = set()
    for file in Path(siteplan.__file__).parent.glob("*/*.py"):
        for call in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if not isinstance(call, ast.Call) or not call.args:
                continue
            name = getattr(call.func, "id", getattr(call.func, "attr", ""))
            first = call.args[0]
            choices = [first.body, first.orelse] if isinstance(first, ast.IfExp) else [first]
            if name in ("say", "Said", "word"):
                found |= {str(one.value) for one in choices if isinstance(one, ast.Constant)}
    return found


def test_the_table_has_every_word_and_no_idle_one() -> None:
    wanted = said_in_the_code() | IN_TABLES
    assert len(wanted) > 250
    assert wanted - words("es").keys() == set()
    assert words("es").keys() - wanted == set()


def test_no_word_stands_twice_in_the_table() -> None:
    parts = tomllib.loads((layers_folder() / "words_es.toml").read_text(encoding="utf-8"))
    assert sum(len(part["words"]) for part in parts.values()) == len(words("es"))
    assert {part["status"] for part in parts.values()} == {
        "trade usage",
        "to be read by a bilingual foreman",
    }


def test_a_translation_puts_in_what_the_english_puts_in() -> None:
    for english, spanish in words("es").items():
        parts, ours = (
            {name for _, name, _, _ in Formatter().parse(each) if name} for each in (english, spanish)
        )
        assert ours <= parts, english
        assert parts - ours <= {"form"}, english  # the formula of a cover is in the words of the rules


@pytest.mark.parametrize("plan", [sample_plan(), sample_plan(levelled=False), big_plan()])
def test_the_sheet_asks_for_no_word_that_the_table_lacks(plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    class Strict(dict[str, str]):
        def get(self, english: str, _: object = None) -> str:  # type: ignore[override]
            return self[english]

    monkeypatch.setattr(speech, "words", lambda _: Strict(words("es")))
    assert "HOJA DE TRAZO" in said(route_sheet(replace(plan, say=SPANISH)))


@pytest.mark.parametrize("plan", [sample_plan(), sample_plan(levelled=False)])
def test_nothing_english_is_left_but_names_and_the_words_of_rules(plan: Plan) -> None:
    text = text_of(replace(plan, say=SPANISH)).replace("electric cooperative", "")  # an owner as entered
    for english, spanish in words("es").items():
        plain = max(re.split(r"\{\w+\}", english), key=len).strip(" .,;:()")
        if english != spanish and len(plain) > 7:
            assert not re.search(rf"\b{re.escape(plain)}\b", text), english


@pytest.mark.parametrize("units", ["ft", "ft-in", "m"])
def test_numbers_and_stations_are_the_same(units: str) -> None:
    plan = sample_plan(units=units)  # type: ignore[arg-type]
    english, spanish = (text_of(replace(plan, say=Speech(language))) for language in LANGUAGES)
    spanish = re.sub(r"Clave: .*? a lo largo", "", spanish)
    for cover in plan.requirements.covers:
        english = english.replace(f"{cover.form}, {cover.citation.text}", "")  # words of the rules
    for pattern in (r"\d+\+\d+\.\d", r"\d+'-\d+", r"\d+\.\d ft", r"[\d.]+ in\b", r"[\d.]+ mm\b"):
        assert set(re.findall(pattern, spanish)) == set(re.findall(pattern, english)), pattern


def test_it_asks_for_a_bilingual_reader_and_keys_the_trade_words() -> None:
    text = text_of(replace(sample_plan(), say=SPANISH))
    assert "mayordomo bilingüe" in text
    for term in ("amarre =", "colchón =", "cala =", "estadal =", "banco de nivel (BN) ="):
        assert term in text
    assert "bilingual" not in text_of(sample_plan())


def test_the_same_in_spanish_is_the_same_bytes_and_says_its_language() -> None:
    pdf = sheet_of(route_sheet, replace(sample_plan(), say=SPANISH))
    assert pdf == route_sheet(replace(sample_plan(), say=SPANISH))
    root = PdfReader(BytesIO(pdf)).trailer["/Root"]
    assert root["/Lang"] == "es"  # type: ignore[index]


def test_names_with_braces_stay_as_they_are() -> None:
    name = "Barn {0} {name} {"
    said = Said("{name} begins", name=name)
    assert said == f"{name} begins"
    assert SPANISH.of(said) == f"empieza {name}"
    assert SPANISH.of(Said.joined([said, Said("hand dig ends ({of})", of=said)])) == (
        f"empieza {name}; termina a mano (empieza {name})"
    )
    assert SPANISH.of(name) == name


def test_dates_have_the_month_as_a_word() -> None:
    assert SPANISH.day(datetime(2026, 1, 31, 7, 30)) == "sáb 31 ene 2026 07:30"
    assert SPANISH.day(date(2026, 8, 3), year=False) == "lun 3 ago"


@pytest.mark.parametrize("paper", [LETTER, A4], ids=lambda paper: paper.name)
@pytest.mark.parametrize("language", LANGUAGES)
def test_the_telephone_number_is_never_cut(language: str, paper: Paper) -> None:
    plan = sample_plan()
    number = "1-800-555-0137"
    site = replace(plan.site, paper=replace(plan.site.paper, phone=number))
    pdf = sheet_of(route_sheet, replace(plan, site=site, say=Speech(language)), paper)
    assert number in pages(pdf)[0]


def test_only_the_route_sheet_is_translated(tmp_path: Path) -> None:
    write_documents(big_plan(), tmp_path, language="es")
    firsts = {
        name: PdfReader(tmp_path / name).pages[0].extract_text()
        for name in ("route-sheet.pdf", "tie-list.pdf")
    }
    assert firsts["route-sheet.pdf"].startswith("HOJA DE TRAZO")
    assert firsts["tie-list.pdf"].startswith("TIE LIST")
    assert "bend B1, 21 deg right" in (tmp_path / "stations.csv").read_text(encoding="utf-8")


def test_an_unknown_language_is_refused(tmp_path: Path) -> None:
    answer = CliRunner().invoke(main, ["plan", str(tmp_path), "--language", "fr"])
    assert answer.exit_code == 2
    assert "'en', 'es'" in answer.output
    assert not list(tmp_path.iterdir())


def test_the_way_in_is_the_stated_one_or_asked_about() -> None:
    plan = sample_plan()
    digging = replace(plan.site.digging, way_in="by the north gate")
    stated = replace(plan, site=replace(plan.site, digging=digging))
    assert "Machine way in and out: by the north gate." in text_of(stated)
    assert "Machine way in and out: by Gravel drive? Agree on it:" in text_of(plan)
    assert "¿por Gravel drive?" in text_of(replace(plan, say=SPANISH))
    bare = tuple(feature for feature in plan.site.features if feature.kind != "drive")
    assert "Machine way in and out: ____" in text_of(replace(plan, site=replace(plan.site, features=bare)))


@pytest.mark.parametrize("levelled", [True, False])
@pytest.mark.parametrize("paper", [LETTER, A4], ids=lambda paper: paper.name)
def test_nothing_runs_over_the_margin(paper: Paper, levelled: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    lines = watch(monkeypatch)
    route_sheet(replace(sample_plan(levelled=levelled), say=SPANISH), paper)
    for line in lines:
        if not line.turned:
            assert line.left >= MARGIN_PT - 1, line
            assert line.right <= line.paper[0] - MARGIN_PT + 1, line
