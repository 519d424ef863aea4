"""What stands in ``site.toml``, read as forms and changed one entry at a time, and what the rules ask of the site."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.errors import Fault, InputFaults, SiteplanError
from siteplan.read.facts import LINE_FACTS
from siteplan.read.lines import ENDS, STARTS
from siteplan.read.site_file import SITE_TOML
from siteplan.rules import load_stack, resolve
from siteplan.rules.choices import line_facts_asked
from siteplan.site.catalogue import kinds, products, rates
from siteplan.site.features import carried_by
from siteplan.site.site import Site
from siteplan.units import FOOT_M
from siteplan.web.desk import Desk
from siteplan.web.door import faults
from siteplan.web.handling import Refused, answering, beside, json_object
from siteplan.web.rules_answer import layers_answer, rules_answer
from siteplan.web.site_edits import edited, placed
from siteplan.web.site_forms import forms
from siteplan.web.trial import newly_wrong, tried

CHANGED = "the file site.toml was changed by another window or program since this page read it"


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of what is written in ``site.toml``."""

    async def read(_: Request) -> Response:
        return JSONResponse(await beside(lambda: _told(desk)))

    async def fixed(_: Request) -> Response:
        return JSONResponse(await beside(_never_changing))

    async def rules(_: Request) -> Response:
        site = await beside(desk.store.site)
        return JSONResponse(await beside(lambda: rules_answer(load_stack(site.rules), site)))

    async def change(request: Request) -> Response:
        asked = await json_object(request, most_bytes=1_000_000)
        based_on = asked.get("revision")
        if not isinstance(based_on, str):
            raise Refused(400, 'expected a JSON object with "edits" and "revision"')
        async with desk.writing:
            if desk.store.revision(SITE_TOML) != based_on:
                return faults(409, CHANGED)
            text = await beside(lambda: _edited(desk, asked))
            try:
                await beside(lambda: _check(desk, text))
                revision = await beside(lambda: desk.store.save_file(SITE_TOML, text, based_on))
            except InputFaults as refused:
                at = placed(refused.faults, text)
                return JSONResponse({"faults": [one["line"] for one in at], "at": at}, status_code=422)
        if revision is None:
            return faults(409, CHANGED)
        return JSONResponse(await beside(lambda: _told(desk)))

    return [
        Route("/api/words", answering(read), methods=["GET"]),
        Route("/api/words", answering(change), methods=["PUT"]),
        Route("/api/words/forms", answering(fixed), methods=["GET"]),
        Route("/api/rules", answering(rules), methods=["GET"]),
    ]


def _edited(desk: Desk, asked: dict[str, Any]) -> str:
    if "text" in asked:
        if not isinstance(asked["text"], str):
            raise Refused(400, "expected the text of site.toml")
        return asked["text"]
    text = desk.store.text(SITE_TOML)
    return edited(text, asked.get("edits"), _fact_sorts(text))


def _fact_sorts(text: str) -> dict[str, str]:
    """Sorts of the facts of the whole site, as far as the rules can be read."""
    try:
        return load_stack(str(tomllib.loads(text)["site"]["rules"])).site_facts
    except (SiteplanError, ValueError, LookupError, TypeError):
        return {}


def _check(desk: Desk, text: str) -> None:
    """Raise ``InputFaults`` for all that is newly wrong: a fault that was there before is no reason to keep a change out."""
    within = desk.store.versions.folder
    within.mkdir(exist_ok=True)
    before, after = _wrong(desk, None, within), _wrong(desk, text, within)
    if new := newly_wrong(after, before):
        raise InputFaults(new)


def _wrong(desk: Desk, text: str | None, within: Any) -> Iterable[Fault]:
    """All that keeps the folder from being planned, as it stands or with this ``site.toml``."""
    try:
        outcome = (
            desk.store.site()
            if text is None
            else tried(desk.folder, {SITE_TOML: text.encode("utf-8")}, within)
        )
        if isinstance(outcome, Site):
            resolve(load_stack(outcome.rules), outcome)
            return ()
    except InputFaults as wrong:
        return wrong.faults
    return outcome


def _never_changing() -> dict[str, Any]:
    """Forms, products, and what a line may start from and end at."""
    return {
        "forms": forms(),
        "products": [
            {"id": one.id, "name": one.name, "carries": one.carries, "method": one.method}
            for one in products().values()
        ],
        "starts": STARTS,
        "ends": ENDS,
        "layers": layers_answer(),
        "line_facts": LINE_FACTS,
        "kinds": {kind.id: kind.name for kind in kinds().values()},
    }


def _told(desk: Desk) -> dict[str, Any]:
    """What ``site.toml`` says, what is drawn, and what is wrong."""
    text = desk.store.text(SITE_TOML)
    try:
        values = tomllib.loads(text)
    except ValueError:
        values = {}
    wrong: Iterable[Fault] = ()
    things: list[dict[str, Any]] = []
    asked: dict[str, list[str]] = {}
    try:
        site = desk.store.site()
        things = [
            {
                "id": one.id,
                "name": one.name,
                "kind": one.kind,
                "carries": carried_by(one) if one.kind == "buried_line" else None,
            }
            for one in site.features
        ]
        stack = load_stack(site.rules)
        asked = {
            carries: list(line_facts_asked(stack, carries))
            for carries in ("water", "electric", "communications")
        }
        resolve(stack, site)
    except InputFaults as faults_found:
        wrong = faults_found.faults
    return {
        "revision": desk.store.revision(SITE_TOML),
        "stamp": desk.store.stamp(),
        "text": text,
        "values": json.loads(json.dumps(values, default=str)),
        "things": things,
        "asked": asked,
        "prices": _prices(values),
        "faults": placed(wrong, text),
    }


def _prices(values: dict[str, Any]) -> dict[str, Any]:
    """The usual price of every row, in the unit of the site's own prices."""
    usual = rates()
    stated = values.get("rates", {}).get("per")
    rows = []
    for row in usual.rows.values():
        unit = row.unit if row.unit == "each" or stated not in ("ft", "m") else stated
        per_unit = FOOT_M if unit == "ft" else 1.0
        prices = [round(price * per_unit, 2) for price in (row.low, row.likely, row.high)]
        rows.append({"id": row.id, "name": row.name, "unit": unit, "usual": prices, "source": row.source})
    return {"currency": usual.currency, "rows": rows}
