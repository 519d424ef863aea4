"""What would leave a way where there is none, the cheapest first: less asked, a bore, a shovel, other ground, another place."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import cos, pi, sin

import shapely
from shapely import MultiLineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.errors import WayOut
from siteplan.route.approach import NEAR_M, Approach
from siteplan.route.between import Goal, shortest_between
from siteplan.route.drawing_error import at_least, at_most
from siteplan.route.keep_off import Yard, edge_of_land
from siteplan.route.mesh import FreeGround
from siteplan.route.relax import Question
from siteplan.site.site import Site
from siteplan.units import Printer

BESIDE_M = 10.0
"""How far [m] beyond the property line the ground of others is tried (own choice)."""

_GRANTED = ("variance", "easement")
_KINDS = ("measure", "move", "hand dig", "bore", *_GRANTED)
_BORED = ("tree", "slab", "drive", "walk", "road")
_PROPOSED = ("proposed", "reserve")
_WINDS = ("east", "northeast", "north", "northwest", "west", "southwest", "south", "southeast")
_MOVES_M = (0.5, 1.0, 2.0, 4.0, 8.0, 16.0)
_HALVINGS = 8
_LEAST_M = 0.01
_LEAST_KNOWN_M = 0.03


def ways_out(ask: Question, blockers: Sequence[str], *, each: bool) -> tuple[WayOut, ...]:
    """Find what would leave a way.

    Parameters
    ----------
    ask : Question
        To which the answer is no.
    blockers : sequence of str
        Ids of what closes the way.
    each : bool
        Whether every one of them closes it on its own, so that each way out needs one past the others as well.

    Returns
    -------
    tuple of WayOut
        What needs nobody's leave first, then what others would have to grant; of each the cheapest first, what has no price
        before it.
    """
    found: list[WayOut] = []
    for blocker in blockers:
        others = [other for other in blockers if other != blocker] if each else []
        also = f", with a way out past {' and '.join(map(ask.named, others))}" if others else ""
        found += _past(ask.without(others), blocker, also)
    if (
        len(blockers) > 1
        and all(map(ask.is_drawn, blockers))
        and not any(way.kind == "measure" for way in found)
    ):
        found += _all_measured(ask, blockers)
    found += _over_others(ask)
    found += [way for place in (ask.root, ask.end) for way in _elsewhere(ask, place.id, "")]
    return tuple(sorted(found, key=_rank))


def _rank(way: WayOut) -> tuple[bool, float, int, float]:
    return way.kind in _GRANTED, round(way.price or 0.0, 6), _KINDS.index(way.kind), round(way.amount_m, 3)


def _past(ask: Question, blocker: str, also: str) -> Iterator[WayOut]:
    """Give the ways past one thing that closes the way on its own."""
    if blocker in ask.by_hand:
        words = f"digging by hand in the tolerance zone of {ask.named(blocker)}"
        yield from _by_hand(ask, blocker, ask.without([blocker]), words, also)
    elif ask.is_drawn(blocker):
        yield from _nearer(ask, blocker, also)
        yield from _under(ask, blocker, also)
        yield from _elsewhere(ask, blocker, also)


def _nearer(ask: Question, blocker: str, also: str) -> Iterator[WayOut]:
    """Know its place better; or keep less, where a rule asks it (a variance) or common practice does (a shovel)."""
    open_m = ask.open_at_m(blocker)
    if open_m is None:
        return
    length, named = Printer(ask.site.units).length, ask.named(blocker)
    most = ask.kept(blocker)[0]
    known_m = open_m - most.required_m - most.half_width_m
    if known_m > _LEAST_KNOWN_M:
        yield _measured(ask.site, blocker, named, known_m, also)
    left_m = open_m - most.error_m - most.half_width_m
    if left_m < 0.0 or ask.site.feature(blocker).kind == "tree":
        return  # the trench does not fit whatever a rule says; or no rule can spare the roots
    asked = ask.rows(blocker, left_m)
    if asked:
        row, required_m = next(iter(asked.items()))
        less_m = required_m - left_m
        yield WayOut(
            kind="variance",
            feature=blocker,
            row=row,
            amount_m=less_m,
            words=f"{at_least(ask.site, less_m)} less than the {length(required_m)} from {named} of {' and '.join(asked)}, "
            f"{at_most(ask.site, left_m)}, would leave a way{also}: ask the authority having jurisdiction in writing",
        )
    elif not most.row:
        words = (
            f"digging by hand {length(left_m)} from {named} instead of the usual {length(most.required_m)}"
        )
        yield from _by_hand(ask, blocker, ask.keeping(blocker, open_m), words, also)


def _measured(site: Site, feature: str, named: str, known_m: float, also: str) -> WayOut:
    known = at_most(site, known_m)
    return WayOut(
        kind="measure",
        feature=feature,
        amount_m=known_m,
        words=f"{named}, where drawn and known to {known} or better, would leave a way{also}",
    )


def _all_measured(ask: Question, blockers: Sequence[str]) -> Iterator[WayOut]:
    """Know the places of all of several things better, where it is not enough to know one."""
    asks = {blocker: ask.kept(blocker)[0] for blocker in blockers}
    open_m, shut_m = 0.0, max(kept.error_m for kept in asks.values())

    def is_open(error_m: float) -> bool:
        known = ask
        for blocker, kept in asks.items():
            known = known.keeping(blocker, kept.required_m + kept.half_width_m + error_m)
        return known.is_open()

    if not is_open(open_m):
        return
    for _ in range(_HALVINGS):
        middle_m = (open_m + shut_m) / 2
        open_m, shut_m = (middle_m, shut_m) if is_open(middle_m) else (open_m, middle_m)
    if open_m > _LEAST_KNOWN_M:
        yield _measured(ask.site, blockers[0], " and ".join(map(ask.named, blockers)), open_m, "")


def _by_hand(ask: Question, blocker: str, opened: Question, words: str, also: str) -> Iterator[WayOut]:
    """Price what lies in the ground kept off, of the shortest trench that it leaves."""
    way = opened.way()
    if way is None:
        return
    amount_m = float(way.intersection(ask.kept_area([blocker])).length)
    yield WayOut(
        kind="hand dig",
        feature=blocker,
        amount_m=amount_m,
        price=ask.site.rates["dig-hand"].likely * amount_m,
        words=f"{words} would leave a way{also}",
    )


def _under(ask: Question, blocker: str, also: str) -> Iterator[WayOut]:
    """Bore under what may be bored under, straight across at the narrowest; on to the wall where the thing lies before it."""
    feature = ask.site.feature(blocker)
    digging = ask.site.digging
    line = ask.across(blocker) if feature.kind in _BORED and digging.bore else None
    ways = ask.without([blocker]).approaches()
    if line is None or ways is None:
        return
    free = ask.yard.area()
    amount_m = float(line.length) + sum(way.leg_m for way in ways if way.goal.distance(free) > NEAR_M)
    if amount_m > digging.longest_bore_m:
        return
    what = f"the roots of {feature.name}" if feature.kind == "tree" else feature.name
    yield WayOut(
        kind="bore",
        feature=blocker,
        amount_m=amount_m,
        price=_bore_price(ask.site, amount_m),
        words=f"a bore of {Printer(ask.site.units).length(amount_m)} under {what} would leave a way{also}",
    )


def _bore_price(site: Site, length_m: float) -> float:
    rates = site.rates
    return rates["bore-pits"].likely + max(rates["bore-least"].likely, rates["bore"].likely * length_m)


def _elsewhere(ask: Question, feature_id: str, also: str) -> Iterator[WayOut]:
    """Find how far a thing that is only proposed would have to stand, in the direction in which that is least."""
    feature = ask.site.feature(feature_id)
    if feature.status not in _PROPOSED:
        return
    for most_m in _MOVES_M:
        ways = [wind for wind in range(len(_WINDS)) if _is_open_moved(ask, feature_id, wind, most_m)]
        if ways:
            break
    else:
        return
    amount_m, wind = min((_least_move_m(ask, feature_id, wind, most_m), wind) for wind in ways)
    shown = Printer(ask.site.units).length(amount_m)
    yield WayOut(
        kind="move",
        feature=feature_id,
        amount_m=amount_m,
        words=f"{feature.name} is only proposed: {shown} farther {_WINDS[wind]} it would leave a way{also}",
    )


def _is_open_moved(ask: Question, feature_id: str, wind: int, by_m: float) -> bool:
    turn = 2 * pi * wind / len(_WINDS)
    moved = ask.moved(feature_id, by_m * cos(turn), by_m * sin(turn))
    return bool(ask.yard.land.covers(moved.site.feature(feature_id).shape)) and moved.is_open()


def _least_move_m(ask: Question, feature_id: str, wind: int, open_m: float) -> float:
    shut_m = 0.0 if open_m == _MOVES_M[0] else open_m / 2
    for _ in range(_HALVINGS):
        middle_m = (open_m + shut_m) / 2
        if _is_open_moved(ask, feature_id, wind, middle_m):
            open_m = middle_m
        else:
            shut_m = middle_m
    return open_m


def _over_others(ask: Question) -> Iterator[WayOut]:
    """Go round over the ground of others beside the parcel, on the way that seems the shortest there."""
    edge = edge_of_land(ask.site)
    if not edge:
        return
    land = ask.yard.land
    kept = tuple(kept for kept in ask.yard.kept_off if kept.feature != edge)
    around = Question(
        site=ask.site,
        yard=Yard(land=land.buffer(BESIDE_M, join_style="mitre"), kept_off=kept),
        root=ask.root,
        end=ask.end,
    )
    ways = around.approaches()
    area = around.yard.area()
    if ways is None or not around.is_open():
        return
    assert isinstance(area, Polygon | MultiPolygon)
    leaving, coming_back = (_gates(way, area, land) for way in ways)
    if leaving is None or coming_back is None:
        return
    found = shortest_between(FreeGround(area), leaving, coming_back)
    amount_m = float(found.line.difference(land).length) if found else 0.0
    if amount_m < _LEAST_M:
        return
    shown = Printer(ask.site.units).length(amount_m)
    yield WayOut(
        kind="easement",
        feature=edge,
        amount_m=amount_m,
        price=ask.site.rates["easement"].likely * amount_m,
        words=f"{shown} of trench on the ground of others beside the property line would leave a way: ask its owner in writing, "
        "and look what lies there",
    )


def _gates(way: Approach, area: BaseGeometry, land: BaseGeometry) -> Goal | None:
    """Return where the ground that joins a feature reaches the edge of the land, each straight piece by itself."""
    inside = area.intersection(land)
    here = [part for part in shapely.get_parts(inside) if part.distance(way.goal) < NEAR_M]
    edge = shapely.union_all(here).intersection(land.boundary)
    pieces = [
        part for part in shapely.get_parts(edge) if part.geom_type == "LineString" and part.length > NEAR_M
    ]
    straight = [piece for part in pieces for piece in shapely.get_parts(_segments(part))]
    if straight:
        return MultiLineString(straight)
    points = [part for part in shapely.get_parts(edge) if isinstance(part, Point)]
    return points[0] if points else None


def _segments(line: BaseGeometry) -> MultiLineString:
    return MultiLineString(list(pairwise(shapely.get_coordinates(line).tolist())))
