"""A small site in a tape grid whose house, well and parcel lie at known places, and its ties.csv."""

from __future__ import annotations

from math import hypot
from pathlib import Path

from siteplan.plane.place import place
from siteplan.read import read_site
from siteplan.site.net import Misfit, Net, NetPoint
from siteplan.site.site import Site

HOUSE = {"NE": (40.0, 28.0), "SE": (40.0, 0.0), "SW": (0.0, 0.0), "NW": (0.0, 28.0)}
WELL = (70.0, 75.0)
HEAD = "point,from,distance\n"

SITE_TOML = """\
[site]
name = "Taped"
rules = "us/mt"
units = "ft"

[digging]
bucket = "24 in"
bedding = "4 in"
entered = false
soil = "sand"

[[line]]
id = "water"
carries = "water"
from = "well"
to = "house"
product = "pe-1-ips"

[grid]
unit = "ft"
origin = [-112.0, 46.0]
north = "0 deg"
"""

_PARCEL = ((-50, -60), (150, -60), (150, 140), (-50, 140))


def points_csv(
    *, house: str = "taped", well: str = "phone", house_outing: str = "", well_at: object = WELL
) -> str:
    """Parcel, house and well in feet, with the methods of the last two."""
    assert isinstance(well_at, tuple)
    rows = ["id,kind,name,shape,x,y,method,outing"]
    rows += [f"parcel,parcel,,area,{x},{y},surveyed," for x, y in _PARCEL]
    rows += [f"house,building,House,area,{x},{y},{house},{house_outing}" for x, y in HOUSE.values()]
    rows.append(f"well,well,Well,point,{well_at[0]},{well_at[1]},{well},")
    return "\n".join(rows) + "\n"


def tie(corner: str, off_ft: float = 0.0, to: tuple[float, float] = WELL, name: str = "Well casing") -> str:
    """A tape from a corner of the house, so much too long."""
    x, y = HOUSE[corner]
    return f"{name},House {corner},{hypot(to[0] - x, to[1] - y) + off_ft:.3f} ft\n"


def write(folder: Path, ties: str, *, points: str | None = None, toml: str = SITE_TOML) -> Path:
    """Write the site; ``points=""`` leaves the drawn things out."""
    (folder / "site.toml").write_text(toml)
    (folder / "ties.csv").write_text(ties)
    drawn = points_csv() if points is None else points
    if drawn:
        (folder / "points.csv").write_text(drawn)
    return folder


def solved(folder: Path, ties: str, **more: str) -> tuple[Site, Net]:
    """The placed site and its net."""
    site, _ = place(read_site(write(folder, ties, **more)))
    assert site.net is not None
    return site, site.net


def point(net: Net, name: str) -> NetPoint:
    """A point of the net by name."""
    return next(each for each in net.points if each.name == name)


def misfit(net: Net, what: str) -> Misfit:
    """A misfit by what was measured."""
    return next(each for each in net.misfits if each.what == what)
