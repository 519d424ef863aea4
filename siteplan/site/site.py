"""The whole site: what is there, what is to be laid, and the choices that the contractor made."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from siteplan.site.catalogue import rates
from siteplan.site.evidence import Evidence
from siteplan.site.features import Fact, Feature, Line, Source
from siteplan.site.field_notes import FieldNotes
from siteplan.site.frost import FrostInputs
from siteplan.site.net import Net
from siteplan.site.rates import Rates
from siteplan.site.underlay import Underlay
from siteplan.units import System


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """One number of the rules replaced for this site, with the reason that prints on every sheet."""

    row: str
    values: Mapping[str, str | float | bool]
    reason: str
    source: Source


BORED_UNDER = ("drive", "walk", "road", "tree")
"""Kinds of things that a trench may be bored under."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Digging:
    """How the trench is dug.

    Attributes
    ----------
    bucket_m : float
        Width of the bucket or chain [m]: the least width of the trench.
    bedding_m : float
        Depth of bedding below the lowest line [m].
    entered : bool
        Does a person get into the trench? Then it is sloped or shored past the protection depth.
    soil : str
        A soil of ``layers/soils.toml``.
    machine : str
        In the contractor's words, for the locate request.
    way_in : str
        Where the machine comes in and leaves, in words.
    machine_width_m : float
        Width [m] of the strip that the machine needs beside the trench.
    laying : Evidence
        How truly the line is laid where it was drawn.
    depth_error_m : float
        How far the bottom may be off [m], one-sided at 95 %. The trench is planned that much deeper than the rules ask, so that
        the cover still holds as dug. Default 3 in: a stick from the ground surface, 0.2-0.3 ft (common practice, no source).
    ground : {"lawn", "field", "gravel"}
        What the ground is where no surface is drawn; ``restore-lawn`` and so on is the row of its price.
    steepest : float or None
        Steepest ground that the machine digs on, rise over run; ``None``: it digs on any.
    bore : bool
        May a drive be bored under instead of opened?
    bored_under : tuple of str
        Ids of the drives, walks, roads and trees that are never opened: a trench that crosses them is bored there.
    longest_bore_m : float
        Longest bore between the edges [m]. Default 60 ft (common practice, no source).
    least_crossing_angle_deg : float
        Least angle [0 to 90 deg] at which a buried line is crossed. Default 45 (common practice, no source).
    """

    bucket_m: float
    bedding_m: float
    entered: bool
    soil: str
    machine: str = ""
    way_in: str = ""
    machine_width_m: float = 0.0
    laying: Evidence
    depth_error_m: float = 0.0762
    ground: Literal["lawn", "field", "gravel"] = "lawn"
    steepest: float | None = None
    bore: bool = True
    bored_under: tuple[str, ...] = ()
    longest_bore_m: float = 18.288
    least_crossing_angle_deg: float = 45.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One spot height: x, y in the coordinates of the site, ground elevation in metres."""

    x: float
    y: float
    elevation_m: float
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedMark:
    """A bench mark that the site states.

    Attributes
    ----------
    at : str
        What it is, in words.
    elevation_m : float
        In the datum of ``levels.csv`` [m].
    rod_m : float or None
        Rod reading on it with the laser set up [m].
    """

    at: str
    elevation_m: float
    rod_m: float | None = None


SCALE_PATTERN = r"^(1 in = [1-9]\d{0,3} ft|1:[1-9]\d{0,4})$"
"""How a scale of a plan is written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """Who and what the sheets name. Empty text prints as a blank to fill in.

    Attributes
    ----------
    legal : str
        Legal description of the lot.
    scales : sequence of str
        Scales that the office accepts ("1 in = 20 ft", "1:200"); empty: as the rules say.
    search_radius_m : float or None
        How far round the well [m] the office asks for hazards; ``None``: as the rules say.
    beyond_lot : str
        Who looked at the neighbours' land and how far; empty: nobody says to have looked.
    measured_by, measured, instruments : str, date or None, str
        Who measured the site, on which day and with what.
    """

    address: str = ""
    parcel_number: str = ""
    owner: str = ""
    contractor: str = ""
    phone: str = ""
    permit: str = ""
    directions: str = ""
    prepared: date | None = None
    prepared_by: str = ""
    licence: str = ""
    legal: str = ""
    scales: tuple[str, ...] = ()
    search_radius_m: float | None = None
    beyond_lot: str = ""
    measured_by: str = ""
    measured: date | None = None
    instruments: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """A site as read; after ``plane.place`` the same site in ground metres.

    Attributes
    ----------
    coordinates : {"lonlat", "local", "ground"}
        What the shapes are in: degrees (WGS 84), a local tape grid in metres, or the ground plane in metres.
    grid_origin : (float, float) or None
        Longitude and latitude of the 0, 0 of a tape grid; ``None``: it is on no map.
    grid_north_deg : float or None
        Bearing of its +y axis [deg clockwise from true north]; ``None``: not known.
    rules : str
        Name of the rules layer, such as ``us/mt/helena``; the layers above it hold as well.
    looked : mapping of str to str
        Kinds that somebody looked for and did not find, with the words to print ("none within 200 ft, walked with owner").
    facts : mapping
        Facts of the whole site that the rules ask for (``subdivision`` ...).
    frost : FrostInputs or None
        What a frost depth is computed from; ``None``: only adopted depths count.
    field_notes : FieldNotes or None
        What was taped, as written down; ``None`` if nothing was.
    net : Net or None
        The tape net as solved, after ``plane.place``; ``None`` before, and if nothing was taped.
    rates : Rates
        What the work costs: ``layers/rates.toml``, and what the site states instead.
    underlays : tuple of Underlay
        Pictures to lie under the map; their place on the ground after ``plane.place``.
    """

    name: str
    folder: str
    units: System
    coordinates: Literal["lonlat", "local", "ground"]
    elevation_m: float = 0.0
    grid_origin: tuple[float, float] | None = None
    grid_north_deg: float | None = None
    rules: str
    overrides: tuple[Override, ...] = ()
    paper: Paper = Paper()
    digging: Digging
    features: tuple[Feature, ...]
    lines: tuple[Line, ...]
    levels: tuple[Level, ...] = ()
    bench_mark: StatedMark | None = None
    looked: Mapping[str, str] = field(default_factory=dict)
    facts: Mapping[str, Fact] = field(default_factory=dict)
    frost: FrostInputs | None = None
    field_notes: FieldNotes | None = None
    net: Net | None = None
    rates: Rates = field(default_factory=rates)
    underlays: tuple[Underlay, ...] = ()

    def feature(self, feature_id: str) -> Feature:
        """Return the feature with this id; KeyError if there is none."""
        for feature in self.features:
            if feature.id == feature_id:
                return feature
        raise KeyError(feature_id)

    def line(self, line_id: str) -> Line:
        """Return the line to lay with this id; KeyError if there is none."""
        for line in self.lines:
            if line.id == line_id:
                return line
        raise KeyError(line_id)

    def of_kind(self, *kinds: str) -> Iterator[Feature]:
        """Features of these kinds, in the order of the files."""
        return (feature for feature in self.features if feature.kind in kinds)

    @property
    def well(self) -> Feature:
        """The well that the lines start from; the first of the site if all of them tap a line that is there already."""
        starts = {line.start for line in self.lines}
        wells = list(self.of_kind("well"))
        return next((well for well in wells if well.id in starts), wells[0])
