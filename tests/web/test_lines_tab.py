"""What a contractor must say is typed in the page, stands in ``site.toml``, and is what the site is read with."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from web_client import Client

from siteplan.read import read_site
from siteplan.rules import available_layers, load_stack, resolve
from siteplan.rules.choices import line_facts_asked, replaceable, site_facts_asked
from siteplan.site.catalogue import rates
from siteplan.web.site_forms import FORMS, forms

DRAINFIELD = "us-mt-well-drainfield"


class Words:
    """Reads and changes ``site.toml`` as the page does."""

    def __init__(self, client: Client) -> None:
        self.client = client
        self.now: dict[str, Any] = client.get("/api/words").json()

    def send(self, *edits: dict[str, Any]) -> tuple[int, dict[str, Any]]:
        body = {"revision": self.now["revision"], "edits": list(edits)}
        answer = self.client.put("/api/words", json=body)
        if answer.status_code == 200:
            self.now = answer.json()
        return answer.status_code, answer.json()

    def set(self, at: list[str | int], to: Any) -> tuple[int, dict[str, Any]]:
        return self.send({"do": "set", "at": at, "to": to})


@pytest.fixture
def words(client: Client) -> Words:
    return Words(client)


def toml(folder: Path) -> str:
    return (folder / "site.toml").read_text(encoding="utf-8")


def test_a_value_that_is_typed_is_read_and_the_comments_stay(words: Words, folder: Path) -> None:
    before = toml(folder)
    assert words.set(["digging", "bucket"], "18 in")[0] == 200
    assert read_site(folder).digging.bucket_m == pytest.approx(0.4572)  # 18 x 25.4 mm
    assert toml(folder) == before.replace('bucket = "24 in"', 'bucket = "18 in"')
    assert words.set(["digging", "entered"], True)[0] == 200
    assert words.set(["digging", "longest_bore"], "40 ft")[0] == 200
    assert words.set(["paper", "prepared"], "2026-12-01")[0] == 200
    assert words.set(["paper", "scales"], "1 in = 20 ft, 1 in = 30 ft")[0] == 200
    site = read_site(folder)
    assert (site.digging.entered, site.digging.longest_bore_m) == (True, pytest.approx(12.192))
    assert str(site.paper.prepared) == "2026-12-01"
    assert site.paper.scales == ("1 in = 20 ft", "1 in = 30 ft")
    rest = [row for row in before.splitlines() if not row.startswith(("bucket", "entered", "prepared"))]
    after = iter(toml(folder).splitlines())
    assert all(row in after for row in rest)


def test_an_emptied_value_goes_or_is_asked_for(words: Words, folder: Path) -> None:
    assert words.set(["digging", "machine_width"], "")[0] == 200
    assert read_site(folder).digging.machine_width_m == 0.0
    assert words.set(["paper", "owner"], "")[0] == 200
    assert 'owner = ""' in toml(folder)
    status, refused = words.set(["digging", "bucket"], "")
    assert (status, refused["at"][0]["at"]) == (422, ["digging", "bucket"])


@pytest.mark.parametrize(
    ("at", "typed", "expected"),
    [
        (["digging", "bucket"], "30", "a length with its unit"),
        (["digging", "steepest"], "400 %", "a slope of 1 % to 200 %"),
        (["digging", "soil"], "mud", "a soil of"),
        (["line", "pump-power", "volts"], "240", "V"),
        (["line", "water-house", "to"], "shed", "house"),
        (["line", "water-house", "product"], "pvc-1", "pe-1-ips"),
        (["rates", "tee"], ["300", "200", "100"], "in that order"),
        (["rates", "tee"], ["1", "two", "3"], "a number"),
        (["facts", "subdivision"], "perhaps", "true or false"),
        (["site", "rules"], "us/mt/helna", "us/mt/helena"),
        (["paper", "prepared"], "soon", "a date"),
    ],
)
def test_a_wrong_value_is_refused_at_its_field_and_the_file_stays(
    words: Words, folder: Path, at: list[str], typed: Any, expected: str
) -> None:
    before = toml(folder)
    status, refused = words.set([*at], typed)
    assert status == 422
    line, where = refused["faults"][0], refused["at"][0]["at"]
    assert expected in line
    assert "site.toml" in line or at == ["site", "rules"]
    assert (where[0], where[-1]) == (at[0], at[-1])
    assert toml(folder) == before


def test_a_change_of_another_window_is_not_written_over(words: Words, folder: Path) -> None:
    (folder / "site.toml").write_text(toml(folder).replace("24 in", "36 in", 1), encoding="utf-8")
    before = toml(folder)
    status, refused = words.set(["digging", "bedding"], "6 in")
    assert status == 409
    assert "changed by another" in refused["faults"][0]
    assert toml(folder) == before


@pytest.mark.parametrize(
    "edits",
    [
        None,
        [],
        "x",
        [{"do": "burn"}],
        [{"do": "set", "at": ["site"], "to": 1}],
        [{"do": "set", "at": ["site", "name"], "to": [[[1]]]}],
        [{"do": "set", "at": ["site", "name"], "to": None}],
    ],
)
def test_what_is_no_edit_is_refused(words: Words, folder: Path, edits: Any) -> None:
    before = toml(folder)
    answer = words.client.put("/api/words", json={"revision": words.now["revision"], "edits": edits})
    assert answer.status_code == 400
    assert toml(folder) == before


def test_a_text_that_is_taken_back_is_the_file_as_it_was(words: Words, folder: Path) -> None:
    before = words.now["text"]
    words.set(["digging", "bucket"], "18 in")
    body = {"revision": words.now["revision"], "text": before}
    assert words.client.put("/api/words", json=body).status_code == 200
    assert toml(folder) == before


def test_a_fault_that_was_there_before_keeps_no_change_out(folder: Path, client: Client) -> None:
    drawn = json.loads((folder / "site.geojson").read_text(encoding="utf-8"))
    drawn["features"] = [each for each in drawn["features"] if each["id"] != "barn"]
    (folder / "site.geojson").write_text(json.dumps(drawn), encoding="utf-8")
    words = Words(client)
    assert ["line", 2, "to"] in [fault["at"] for fault in words.now["faults"]]
    assert words.set(["digging", "bucket"], "18 in")[0] == 200
    assert words.set(["digging", "bucket"], "18")[0] == 422
    assert words.set(["line", "water-barn", "to"], "house")[0] == 200
    assert words.now["faults"] == []
    assert read_site(folder).line("water-barn").end == "house"


def test_lines_come_go_and_change_places(words: Words, folder: Path) -> None:
    values = {"id": "water-2", "carries": "water", "from": "cheapest", "to": "barn", "product": "pe-1-cts"}
    assert words.send({"do": "add", "table": "line", "values": values})[0] == 200
    assert read_site(folder).line("water-2").choices
    assert words.send({"do": "move", "at": ["line", "water-2"], "to": 0})[0] == 200
    assert [line.id for line in read_site(folder).lines][:2] == ["water-2", "water-house"]
    status, refused = words.send({"do": "remove", "at": ["line", "water-house"]})
    assert status == 422
    assert "water-house" in refused["faults"][0]
    assert words.send({"do": "remove", "at": ["line", "water-2"]})[0] == 200
    assert len(read_site(folder).lines) == 4


def test_an_overridden_number_is_judged_by_and_printed_with_its_reason(words: Words, folder: Path) -> None:
    values = {"row": DRAINFIELD, "distance": "80 ft", "reason": "tight lot; granted by the county"}
    status, refused = words.send({"do": "add", "table": "override", "values": {**values, "reason": ""}})
    assert (status, "reason" in refused["faults"][0]) == (422, True)
    assert words.send({"do": "add", "table": "override", "values": values})[0] == 200
    site = read_site(folder)
    needs = resolve(load_stack(site.rules), site)
    assert [(one.row, one.note) for one in needs.overridden] == [(DRAINFIELD, values["reason"])]
    assert "80 ft" in {str(one.least) for one in needs.setbacks if one.citation.row == DRAINFIELD}
    assert words.set(["override", 0, "distance"], "70")[0] == 422
    assert words.send({"do": "remove", "at": ["override", 0]})[0] == 200
    assert read_site(folder).overrides == ()


def test_a_fact_that_is_not_stated_is_asked_for_with_what_hangs_on_it(words: Words) -> None:
    assert words.send({"do": "remove", "at": ["facts", "subdivision"]})[0] == 200
    told = words.client.get("/api/rules").json()
    (fact,) = told["facts"]
    assert (fact["key"], fact["sort"]) == ("subdivision", "yes_no")
    assert any("ARM 17.36.323" in words for words in fact["asked_by"])
    assert (
        "Well to Absorption area: 100 ft if in a subdivision; otherwise this rule does not hold"
        in fact["difference"]
    )
    assert words.set(["facts", "subdivision"], True)[0] == 200
    assert words.client.get("/api/rules").json()["facts"][0]["difference"] == []


def test_a_hazard_that_was_looked_for_is_asked_no_more(words: Words, folder: Path) -> None:
    kinds = [one["kind"] for one in words.client.get("/api/rules").json()["unlooked"]]
    assert kinds == ["manure_storage", "pesticide_storage"]
    assert words.set(["looked", kinds[0]], "none, walked 300 ft round")[0] == 200
    assert read_site(folder).looked[kinds[0]] == "none, walked 300 ft round"
    assert [one["kind"] for one in words.client.get("/api/rules").json()["unlooked"]] == kinds[1:]


def test_frost_is_written_as_a_whole_and_taken_out_again(words: Words, folder: Path) -> None:
    before = toml(folder)
    frost = {
        "freezing_index": "2000 F-days",
        "mean_annual": "45.5 F",
        "season": "120 days",
        "soil": "silt-clay",
    }
    status, refused = words.send({"do": "add", "table": "frost", "values": frost})
    assert status == 422
    assert {tuple(one["at"]) for one in refused["at"]} == {("frost", "dry_density"), ("frost", "water")}
    frost |= {"dry_density": "100 pcf", "water": "15 %", "n": "0.7"}
    assert words.send({"do": "add", "table": "frost", "values": frost})[0] == 200
    read = read_site(folder).frost
    assert read is not None
    assert (read.n_factor, read.season_days) == (0.7, 120)
    assert words.send({"do": "remove", "at": ["frost"]})[0] == 200
    assert toml(folder) == before


def test_only_own_prices_are_written(words: Words, folder: Path) -> None:
    assert words.set(["rates", "tee"], ["60", "130.5", "250"])[0] == 200
    stated = read_site(folder).rates
    assert (stated.stated, stated["tee"].likely) == (("tee",), 130.5)
    assert words.set(["rates", "per"], "m")[0] == 200
    (trench,) = [row for row in words.now["prices"]["rows"] if row["id"] == "dig-machine"]
    assert trench["usual"] == [
        round(price / 0.3048, 2) for price in (5, 8, 12)
    ]  # per foot in layers/rates.toml
    assert trench["unit"] == "m"
    assert [row["id"] for row in words.now["prices"]["rows"]] == list(rates().rows)


def test_every_key_of_the_forms_has_words(client: Client) -> None:
    told = client.get("/api/words/forms").json()
    for table, fields in told["forms"].items():
        assert {field["key"] for field in fields} >= set(FORMS[table])
        assert all(field["label"] and field["sort"] for field in fields)
    assert {field["key"]: field["sort"] for field in forms()["digging"]}["entered"] == "yes_no"
    assert [layer["name"] for layer in told["layers"]] == [layer.name for layer in available_layers()]


def test_every_example_beside_a_field_is_taken(words: Words) -> None:
    tables = ("site", "digging", "bench_mark", "paper")
    examples = {
        (table, field["key"]): field["example"]
        for table in tables
        for field in forms()[table]
        if field["example"]
    }
    del examples["site", "rules"]
    assert len(examples) > 15
    status, told = words.send(*({"do": "set", "at": [*at], "to": text} for at, text in examples.items()))
    assert status == 200, told["faults"]
    for (table, key), text in examples.items():
        value = told["values"][table][key]
        assert (", ".join(value) if isinstance(value, list) else value) == text


def test_replaceable_rows_can_be_replaced_by_their_own_numbers(folder: Path) -> None:
    from siteplan.site.features import Source
    from siteplan.site.site import Override

    site = read_site(folder)
    stack = load_stack(site.rules)
    rows = [row for row in replaceable(stack) if all(row.numbers.values())]
    assert len(rows) > 40
    stated = [
        Override(
            row=row.citation.row,
            values={
                key: float(text) if text.replace(".", "").isdigit() else text
                for key, text in row.numbers.items()
            },
            reason="as it is",
            source=Source(file="site.toml", line=1),
        )
        for row in rows
    ]
    needs = resolve(stack, replace(site, overrides=tuple(stated)))
    assert {one.row for one in needs.overridden} == {row.citation.row for row in rows}


def test_facts_that_rows_ask_for() -> None:
    montana, illinois = load_stack("us/mt/helena"), load_stack("us/il")
    assert set(site_facts_asked(montana)) == {"subdivision"}
    assert set(site_facts_asked(illinois)) == {"soil_permeable", "community_supply"}
    assert set(line_facts_asked(montana, "electric")) == {"dwelling", "volts", "gfci", "amps"}
    assert line_facts_asked(montana, "communications") == ()
