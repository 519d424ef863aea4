"""Whatever ``ties.csv`` holds: a solved net, or faults in one line each; never another exception."""

from __future__ import annotations

from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from taped_site import write

from siteplan.document.tape_table import tape_table
from siteplan.errors import InputFaults
from siteplan.plane.place import place
from siteplan.read import read_site

COLUMNS = "point,from,to,distance,rise,turn,along,offset,bearing,declination,side"
NAMES = st.sampled_from(
    ["House NE", "House SE", "House SW", "House NW", "Well casing", "A", "B", "C", "well"]
)
FEET = st.floats(1, 120).map(lambda length: f"{length:.1f} ft")
HAND = st.sampled_from(["left", "right"])
ROWS = st.one_of(
    st.builds(lambda p, f, d: f"{p},{f},,{d},,,,,,,", NAMES, NAMES, FEET),
    st.builds(lambda p, f, d: f"{p},{f},,{d},,,,,,,", st.sampled_from("ABC"), NAMES, FEET),
    st.builds(lambda p, f, t, d, s: f"{p},{f},{t},{d},,,,,,,{s}", NAMES, NAMES, NAMES, FEET, HAND),
    st.builds(lambda p, f, d, h: f"{p},{f},,{d},,{h},,,,,", NAMES, NAMES, FEET, HAND),
    st.builds(
        lambda p, f, t, a, o, s: f"{p},{f},{t},,,,{a},{o} {s},,,", NAMES, NAMES, NAMES, FEET, FEET, HAND
    ),
    st.builds(lambda p, f, b: f"{p},{f},,,,,,,{b:.1f},0,", NAMES, NAMES, st.floats(0, 360)),
    st.builds(lambda p, f, d, b: f"{p},{f},,{d},,,,,{b:.1f},0,", NAMES, NAMES, FEET, st.floats(0, 360)),
    st.text(st.characters(codec="utf-8"), max_size=30),
)


@settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.lists(ROWS, min_size=1, max_size=12))
def test_a_net_or_faults(tmp_path: Path, rows: list[str]) -> None:
    try:
        site, _ = place(read_site(write(tmp_path, "\n".join([COLUMNS, *rows]) + "\n")))
    except InputFaults as error:
        assert error.faults
        assert len(str(error).splitlines()) == len(error.faults)
        return
    if site.net is not None:
        assert tape_table(site, site.net)
