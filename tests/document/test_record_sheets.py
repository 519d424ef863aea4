"""The tie sheet and the owner's page: each place as built, taped from coordinates; what is only planned says so."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO
from math import hypot
from pathlib import Path

import pytest
from pypdf import PdfReader

from siteplan.document.owner_page import owner_page
from siteplan.document.pdf import shorten_within, text_width
from siteplan.document.record_files import SHEETS, write_record
from siteplan.document.record_model import Record
from siteplan.document.sheet import A4, LETTER, TABLOID, Paper
from siteplan.document.tie_sheet import tie_sheet
from siteplan.measure.built_places import built_places
from tests.document.printed import pages
from tests.document.set_lines import watch
from tests.record_scene import record

CORNERS_FT = {
    "Well casing": (0, 0),
    **{f"House {name}": at for name, at in {"SW": (200, 40), "SE": (240, 40), "NW": (200, 60)}.items()},
    **{f"Barn {name}": at for name, at in {"NW": (40, -80), "NE": (90, -80)}.items()},
    **{
        f"Shed {name}": at
        for name, at in {"SW": (60, 60), "SE": (70, 60), "NE": (70, 70), "NW": (60, 70)}.items()
    },
}
ROWS = "".join(
    f"{row}\n"
    for row in (
        # laid 2 ft north, at (150, 2): sqrt(150^2 + 2^2) = 150.01 from the casing, sqrt(50^2 + 38^2) = 62.80 from House SW
        "water,bend B1,,,,Well casing,150.01 ft,House SW,62.80 ft,,,,55 in,2026-11-30,10:00,J. Reyes,T-4471,,p1.jpg",
        "water,curb stop,Main,1+00,1 ft left,,,,,,,,54 in,2026-11-30,10:10,J. Reyes,T-4471,PE 4710,",
        "water,,Main,0+30,,,,,,,,,57 in,2026-11-30,10:20,J. Reyes,T-4471,,",
        "power,end,Main,2+20.7,0 ft left,,,,,,,,25 in,2026-12-01,09:00,M. Stone,T-4502,,",
    )
)


@pytest.fixture
def built(tmp_path: Path) -> Record:
    return record(tmp_path, ROWS)


def rows(text: str) -> dict[int, str]:
    """Rows of the table by their number."""
    parts = re.split(r" (?=\d+ (?:Main|A) \d\+\d\d\.\d )", text)[1:]
    return {int(part.split()[0]): part for part in parts}


def test_what_was_measured_and_what_was_not(built: Record) -> None:
    text = " ".join(pages(tie_sheet(built)))
    table = rows(text)
    bend = next(row for row in table.values() if "bend B1" in row)
    for words in (
        "Well casing 150.01 ft House SW 62.80 ft",  # as the crew wrote it
        "Well casing 150.0",  # from where it is
        "House SW 62.8",
        "2.0 ft north",
        "55 in against 54 in: holds",
        "measured, taped",
        "2026-11-30",
        "p1.jpg",
    ):
        assert words in bend
    stop = next(row for row in table.values() if "curb stop" in row)
    assert "station 1+00, offset 1 ft left" in stop
    assert "1.0 ft left" in stop
    assert "CONFIRMED: PE 4710" in stop
    only_cover = next(row for row in table.values() if "Main 0+30.0" in row)
    assert "PLANNED, cover measured" in only_cover
    assert "place not measured" in only_cover
    left = [row for row in table.values() if re.search(r"PLANNED(?!, cover)", row)]
    for place in ("Main 0+00.0 casing", "tee, branch A", "crossing 1, Gas", "Barn wall"):
        assert sum(place in row for row in left) == 1, place
    assert not any("bend B1" in row or "House wall" in row for row in left)
    assert f"3 of {len(table)} places were measured" in text
    assert "water line: place measured in part, cover measured" in text
    assert "barn line: place planned, cover planned" in text
    assert list(table) == list(range(1, len(table) + 1))


def test_every_tie_is_true_to_the_coordinates(built: Record) -> None:
    plan = built.plan
    places = built_places(plan.site, plan.layout, plan.works, built.built)
    table = rows(" ".join(pages(tie_sheet(built))))
    assert len(places) == len(table)
    for place in places:
        for tie in place.ties:
            x, y = CORNERS_FT[tie.name]
            away_ft = hypot(place.x / 0.3048 - x, place.y / 0.3048 - y)
            assert f"{tie.name} {away_ft:.1f}" in table[place.number]
    assert sum(len(place.ties) for place in places) >= 2 * (len(places) - 1)


def test_the_owner_finds_what_is_to_be_reached(built: Record) -> None:
    (text,) = pages(owner_page(built))
    for words in (
        "curb stop (water line)",
        "House wall (power line)",
        "tee, branch A",
        "Barn wall",
        "casing",
    ):
        assert words in text
    assert "crossing" not in text
    stop = (100, 1)
    ties = re.search(
        r"curb stop \(water line\) C\d+ (.+?) (\d[\d.]*), C\d+ (.+?) (\d[\d.]*) 54 in measured", text
    )
    assert ties is not None
    for name, printed in ((ties[1], ties[2]), (ties[3], ties[4])):
        x, y = CORNERS_FT[name]
        assert float(printed) == pytest.approx(hypot(stop[0] - x, stop[1] - y), abs=0.1)
    assert "PLANNED" in text
    for words in (
        "BEFORE ANYBODY DIGS",
        "No deep digging",
        "No trees",
        "No driving, parking or heavy loads on Tank",
        "Keep the well casing above grade",
        "licensed electrician",
        "have the water tested before anyone drinks it",
        "this is not a permit",
        "2026-11-30, 2026-12-01 by J. Reyes, M. Stone; locate tickets T-4471, T-4502",
        "the others are only planned",
        "confirmed in the trench: PE 4710",
        "cover taped 54 in to 57 in",
    ):
        assert words in text, words
    assert "No shutoff" not in text


def test_the_owner_is_told_that_no_shutoff_is_in_the_record(tmp_path: Path) -> None:
    plain = record(tmp_path, ROWS.replace("curb stop", "splice"))
    (text,) = pages(owner_page(plain))
    assert "No shutoff or curb stop is in this record" in text
    assert "splice (water line)" in text


def test_what_no_longer_holds_is_counted_and_not_listed(tmp_path: Path) -> None:
    again = "water,bend B1,,,,Well casing,151.20 ft,House SW,62.80 ft,,,,55 in,2026-12-02,10:00,J. Reyes,T-4471,,\n"
    text = " ".join(pages(tie_sheet(record(tmp_path, ROWS + again))))
    assert "no longer hold are in asbuilt.geojson only: 1." in text
    assert "151.20 ft" in text
    assert "150.01 ft" not in text
    assert "Look again: water: bend B1 was measured twice" in text


@pytest.mark.parametrize("sheet", [tie_sheet, owner_page])
@pytest.mark.parametrize("paper", [LETTER, A4, TABLOID])
def test_nothing_is_clipped_whatever_the_names(
    sheet: object, paper: Paper, built: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert callable(sheet)
    lines = watch(monkeypatch)
    for name in ("", "Upper " + "Long" * 20 + " Hollow", "<b>&</b> 漢 %n\\(\\) ) Tj ET"):
        plan = built.plan
        site = replace(
            plan.site,
            name=name,
            features=tuple(replace(each, name=name) for each in plan.site.features),
            lines=tuple(replace(each, name=name) for each in plan.site.lines),
            paper=replace(plan.site.paper, contractor=name, address=name, permit=name),
        )
        made = sheet(replace(built, plan=replace(plan, site=site)), paper)
        assert pages(made)
    longest = max(paper.width_pt, paper.height_pt)
    assert lines
    for line in lines:
        assert 20 <= line.left <= line.right <= longest - 20, line
        assert line.y >= 20, line
        assert line.size >= 9, line


@pytest.mark.parametrize("sheet", [tie_sheet, owner_page])
def test_never_the_words_that_nobody_can_vouch_for(sheet: object, built: Record) -> None:
    assert callable(sheet)
    text = " ".join(pages(sheet(built, LETTER))).casefold()
    assert re.search(r"\bsafe|complian|guarantee", text) is None


def test_record_writes_them_and_the_same_bytes_again(built: Record, tmp_path: Path) -> None:
    write_record(built, tmp_path / "one", A4)
    write_record(built, tmp_path / "two", A4)
    for name in SHEETS:
        first = (tmp_path / "one" / name).read_bytes()
        assert first == (tmp_path / "two" / name).read_bytes()
        page = PdfReader(BytesIO(first)).pages[0]
        assert float(page.mediabox.width) == pytest.approx(A4.width_pt, abs=0.01)
    assert set(SHEETS) == {"tie-sheet.pdf", "owner-page.pdf"}


def test_long_names_keep_what_tells_them_apart() -> None:
    names = [f"Upper Longmeadow guest house and workshop {side}" for side in ("NW", "SW 2")]
    for name in names:
        short = shorten_within(name, 150, 9, bold=True)
        assert text_width(short, 9, bold=True) <= 150
        assert short.startswith("Upper L")
        assert short.endswith(name[-4:])
        assert "…" in short
    assert shorten_within("House NW", 150, 9) == "House NW"
