"""The drawing, read and saved."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import BaseRoute, Route

from siteplan.read.new_site import is_new_drawing
from siteplan.read.site_file import SITE_TOML
from siteplan.web.answers import catalogue, site_heading
from siteplan.web.bring import tape_grid
from siteplan.web.desk import Desk
from siteplan.web.door import faults
from siteplan.web.form_words import form_words
from siteplan.web.handling import Refused, answering, beside, json_object
from siteplan.web.site_edits import edited
from siteplan.web.site_store import SITE_FILE


def routes(desk: Desk) -> list[BaseRoute]:
    """Addresses of the drawing."""

    async def read(_: Request) -> Response:
        drawing, heading, words = await beside(
            lambda: (desk.store.load(), site_heading(desk.folder), form_words(desk.folder))
        )
        return JSONResponse(
            {
                "site": drawing.site,
                "revision": drawing.revision,
                "stamp": desk.store.stamp(),
                **heading,
                "catalogue": catalogue(),
                "words": words,
                "pictures": desk.pictures,
                "starting": is_new_drawing(drawing.site),
            }
        )

    async def save(request: Request) -> Response:
        asked = await json_object(request)
        if not isinstance(asked.get("revision"), str):
            raise Refused(400, 'expected a JSON object with "site" and "revision"')
        async with desk.writing:
            if await beside(lambda: tape_grid(desk.folder)):
                raise Refused(422, "this site is measured in a tape grid: it is changed in its files")
            revision = await beside(lambda: _saved(desk, asked))
        if revision is None:
            return faults(409, "the file site.geojson was changed by another program since this page read it")
        return JSONResponse({"revision": revision, "stamp": desk.store.stamp()})

    return [
        Route("/api/site", answering(read), methods=["GET"]),
        Route("/api/site", answering(save), methods=["PUT"]),
    ]


def _saved(desk: Desk, asked: dict[str, Any]) -> str | None:
    """Save a drawing, and with it the edits of ``site.toml`` that fix its routes; ``None`` if another hand changed it.

    While the disk is waited for, the planner looks at the site as it will be.
    """
    store, based_on = desk.store, asked["revision"]
    if not asked.get("edits"):
        return store.save(asked.get("site"), based_on, meanwhile=desk.planner.expect)
    stood = store.revision(SITE_TOML)
    text = edited(store.text(SITE_TOML), asked["edits"], {})
    changes = {SITE_FILE: store.drawing_bytes(asked.get("site")), SITE_TOML: text.encode("utf-8")}
    if not store.save_files(changes, {SITE_FILE: based_on, SITE_TOML: stood}):
        return None
    return store.revision()
