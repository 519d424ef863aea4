from __future__ import annotations

from pathlib import Path

import pytest
from small_site import SITE_TOML, changed, collection, faults, feature, good, only_fault, write

from siteplan.read import read_site


def toml(old: str, new: str) -> str:
    return changed(SITE_TOML, old, new)


BAD = {
    "bare number in quotes": (
        toml('"24 in"', '"36"'),
        [
            "site.toml:8: [digging] bucket:",
            '"36", which has no unit',
            "expected a length with its unit",
        ],
    ),
    "bare number": (toml('"24 in"', "36"), ["site.toml:8: [digging] bucket:", "found 36, which has no unit"]),
    "negative length": (toml('"4 in"', '"-4 in"'), ["site.toml:9:", "negative"]),
    "no TOML": (toml('units = "ft"', "units = ft"), ["site.toml:4:", "expected TOML"]),
    "unknown key": (
        toml("bucket", "bucket_width = '2 ft'\nbucket"),
        ["site.toml:8:", 'unknown key "bucket_width"', 'did you mean "bucket"?'],
    ),
    "unknown table": (SITE_TOML + "\n[papers]\n", ["site.toml:20:", '"papers"', 'did you mean "paper"?']),
    "missing key": (toml('soil = "sand"\n', ""), ["site.toml:7: [digging]:", "no soil", "add soil"]),
    "unknown soil": (
        toml('"sand"', '"snad"'),
        ["site.toml:11: [digging] soil:", '"snad"', 'did you mean "sand"?'],
    ),
    "text for yes or no": (toml("false", '"no"'), ["site.toml:10: [digging] entered:", '"no"', "true"]),
    "unknown units": (
        toml('units = "ft"', 'units = "feet"'),
        ["site.toml:4: [site] units:", '"feet"', "'ft-in'"],
    ),
    "rules that climb out": (toml("us/mt", "../../etc"), ["site.toml:3: [site] rules:", "../../etc"]),
    "empty name": (toml('"Test site"', '" "'), ["site.toml:2:", "an empty text"]),
    "long name": (toml("Test site", "x" * 201), ["site.toml:2:", "201 characters", "at most 200"]),
    "control character": (toml("Test site", "a\\u0007b"), ["site.toml:2:", "U+0007"]),
    "hidden direction mark": (toml("Test site", "a\\u202Eb"), ["site.toml:2:", "U+202E"]),
    "not a table": (
        'site = "x"\n' + changed(SITE_TOML, "[site]", "[[override]]\nrow = 'a'\nreason = 'b'\n"),
        ["site.toml:1:", "expected a table [site]"],
    ),
    "one bracket": (toml("[[line]]", "[line]"), ["site.toml:13:", "[[line]] with two brackets"]),
    "no lines": (SITE_TOML.partition("[[line]]")[0], ["site.toml:", "no [line]"]),
    "unknown product": (
        toml("pe-1-ips", "pe-1-isp"),
        ["site.toml:18: [[line]] water, product:", 'did you mean "pe-1-ips"?'],
    ),
    "product of another trade": (
        toml("pe-1-ips", "pvc-1"),
        ["site.toml:18:", "does not carry water", "pe-1-cts"],
    ),
    "misspelt key of a line": (
        SITE_TOML + 'volt = "240 V"\n',
        ["site.toml:19: [[line]] water, volt:", "volts"],
    ),
    "volts without unit": (SITE_TOML + "volts = 240\n", ["site.toml:19:", "240, which has no unit"]),
    "list as a fact": (SITE_TOML + "zone = [1]\n", ["site.toml:19:", "[1]"]),
    "method of a water line": (
        SITE_TOML + 'method = "direct_burial"\n',
        ["site.toml:19:", "no method, as it carries water"],
    ),
    "looked for what is no kind": (
        SITE_TOML + "[looked]\ncespool = 'none'\n",
        ["site.toml:20: [looked] cespool:", 'did you mean "cesspool"?'],
    ),
    "looked without words": (SITE_TOML + "[looked]\ncesspool = ''\n", ["site.toml:20:", "an empty text"]),
    "looked for and drawn": (
        SITE_TOML + "[looked]\nbuilding = 'none'\n",
        ["site.toml:20: [looked] building:", "while house is drawn"],
    ),
    "override without a reason": (
        SITE_TOML + '[[override]]\nrow = "r"\nreason = ""\nleast = "9 ft"\n',
        ["site.toml:21: [[override]] r, reason:", "an empty text"],
    ),
    "override of nothing": (
        SITE_TOML + '[[override]]\nrow = "r"\nreason = "why"\n',
        ["site.toml:19: [[override]] r:", "an override of nothing"],
    ),
    "file that is not there": (
        SITE_TOML + '[[file]]\npath = "site.gojson"\n',
        ["site.toml:20: [[file]] site.gojson, path:", 'did you mean "site.geojson"?'],
    ),
    "laying without an error": (
        toml("entered", 'laying = "stated"\nentered'),
        ["site.toml:7: [digging]:", "laying_error"],
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_site_toml_is_one_line_that_says_where_and_what(tmp_path: Path, case: str) -> None:
    text, parts = BAD[case]
    only_fault(write(tmp_path, site__toml=text), *parts)


def test_a_bad_unit_of_the_site_does_not_hide_what_the_lines_have(tmp_path: Path) -> None:
    text = toml('units = "ft"', 'units = "feet"').replace('"pe-1-ips"', '"pe"').replace('"sand"', '"snd"')
    assert [line.split(":")[1] for line in faults(write(tmp_path, site__toml=text))] == ["4", "11", "18"]


def test_a_grid_with_an_origin_wants_north(tmp_path: Path) -> None:
    text = SITE_TOML + '[grid]\nunit = "ft"\norigin = [-112.0, 46.0]\n'
    only_fault(write(tmp_path, site__toml=text), "site.toml:19: [grid]:", "an origin without north")


def test_a_grid_whose_origin_is_swapped(tmp_path: Path) -> None:
    text = SITE_TOML + '[grid]\nunit = "ft"\norigin = [46.0, -112.0]\nnorth = "0 deg"\n'
    only_fault(write(tmp_path, site__toml=text), "site.toml:21: [grid] origin:", "latitude -112", "swapped")


def test_what_the_tables_become(tmp_path: Path) -> None:
    text = SITE_TOML.replace(
        "to =", 'cover = "5 ft"\nname = "Main"\nvolts = "240 V"\nzone = "3 ft"\nnote = "x"\nto ='
    ) + (
        '[paper]\nowner = "A\\n  B"\nprepared = 2026-11-25\n'
        '[facts]\nsubdivision = true\nslope = "3 ft"\ncounty = "3rd"\n'
        '[looked]\ncesspool = "none"\n[[override]]\nrow = "r1"\nleast = "9 ft"\nreason = "as agreed"\n'
    )
    site = read_site(write(tmp_path, site__toml=text))
    [line] = site.lines
    assert (line.name, line.start, line.end, line.cover_m, line.source.line) == (
        "Main",
        "well",
        "house",
        1.524,
        13,
    )
    assert line.facts == {"volts": 240.0, "zone": pytest.approx(0.9144), "note": "x"}
    assert site.facts == {"subdivision": True, "slope": pytest.approx(0.9144), "county": "3rd"}
    assert site.paper.owner == "A B"
    assert str(site.paper.prepared) == "2026-11-25"
    assert site.looked == {"cesspool": "none"}
    [override] = site.overrides
    assert (override.row, override.values, override.reason) == ("r1", {"least": "9 ft"}, "as agreed")
    assert site.elevation_m == pytest.approx(1219.2)  # 4000 ft of 0.3048 m
    assert (site.digging.laying.method, site.digging.bucket_m) == ("staked", pytest.approx(0.6096))


def test_script_in_a_name_is_text(tmp_path: Path) -> None:
    text = toml("Test site", "<script>alert(1)</script>")
    assert read_site(write(tmp_path, site__toml=text)).name == "<script>alert(1)</script>"


LINE = (
    '\n[[line]]\nid = "{id}"\ncarries = "{carries}"\nfrom = "{start}"\nto = "{end}"\nproduct = "{product}"\n'
)


def another(own: str, start: str, end: str, carries: str = "water", product: str = "pe-1-ips") -> str:
    return LINE.format(id=own, start=start, end=end, carries=carries, product=product)


BAD_LINES = {
    "end that is not there": (
        toml('to = "house"', 'to = "hose"'),
        ["site.toml:17: [[line]] water, to:", '"hose", which is not there', 'did you mean "house"?'],
    ),
    "start that is not there": (
        toml('from = "well"', 'from = "wel"'),
        ["site.toml:16:", '"wel"', 'did you mean "well"?'],
    ),
    "end at the land": (
        toml('to = "house"', 'to = "parcel"'),
        ["site.toml:17:", "which is a parcel", "building"],
    ),
    "start where it ends": (toml('to = "house"', 'to = "well"'), ["site.toml:17:", "where the line starts"]),
    "second line of one id": (
        SITE_TOML + another("water", "well", "house"),
        ["site.toml:21: [[line]] water, id:", "a second time", "site.toml:13"],
    ),
    "id of a feature": (
        SITE_TOML + another("house", "well", "house"),
        ["site.toml:21:", '"house" a second time', "site.geojson:4"],
    ),
    "tee off another trade": (
        SITE_TOML + another("power", "water", "house", "electric", "pvc-1"),
        ["site.toml:23:", "which carries water", "carries electric"],
    ),
    "tee off a line that is not there": (
        SITE_TOML + another("barn", "watr", "house"),
        ["site.toml:23:", '"watr"', 'did you mean "water"?'],
    ),
}


@pytest.mark.parametrize("case", BAD_LINES)
def test_bad_lines(tmp_path: Path, case: str) -> None:
    text, parts = BAD_LINES[case]
    only_fault(write(tmp_path, site__toml=text), *parts)


def test_lines_that_tee_off_each_other_in_a_ring(tmp_path: Path) -> None:
    text = SITE_TOML + another("a", "b", "house") + another("b", "c", "house") + another("c", "b", "house")
    found = faults(write(tmp_path, site__toml=text))
    assert [line.split(":")[1] for line in found] == ["30", "37"]
    assert "a ring of lines (b from c from b)" in found[0]


def test_two_wells_when_one_is_meant(tmp_path: Path) -> None:
    wells = [feature(f"well-{n}", "well", "Point", [-111.9998, 46.0006 + n / 10000]) for n in (1, 2)]
    ground = collection([good()[0], good()[2], *wells])
    only_fault(
        write(tmp_path, site__geojson=ground),
        "site.toml:16:",
        '"well", of which there are 2',
        "well-1, well-2",
    )


def test_one_well_of_another_id_is_found_by_its_kind_or_name(tmp_path: Path) -> None:
    ground = collection(
        [good()[0], good()[2], feature("W-7", "well", "Point", [-111.9998, 46.0008], name="Old well")]
    )
    site = read_site(write(tmp_path, site__geojson=ground))
    assert (site.lines[0].start, site.well.id) == ("W-7", "W-7")
    text = toml('from = "well"', 'from = "Old well"')
    assert read_site(write(tmp_path, site__geojson=ground, site__toml=text)).well.id == "W-7"


def test_lines_from_two_wells(tmp_path: Path) -> None:
    ground = collection([*good(), feature("well-2", "well", "Point", [-111.9997, 46.0007])])
    text = SITE_TOML + another("b", "well-2", "house")
    only_fault(
        write(tmp_path, site__geojson=ground, site__toml=text),
        "site.toml:20:",
        "lines from 2 wells",
        "well, well-2",
    )


def test_no_line_starts_from_the_well(tmp_path: Path) -> None:
    ground = collection([*good(), feature("tap", "hydrant", "Point", [-111.9997, 46.0007])])
    text = toml('from = "well"', 'from = "tap"')
    only_fault(
        write(tmp_path, site__geojson=ground, site__toml=text),
        "site.toml:13:",
        "no line that starts from a well",
    )
