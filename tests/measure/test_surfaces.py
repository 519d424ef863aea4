"""Which ground the trench crosses: the later in the files on top, but nothing soft on top of what is harder."""

from __future__ import annotations

from itertools import permutations

import pytest
from shapely import box
from trench_scene import WELL, feature, reach, site

from siteplan.measure.surfaces import stretches
from siteplan.site.features import Feature

DRIVE = feature("drive", "drive", box(10, -9, 14, 9))
LAWN = feature("lawn", "lawn", box(5, -9, 20, 9))
WOODS = feature("woods", "woods", box(12, -9, 25, 9))
STRAIGHT = reach((0, 0), (30, 0))


@pytest.mark.parametrize("order", list(permutations((DRIVE, LAWN, WOODS))))
def test_a_lawn_or_woods_drawn_after_a_drive_do_not_hide_it(order: tuple[Feature, ...]) -> None:
    found = stretches(site(WELL, *order), STRAIGHT)
    later = "woods" if order.index(WOODS) > order.index(LAWN) else "lawn"
    classes = [(each.from_m, each.to_m, each.cover_class) for each in found if each.feature is DRIVE]
    assert classes == [(10, 14, "dwelling_drive")]
    assert [each.surface for each in found if each.from_m <= 7 < each.to_m] == ["lawn"]
    assert [each.surface for each in found if each.from_m <= 17 < each.to_m] == [later]
    assert [each.surface for each in found if each.from_m <= 22 < each.to_m] == ["woods"]


def test_of_two_drives_the_later_in_the_files_is_on_top() -> None:
    other = feature("other", "drive", box(12, -9, 20, 9))
    for order in ((DRIVE, other), (other, DRIVE)):
        found = stretches(site(WELL, *order), STRAIGHT)
        over = next(each for each in found if each.from_m <= 13 < each.to_m)
        assert over.feature is order[-1]


def test_woods_on_ledge_are_dug_as_ledge() -> None:
    ledge = feature("ledge", "ledge", box(12, -9, 16, 9))
    found = stretches(site(WELL, ledge, WOODS), STRAIGHT)
    assert [(each.from_m, each.to_m, each.surface) for each in found] == [
        (0, 12, "yard"),
        (12, 16, "ledge"),
        (16, 25, "woods"),
        (25, 30, "yard"),
    ]
