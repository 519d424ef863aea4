"""The plan of the folder as it stands, in stages: each better than the one before, each an answer of its own."""

from __future__ import annotations

import json
import threading
from typing import Any

from shapely import hausdorff_distance, union_all
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.document.geojson import collection
from siteplan.document.model import Plan
from siteplan.errors import InputFaults
from siteplan.plane.frame import Frame
from siteplan.read.site_file import SITE_TOML
from siteplan.route.model import Alternative
from siteplan.rules import load_stack
from siteplan.rules.explain import explain
from siteplan.site.site import Site
from siteplan.units import money
from siteplan.web.desk import Desk
from siteplan.web.handling import Refused, answering, beside, json_object
from siteplan.web.plan_answer import plan_answer
from siteplan.web.planner import STAGES, OutOfDate
from siteplan.web.route_control import Pins, as_edits, pinned, route_control
from siteplan.web.site_edits import edited
from siteplan.web.site_store import SITE_FILE
from siteplan.web.trial import tried

_CHANGED = "the drawing has changed since: take a way from the plan of it as it is now"
_SAME_M, _SAME_PRICE = 0.05, 0.01
"""Trenches that lie nowhere farther apart [m], at likely prices that differ by no more than this share, are the same way."""


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of the plan."""
    shown: dict[str, Plan] = {}
    """The last plan that was told, by the state of the folder that it is of."""
    tell = _Teller(desk)

    async def plan(request: Request) -> Response:
        stage = (await json_object(request)).get("stage", STAGES[0])
        if stage not in STAGES:
            raise Refused(400, f"expected a stage: {', '.join(STAGES)}")
        revision, stamp = desk.store.revision(), desk.store.stamp()

        def told() -> bytes:
            planned = desk.planner.plan(stage, desk.store.site())
            answer = tell(planned, stage, {"revision": revision, "stamp": stamp})
            shown.clear()
            shown[stamp] = planned
            return answer

        try:
            return Response(await beside(told), media_type="application/json")
        except OutOfDate:
            return JSONResponse({"out_of_date": True})

    async def carried(request: Request) -> Response:
        asked = await json_object(request)

        def told() -> bytes | None:
            site = desk.store.site_with(asked.get("site"), str(asked.get("revision")))
            return tell(desk.planner.plan(STAGES[0], site), STAGES[0], {}) if site else None

        try:
            answer = await beside(told)
        except OutOfDate:
            answer = None
        return (
            Response(answer, media_type="application/json") if answer else JSONResponse({"out_of_date": True})
        )

    async def take(request: Request) -> Response:
        number = (await json_object(request)).get("number")
        of = shown.get(desk.store.stamp())
        if of is None:
            raise Refused(409, _CHANGED)
        if not isinstance(of.frame, Frame):
            raise Refused(422, "this site is measured in a tape grid: its routes are fixed in its files")
        ways = of.layout.alternatives
        if not isinstance(number, int) or not 0 < number <= len(ways):
            raise Refused(400, "expected the number of another way")
        try:
            pins, price = await beside(lambda: _held(desk, of, ways[number - 1]))
        except OutOfDate:
            raise Refused(409, _CHANGED) from None
        return JSONResponse({"features": pins.features, "control": pins.control, "price": price})

    async def rules(request: Request) -> Response:
        asked = await json_object(request)
        subject, to = (str(asked.get(key, "")) for key in ("subject", "to"))

        def told() -> str:
            site = desk.store.site()
            return explain(load_stack(site.rules), site, subject, to)

        return JSONResponse({"text": await beside(told)})

    return [
        Route("/api/plan", answering(plan), methods=["POST"]),
        Route("/api/plan/carried", answering(carried), methods=["POST"]),
        Route("/api/plan/way", answering(take), methods=["POST"]),
        Route("/api/plan/rules", answering(rules), methods=["POST"]),
    ]


class _Teller:
    """Tells plans as JSON; what was told last is not put into words again when it is asked for once more."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._last: tuple[Plan, bool, dict[str, Any]] | None = None
        self._telling = threading.Lock()

    def __call__(self, plan: Plan, stage: str, of: dict[str, str]) -> bytes:
        """Tell a plan, of which state of the folder it is, and what it has reached."""
        reached = STAGES[1] if stage == STAGES[0] and not plan.layout.followed else stage
        whole = reached != STAGES[0]
        with self._telling:
            if self._last is None or self._last[0] is not plan or self._last[1] != whole:
                self._last = plan, whole, plan_answer(plan, whole=whole)
            answer = self._last[2]
        control = route_control(self._desk.store.text(SITE_TOML))
        said = {**of, "stage": reached, "control": control, **answer}
        return json.dumps(said, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def _held(desk: Desk, plan: Plan, other: Alternative) -> tuple[Pins, str]:
    """Fix another way, and make sure that it is planned again as it was shown; what it then comes to."""
    currency = plan.site.rates.currency
    prices: list[str] = []
    for pins in pinned(plan, other):
        again = desk.planner.plan("searched", _with(desk, pins)).layout
        apart_m = hausdorff_distance(
            union_all([reach.path for reach in again.reaches]), union_all(list(other.paths)), densify=0.05
        )
        prices.append(money(again.price, currency))
        if apart_m <= _SAME_M and abs(again.price - other.price) <= _SAME_PRICE * other.price:
            return pins, prices[-1]
    shown = money(other.price, currency)
    raise Refused(
        422,
        f"this way cannot be fixed in the files of the site: planned again it comes to {' or '.join(prices)}, not {shown}",
        "draw the trench by hand instead",
    )


def _with(desk: Desk, pins: Pins) -> Site:
    """The site as it would be read with a route fixed."""
    drawing = desk.store.load().site
    members: dict[str, Any] = {
        key: value for key, value in drawing.items() if key not in ("type", "features")
    }
    text = edited(desk.store.text(SITE_TOML), as_edits(pins.control), {})
    within = desk.store.versions.folder
    within.mkdir(exist_ok=True)
    changes = {
        SITE_FILE: collection([*drawing["features"], *pins.features], **members).encode(),
        SITE_TOML: text.encode(),
    }
    outcome = tried(desk.folder, changes, within)
    if not isinstance(outcome, Site):
        raise InputFaults(outcome)
    return outcome
