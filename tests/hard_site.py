"""The ``site.toml`` of the hard sites: a tape grid at a place on the earth, a narrow bucket in sand."""

from __future__ import annotations


def hard_site(name: str) -> str:
    """Return all but the lines to lay; ``[digging]`` stands last."""
    return f"""\
[site]
name = "{name}"
rules = "us/mt/helena"
units = "ft"
elevation = "4000 ft"

[grid]
unit = "ft"
origin = [-112.03, 46.6]
north = "0 deg"

[digging]
bucket = "24 in"
bedding = "4 in"
entered = false
soil = "sand"
"""


def hard_site_with_water(name: str) -> str:
    """Return a site whose machine needs 6 ft beside the trench, with one water line from the well to the house."""
    return f"""\
{hard_site(name)}machine_width = "6 ft"

[[line]]
id = "water"
carries = "water"
from = "well"
to = "house"
product = "pe-1-ips"
"""
