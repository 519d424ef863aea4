"""The plan of the folder as it stands, in stages: each better than the one before, each an answer of its own."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.web.answers import plan_answer
from siteplan.web.desk import Desk
from siteplan.web.handling import Refused, answering, beside, json_object
from siteplan.web.planner import STAGES, OutOfDate


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of the plan."""

    async def plan(request: Request) -> Response:
        stage = (await json_object(request)).get("stage", STAGES[0])
        if stage not in STAGES:
            raise Refused(400, f"expected a stage: {', '.join(STAGES)}")
        revision = desk.store.revision()
        try:
            planned = await beside(lambda: desk.planner.plan(stage, desk.store.site()))
        except OutOfDate:
            return JSONResponse({"out_of_date": True})
        answer = await beside(lambda: plan_answer(planned))
        return JSONResponse({"revision": revision, "stage": stage, **answer})

    return [Route("/api/plan", answering(plan), methods=["POST"])]
