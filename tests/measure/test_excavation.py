"""Trenches are dug once for what they cost and for what is measured of them, and anew for anything else."""

from __future__ import annotations

from dataclasses import replace

from trench_scene import layout, reach, requirements, site

from siteplan.measure import Excavations, beyond, measure

AT, RULES = site(), requirements()
STRAIGHT = layout(reach((0, 0), (30, 0)))


def test_the_same_trenches_are_dug_once() -> None:
    dug = Excavations()
    first = dug.of(AT, RULES, STRAIGHT, None)
    again = layout(reach((0, 0), (30, 0)))
    assert again is not STRAIGHT
    assert dug.of(AT, RULES, again, None) is first


def test_another_layout_and_another_site_are_dug_anew() -> None:
    dug = Excavations()
    first = dug.of(AT, RULES, STRAIGHT, None)
    assert dug.of(AT, RULES, layout(reach((0, 0), (31, 0))), None).developed_m != first.developed_m
    deeper = replace(AT, digging=replace(AT.digging, bedding_m=AT.digging.bedding_m + 0.3))
    cut_m = dug.of(deeper, RULES, STRAIGHT, None).sections[0].cut_m
    assert cut_m > first.sections[0].cut_m


def test_works_are_the_same_with_what_was_dug_for_the_price() -> None:
    dug = Excavations()
    beyond(AT, RULES, None, STRAIGHT, excavations=dug)
    assert measure(AT, RULES, STRAIGHT, None, excavations=dug) == measure(AT, RULES, STRAIGHT, None)
