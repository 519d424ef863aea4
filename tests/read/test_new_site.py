from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from siteplan.errors import InputFaults
from siteplan.read import read_site, site_schema, write_new_site

EXAMPLES = sorted((Path(__file__).parents[2] / "example_sites").glob("*/site.toml"))


def test_a_new_site_reads_and_has_something_to_plan(tmp_path: Path) -> None:
    write_new_site(tmp_path / "a" / "b", name='A "b" \\ <script>')
    site = read_site(tmp_path / "a" / "b")
    assert site.name == 'A "b" \\ <script>'
    assert [line.id for line in site.lines] == ["water", "pump-power"]
    assert {"parcel", "well", "building", "septic_tank", "absorption_area", "tree"} <= {
        each.kind for each in site.features
    }
    assert sorted(path.name for path in (tmp_path / "a" / "b").iterdir()) == ["site.geojson", "site.toml"]
    assert site.looked == {}, "nobody has looked yet"


def test_an_empty_folder_is_taken_and_a_full_one_refused_untouched(tmp_path: Path) -> None:
    write_new_site(tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    with pytest.raises(InputFaults, match="a folder with files") as caught:
        write_new_site(tmp_path, name="Other")
    assert len(caught.value.faults) == 1
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_nothing_is_left_half_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(InputFaults, match="No space left"):
        write_new_site(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_the_way_and_a_name_that_cannot_print(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(InputFaults, match="no folder to write to"):
        write_new_site(tmp_path / "file")
    with pytest.raises(InputFaults, match=r"U\+000A"):
        write_new_site(tmp_path / "new", name="a\nb")
    assert not (tmp_path / "new").exists()


def test_what_the_new_site_shows_in_comments_can_be_taken_in(tmp_path: Path) -> None:
    write_new_site(tmp_path)
    text = (tmp_path / "site.toml").read_text(encoding="utf-8")
    taken_in = re.sub(r"(?m)^# (?=\[\[?\w|\w+ = )", "", text)
    content = tomllib.loads(taken_in)
    assert {"override", "file", "looked"} <= content.keys()
    assert content["line"][0]["cover"] == "6 ft"
    assert content["digging"]["steepest"] == "40 %"
    assert content["rates"] == {"currency": "$", "per": "ft", "bore": [10, 25, 50], "tee": 120}
    (tmp_path / "site.toml").write_text(taken_in, encoding="utf-8")
    with pytest.raises(InputFaults) as caught:
        read_site(tmp_path)
    said = [fault.found for fault in caught.value.faults]
    assert len(said) == 4, said
    assert any("gate" in each for each in said), "the point to pass of the comment is not drawn"
    assert any("points.csv" in each for each in said), "the file of the comment is not there"
    assert any("plat.png" in each for each in said), "the picture of the comment is not there"
    assert any("override of nothing" in each for each in said), (
        "which numbers are replaced is the reader's to say"
    )


def test_the_schema_takes_the_examples_and_refuses_a_slip(tmp_path: Path) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    schema = site_schema()
    validator = jsonschema.Draft202012Validator(schema)
    validator.check_schema(schema)
    write_new_site(tmp_path)
    assert EXAMPLES
    for path in (*EXAMPLES, tmp_path / "site.toml"):
        content = tomllib.loads(path.read_text(encoding="utf-8"))
        content.get("paper", {}).pop("prepared", None)  # a TOML date is no JSON
        assert list(validator.iter_errors(content)) == [], path
        content["digging"]["soil"] = "snad"
        assert len(list(validator.iter_errors(content))) == 1


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.parent.name)
def test_the_examples_read(path: Path) -> None:
    assert read_site(path.parent).features
