"""What health departments ask of a plot plan, held against what the site's files have: shown, none, or lacking.

The items are the union of what these ask: Elkhart County, Indiana (well and sewage ordinances); Washtenaw County, Michigan
(site plans); McHenry County, Illinois; San Bernardino County, California; New York State, 10 NYCRR 5-2.8; Butte County,
California, 23B-4; Shelby County, Tennessee; North Carolina, 15A NCAC 02C .0303; Richmond and Chatham Counties, North Carolina.
The form of the office decides which of them it wants.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from siteplan.document.model import Plan
from siteplan.document.plot_map import CONTOUR_M, Chosen
from siteplan.document.well_rings import search_ring
from siteplan.document.words import compass, feature_name
from siteplan.measure.plot import fall, from_well, lot_of, lot_sides
from siteplan.rules.citation import Citation
from siteplan.site.catalogue import kinds, methods
from siteplan.site.features import Feature
from siteplan.units import Printer

State = Literal["LACKING", "BLANK", "none", "shown"]
_SURVEYED = "surveyed"
_MOST_NAMES = 12

_DRAWN = (
    ("Easements and rights of way", ("easement", "right_of_way")),
    ("Buildings, also proposed and to be removed", ("building",)),
    ("Drives, parking, roads", ("drive", "road")),
    ("Walks, patios, slabs", ("walk", "slab")),
    ("Other wells: abandoned, neighbours'", ("other_well",)),
    ("Septic or holding tank", ("septic_tank", "holding_tank", "cesspool")),
    ("Absorption area", ("absorption_area", "seepage_pit")),
    ("Reserve (replacement) area", ("reserve_area",)),
    ("Sewer and effluent lines", ("building_sewer", "effluent_line", "sewer_main")),
    ("Fuel tanks", ("fuel_tank",)),
    ("Manure, livestock, silage", ("manure_storage", "livestock_yard", "silo", "land_application")),
    ("Pesticides, chemicals", ("pesticide_storage",)),
    ("Cisterns, pits, sinkholes, other sources", ("cistern", "pit", "other_source", "landfill", "cemetery")),
    ("Surface water, wetland", ("pond", "stream")),
    ("Ditches, drains, stormwater", ("ditch", "drain", "stormwater")),
    ("Buried utilities", ("buried_line",)),
    ("Overhead lines", ("overhead_line",)),
    ("Trees that matter for placement", ("tree",)),
)


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing asked of a plot plan, and what there is of it."""

    state: State
    item: str
    words: str


def checklist(plan: Plan, chosen: Chosen) -> list[Entry]:
    """Return what is asked of a plot plan, with what the files have of it; what the title block names only if it is missing."""
    return [
        *_named(plan),
        *_of_the_drawing(plan, chosen),
        *_of_the_lot(plan),
        *(_drawn(plan, item, names) for item, names in _DRAWN),
        *_nobody_looked(plan),
        *_beyond_the_lot(plan),
        *_of_the_ground(plan),
        *_on_site(plan),
    ]


def _named(plan: Plan) -> Iterator[Entry]:
    paper = plan.site.paper
    for item, words in (
        ("Address", paper.address),
        ("Parcel number", paper.parcel_number),
        ("Legal description", paper.legal),
        ("Owner", paper.owner),
        ("Contractor", paper.contractor),
        ("Licence number of the contractor", paper.licence),
        ("Prepared by", paper.prepared_by),
        ("Date", paper.prepared.isoformat() if paper.prepared else ""),
        ("Directions to the site, or a vicinity map", paper.directions),
    ):
        if not words:
            yield Entry("BLANK", item, "write it in, or state it in [paper]")


def _of_the_drawing(plan: Plan, chosen: Chosen) -> Iterator[Entry]:
    item, asked = "Drawn to a scale that the office accepts", plan.requirements.plot_plan
    if not chosen.fits:
        yield Entry("LACKING", item, f"not all fits this paper at {chosen.scale.text}: print on larger paper")
    elif plan.site.paper.scales:
        yield Entry("shown", item, f"{chosen.scale.text}, as the office accepts it")
    elif source := asked.scales_from:
        yield Entry("shown", item, f"{chosen.scale.text}, as {_source(source)} accepts it")
    else:
        words = f"{chosen.scale.text}; neither the file nor the rules say which scales the office accepts"
        yield Entry("BLANK", item, words)
    if plan.frame.north_known:
        yield Entry("shown", "North arrow", "on the drawing")
    else:
        yield Entry("LACKING", "North arrow", "the site has no bearing of north")
    ring = search_ring(plan)
    if plan.site.paper.search_radius_m is not None:
        yield Entry("shown", "Search radius", f"{ring.words}, as the office asks for it")
    elif source := asked.radius_from:
        yield Entry("shown", "Search radius", f"{ring.words}, as {_source(source)} asks for it")
    else:
        words = f"{ring.words}: neither the file nor the rules say how far; ask the office"
        yield Entry("BLANK", "Search radius", words)


def _source(citation: Citation) -> str:
    doubt = "" if citation.confirmed else " (unconfirmed)"
    note = f" ({citation.note})" if citation.note else ""
    return f"{citation.text}{doubt}{note}"


def _of_the_lot(plan: Plan) -> Iterator[Entry]:
    item, sides = "Lot lines with the length of each side", lot_sides(plan.site)
    if not sides:
        yield Entry("LACKING", item, "no lot is drawn")
        return
    yield Entry("shown", item, f"{len(sides)} sides")
    ways = {plan.site.feature(side.of).evidence.method for side in sides}
    known = ", ".join(methods()[way].name if way in methods() else way for way in sorted(ways))
    item = "Survey (for new construction)"
    if ways == {_SURVEYED}:
        yield Entry("BLANK", item, f"the lot is {known}: attach the survey; monuments found ______")
    else:
        yield Entry("LACKING", item, f"the lot is {known}, no survey")


def _drawn(plan: Plan, item: str, names: tuple[str, ...]) -> Entry:
    found = list(plan.site.of_kind(*names))
    if item.startswith("Other wells"):
        found += [well for well in plan.site.of_kind("well") if well.id != plan.site.well.id]
    if found:
        return Entry("shown", item, _listed(found))
    looked = [name for name in names if name in plan.site.looked]
    said = "; ".join(f"{kinds()[name].name}: {plan.site.looked[name]}" for name in looked)
    left = [kinds()[name].name for name in names if name not in plan.site.looked]
    if not left:
        return Entry("none", item, said)
    lacking = f"none drawn, nobody looked: {', '.join(left)}"
    return Entry("LACKING", item, "; ".join(word for word in (lacking, said) if word))


def _nobody_looked(plan: Plan) -> Iterator[Entry]:
    """Yield what the rules speak of and nobody looked for, beside the items above."""
    listed = {name for _, names in _DRAWN for name in names}
    for kind, citation in plan.requirements.unlooked:
        if kind not in listed:
            name = kinds()[kind].name
            words = f"none drawn, nobody looked; {citation.text} speaks of it"
            yield Entry("LACKING", f"{name[:1].upper()}{name[1:]}", words)


def _beyond_the_lot(plan: Plan) -> Iterator[Entry]:
    item = "Neighbours' wells, septic, sewer lines within the search radius"
    lot = lot_of(plan.site)
    theirs = [
        feature
        for feature in plan.site.features
        if kinds()[feature.kind].group in ("sewage", "water", "things that may foul water")
        and (feature.facts.get("same_owner") is False or not (lot.is_empty or feature.shape.intersects(lot)))
    ]
    words = [_listed(theirs)] if theirs else []
    if plan.site.paper.beyond_lot:
        yield Entry("shown" if theirs else "none", item, "; ".join([*words, plan.site.paper.beyond_lot]))
    else:
        yield Entry("LACKING", item, "; ".join([*words, "nobody looked beyond the lot lines"]))


def _of_the_ground(plan: Plan) -> Iterator[Entry]:
    printer, slope = Printer(plan.site.units), fall(plan.site)
    item = "Slope and which way it drains"
    if slope is None:
        yield Entry("LACKING", item, "no levels")
    else:
        way = compass(slope[0]) if plan.frame.north_known else f"{slope[0]:.0f} deg from the +y axis"
        words = f"falls {printer.slope(slope[1])} to the {way}, fitted to {len(plan.site.levels)} levels"
        yield Entry("shown", item, words)
    step_m = CONTOUR_M[printer.unit]
    item = f"{printer.length(step_m)} contours (sewage plans, above 6 %)"
    if plan.ground is None:
        yield Entry("LACKING", item, "no levels")
    else:
        yield Entry("shown", item, f"from {len(plan.site.levels)} levels; nothing outside them")
    rows = from_well(plan.site, plan.ground)
    without = [feature_name(plan.site.feature(one.to)) for one in rows if one.rise_m is None]
    item = "Elevation of each hazard over or under the well"
    if without:
        yield Entry("LACKING", item, f"no level at {_few(without)}")
    else:
        yield Entry("shown", item, "in the table of distances")
    plains = list(plan.site.of_kind("floodplain"))
    stated = [plain for plain in plains if "elevation" in plain.facts]
    if stated:
        yield Entry("shown", "Flood plain and flood elevation", _listed(stated))
    elif "floodplain" in plan.site.looked:
        yield Entry("none", "Flood plain and flood elevation", plan.site.looked["floodplain"])
    else:
        words = "drawn without an elevation" if plains else "none drawn, nobody looked"
        yield Entry("LACKING", "Flood plain and flood elevation", words)


def _on_site(plan: Plan) -> Iterator[Entry]:
    drives = [
        one for one in from_well(plan.site, None) if plan.site.feature(one.to).kind in ("drive", "road")
    ]
    item = "Way to the well for service"
    if drives:
        name = feature_name(plan.site.feature(drives[0].to))
        length = Printer(plan.site.units).length(drives[0].distance_m)
        yield Entry("shown", item, f"{name} ends {length} from the well at its nearest")
    else:
        yield Entry("LACKING", item, "no drive or road is drawn")
    yield Entry("BLANK", "Corners staked, ground cleared to be walked", "on ____________ by ____________")


def _listed(features: list[Feature]) -> str:
    return _few([feature_name(feature) for feature in features])


def _few(names: list[str]) -> str:
    more = len(names) - _MOST_NAMES
    return "; ".join(names[:_MOST_NAMES]) + (f" and {more} more" if more > 0 else "")
