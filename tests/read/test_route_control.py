"""What the contractor decides of a route: points to pass, drawn trenches, closed walls, a start to be chosen."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from small_site import HOUSE, SITE_TOML, WELL, collection, faults, feature, good, only_fault, write

from siteplan.read import read_site
from siteplan.site.features import Line

GATE, BEND = [-111.9996, 46.0007], [-111.9995, 46.0005]
BARN = [
    [-111.9996, 46.0001],
    [-111.9995, 46.0001],
    [-111.9995, 46.0002],
    [-111.9996, 46.0002],
    [-111.9996, 46.0001],
]
OLD = [[-111.9999, 46.0001], [-111.9999, 46.0009]]
FT_NORTH = 0.3048 / 111_132.0
"""Degrees of latitude in a foot: 111.132 km to a degree at 45 degrees."""


def ground(*more: dict[str, Any]) -> str:
    """The small site with two points to pass, a drawn route, a barn, a hydrant and lines in the ground."""
    return collection(
        [
            *good(),
            feature("gate", "pass_point", "Point", GATE),
            feature("bend", "pass_point", "Point", BEND),
            feature("ditch", "drawn_route", "LineString", [WELL, GATE, BEND, HOUSE[4]]),
            feature("barn", "building", "Polygon", [BARN]),
            feature("tap", "hydrant", "Point", [-111.9997, 46.0002]),
            feature("old-main", "buried_line", "LineString", OLD, carries="water"),
            feature("gas-1", "buried_line", "LineString", OLD, carries="propane"),
            feature("unmarked", "buried_line", "LineString", OLD),
            feature("dead", "buried_line", "LineString", OLD, carries="water", status="abandoned"),
            *more,
        ]
    )


def line(own: str, start: str, end: str, *keys: str, carries: str = "water") -> str:
    product = "pe-1-ips" if carries == "water" else "pvc-1"
    head = f'[[line]]\nid = "{own}"\ncarries = "{carries}"\nfrom = "{start}"\nto = "{end}"\nproduct = "{product}"\n'
    return head + "".join(f"{key}\n" for key in keys)


def with_lines(folder: Path, *lines: str, more: tuple[dict[str, Any], ...] = ()) -> Path:
    text = SITE_TOML.partition("[[line]]")[0] + "".join(lines)
    return write(folder, site__toml=text, site__geojson=ground(*more))


def read(folder: Path, *lines: str) -> list[Line]:
    return list(read_site(with_lines(folder, *lines)).lines)


def test_a_line_with_none_of_it_is_routed_freely(tmp_path: Path) -> None:
    [made] = read(tmp_path, line("water", "well", "house"))
    assert (made.through, made.drawn, made.closed_sides, made.choices) == ((), None, (), ())


def test_points_to_pass_in_their_order_and_closed_sides(tmp_path: Path) -> None:
    keys = ('through = ["bend", "gate"]', 'closed_sides = ["west", "north", "west"]')
    [made] = read(tmp_path, line("water", "well", "house", *keys))
    assert (made.through, made.closed_sides) == (("bend", "gate"), ("west", "north"))


def test_a_drawn_route_begins_and_ends_within_three_feet(tmp_path: Path) -> None:
    [made] = read(tmp_path, line("water", "well", "house", 'drawn = "ditch"'))
    assert made.drawn == "ditch"
    for feet, fits in ((2.9, True), (3.1, False)):
        begin = [WELL[0], WELL[1] + feet * FT_NORTH]
        near = feature("near", "drawn_route", "LineString", [begin, HOUSE[0]])
        folder = with_lines(tmp_path, line("water", "well", "house", 'drawn = "near"'), more=(near,))
        assert (faults(folder) == []) is fits


def test_a_drawn_route_of_a_tee_is_held_against_its_end_alone(tmp_path: Path) -> None:
    spur = feature("spur", "drawn_route", "LineString", [GATE, BARN[0]])
    tees = line("water", "well", "house"), line("barn-water", "water", "barn", 'drawn = "spur"')
    assert faults(with_lines(tmp_path, *tees, more=(spur,))) == []
    short = feature("spur", "drawn_route", "LineString", [GATE, BEND])
    only_fault(
        with_lines(tmp_path, *tees, more=(short,)),
        "site.toml:25: [[line]] barn-water, drawn:",
        '"spur", which ends',
        "m from barn",
    )


def test_a_line_in_the_ground_is_tapped(tmp_path: Path) -> None:
    made = read(tmp_path, line("barn-water", "old-main", "barn"))
    assert made[0].start == "old-main"
    assert read_site(tmp_path).well.id == "well", "the well is there, though no line starts from it"


BACKWARDS = feature("back", "drawn_route", "LineString", [HOUSE[0], WELL])
AWAY = feature("away", "drawn_route", "LineString", [GATE, HOUSE[0]])
SPLIT = feature("split", "drawn_route", "MultiLineString", [[WELL, GATE], [BEND, HOUSE[0]]])
AREA = feature("patch", "drawn_route", "Polygon", [BARN])

BAD = {
    "point that is not there": (
        ['through = ["gat"]'],
        ["site.toml:19: [[line]] water, through:", '"gat", which is not there', 'did you mean "gate"?'],
    ),
    "point of another kind": (
        ['through = ["gate", "tap"]'],
        ["site.toml:19:", '"tap", which is a hydrant', "pass_point"],
    ),
    "point of a route": (['through = ["ditch"]'], ["site.toml:19:", "a drawn_route", "pass_point"]),
    "one point without brackets": (['through = "gate"'], ["site.toml:19:", '"gate"', '["gate"]']),
    "point as a number": (["through = [1]"], ["site.toml:19:", "found 1", '["gate"]']),
    "point twice": (['through = ["gate", "bend", "gate"]'], ["site.toml:19:", "a point twice"]),
    "route that is not there": (
        ['drawn = "dich"'],
        ["site.toml:19: [[line]] water, drawn:", '"dich", which is not there', 'did you mean "ditch"?'],
    ),
    "route that is an area": (['drawn = "barn"'], ["site.toml:19:", "which is a building", "drawn_route"]),
    "route that is a point": (['drawn = "gate"'], ["site.toml:19:", "which is a pass_point", "drawn_route"]),
    "route drawn backwards": (
        ['drawn = "back"'],
        [
            "site.toml:19:",
            '"back", which runs from house to well',
            "from well to house",
            "the other way round",
        ],
    ),
    "route from elsewhere": (  # 0.0002 deg of 77.47 km east and 0.0001 deg of 111.15 km south: 19.07 m
        ['drawn = "away"'],
        ["site.toml:19:", '"away", which begins 19.1 m from well', "within 3 ft", "draw it on to there"],
    ),
    "route in parts": (['drawn = "split"'], ["site.toml:19:", "in several parts", "one unbroken line"]),
    "route and points": (
        ['drawn = "ditch"', 'through = ["gate"]'],
        ["site.toml:20: [[line]] water, through:", "through beside drawn", "one of them"],
    ),
    "route and closed sides": (
        ['drawn = "ditch"', 'closed_sides = ["north"]'],
        ["site.toml:20:", "closed_sides beside drawn"],
    ),
    "side that is none": (
        ['closed_sides = ["north", "soth"]'],
        ["site.toml:19: [[line]] water, closed_sides:", '"soth"', 'did you mean "south"?'],
    ),
    "side without brackets": (['closed_sides = "north"'], ["site.toml:19:", '"north"', '["north"]']),
    "no side left": (
        ['closed_sides = ["north", "south", "east", "west"]'],
        ["site.toml:19:", "all four sides"],
    ),
    "misspelt key": (['throug = "gate"'], ["site.toml:19:", 'the unknown key "throug"', "through"]),
}


@pytest.mark.parametrize("case", BAD)
def test_a_slip_is_said_with_its_line(tmp_path: Path, case: str) -> None:
    keys, parts = BAD[case]
    folder = with_lines(tmp_path, line("water", "well", "house", *keys), more=(BACKWARDS, AWAY, SPLIT))
    only_fault(folder, *parts)


def test_a_route_drawn_as_an_area_is_a_fault_of_the_drawing_alone(tmp_path: Path) -> None:
    folder = with_lines(tmp_path, line("water", "well", "house", 'drawn = "patch"'), more=(AREA,))
    only_fault(folder, "site.geojson:", "a drawn route drawn as an area", "a line")


def test_closed_sides_of_a_line_that_ends_at_no_building(tmp_path: Path) -> None:
    folder = with_lines(tmp_path, line("water", "well", "tap", 'closed_sides = ["north"]'))
    only_fault(folder, "site.toml:19:", '"tap", which is a hydrant', "ends at a building")


@pytest.mark.parametrize(
    ("start", "says"),
    [("gas-1", "carries gas"), ("unmarked", "does not say what it carries"), ("dead", "is abandoned")],
)
def test_a_line_in_the_ground_that_cannot_be_tapped(tmp_path: Path, start: str, says: str) -> None:
    folder = with_lines(tmp_path, line("water", "well", "house"), line("b", start, "barn"))
    only_fault(folder, "site.toml:22: [[line]] b, from:", says, "a line in use that carries water")


# --- the cheapest start


def chosen(folder: Path, *lines: str) -> dict[str, tuple[str, ...]]:
    made = read(folder, *lines)
    assert all(each.start == each.choices[0] for each in made if each.choices)
    return {each.id: each.choices for each in made}


def test_choices_in_their_order(tmp_path: Path) -> None:
    found = chosen(
        tmp_path,
        line("water", "well", "house"),
        line("power", "well", "house", carries="electric"),
        line("yard", "water", "tap"),
        line("barn-water", "cheapest", "barn"),
    )
    assert found == {
        "water": (),
        "power": (),
        "yard": (),
        "barn-water": ("well", "water", "yard", "house", "old-main"),
    }


def test_power_does_not_choose_what_carries_water(tmp_path: Path) -> None:
    found = chosen(
        tmp_path, line("water", "well", "house"), line("p", "cheapest", "barn", carries="electric")
    )
    assert found["p"] == ("well",)


def test_a_line_does_not_choose_what_hangs_on_it(tmp_path: Path) -> None:
    found = chosen(
        tmp_path,
        line("main", "well", "house"),
        line("barn-water", "cheapest", "barn"),
        line("yard", "barn-water", "tap"),
        line("second", "barn", "house"),
    )
    assert found["barn-water"] == ("well", "main", "old-main"), (
        "neither what tees off it, nor the house, which what begins at the barn ends at as well"
    )


def test_of_two_that_choose_the_later_may_hang_on_the_earlier(tmp_path: Path) -> None:
    found = chosen(tmp_path, line("a", "cheapest", "house"), line("b", "cheapest", "barn"))
    assert found == {"a": ("well", "old-main"), "b": ("well", "a", "house", "old-main")}


def test_no_choice_of_any_line_makes_a_ring(tmp_path: Path) -> None:
    ends = ("house", "barn", "tap")
    made = read(
        tmp_path,
        *(line(f"l{number}", "cheapest", ends[number % 3]) for number in range(5)),
        line("fixed", "l3", "house"),
        line("from-barn", "barn", "house"),
    )
    hangs = {
        each.id: {other.id for other in made if {other.id, other.end} & set(each.choices or (each.start,))}
        for each in made
    }
    done: set[str] = set()
    while ready := {own for own, on in hangs.items() if own not in done and on <= done}:
        done |= ready
    assert done == set(hangs), "every line hangs on lines that hang on none of what hangs on it"


def test_a_drawn_route_leaves_no_start_to_choose(tmp_path: Path) -> None:
    folder = with_lines(tmp_path, line("water", "cheapest", "house", 'drawn = "ditch"'))
    only_fault(folder, "site.toml:16: [[line]] water, from:", '"cheapest" beside drawn')


def test_a_cheapest_start_with_nothing_to_choose_from(tmp_path: Path) -> None:
    text = SITE_TOML.partition("[[line]]")[0] + line("p", "cheapest", "well", carries="electric")
    only_fault(
        write(tmp_path, site__toml=text),
        "site.toml:16: [[line]] p, from:",
        '"cheapest" with nothing to choose from',
        "a line that carries electric",
    )


def bored_under(folder: Path, stated: str) -> Path:
    oak = feature("oak", "tree", "Point", GATE, trunk_diameter="18 in")
    text = SITE_TOML.replace("[digging]\n", f"[digging]\n{stated}\n")
    return write(folder, site__toml=text, site__geojson=ground(oak))


def test_what_is_never_opened_is_named(tmp_path: Path) -> None:
    assert read_site(bored_under(tmp_path, 'bored_under = ["oak"]')).digging.bored_under == ("oak",)


@pytest.mark.parametrize(
    ("stated", "words"),
    [
        ('bored_under = ["house"]', ["[digging] bored_under", "a building", "tree"]),
        ('bored_under = ["aok"]', ["[digging] bored_under", '"aok"', "oak"]),
        ('bore = false\nbored_under = ["oak"]', ["[digging] bored_under", "bore = false"]),
    ],
)
def test_what_cannot_be_bored_under_is_told(tmp_path: Path, stated: str, words: list[str]) -> None:
    fault = only_fault(bored_under(tmp_path, stated))
    assert fault.startswith("site.toml:")
    assert all(word in fault for word in words), fault
