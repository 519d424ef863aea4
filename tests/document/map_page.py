"""The map page opened from disk with the network off, and the plans that its tests draw."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from siteplan.document.model import Plan
from siteplan.plane.underlay import lie
from siteplan.site.features import Source
from siteplan.site.underlay import KnownPoint, Underlay
from siteplan.units import System
from tests.document.sample_plan import cite, sample_plan

HOSTILE = '<img src=x onerror=alert(1)>"</script><script>alert(2)</script> {{7*7}} {% raw %}'


def planned(units: System = "ft", *, levelled: bool = True) -> Plan:
    """Sample plan in which every station names its section, as the measured ones do."""
    plan = sample_plan(units=units, levelled=levelled)
    stations, section = [], ""
    for station in plan.works.stations:
        section = station.section or section
        stations.append(replace(station, section=section))
    return replace(plan, works=replace(plan.works, stations=tuple(stations)))


DOTS = np.array([[40.0, 310.0], [420.0, 280.0], [300.0, 30.0]])
GROUND = np.array([[0.0, 0.0], [61.0, 0.0], [44.0, 40.0]])


def underlay(name: str = "plat.png", at: str = "Barn NW") -> Underlay:
    """A grey picture of 500 by 400 dots, laid by the first two corners of the parcel and one of the barn."""
    written = BytesIO()
    Image.new("L", (500, 400), 210).save(written, "PNG")
    return Underlay(
        name=name,
        sort="image/png",
        content=written.getvalue(),
        width_px=500,
        height_px=400,
        points=tuple(
            KnownPoint(right_px=right, down_px=down, at=corner)
            for (right, down), corner in zip(DOTS, ("Parcel 7 SW", "Parcel 7 SE", at), strict=True)
        ),
        source=Source(file="site.toml"),
        lie=lie(DOTS, GROUND),
    )


def hostile_plan() -> Plan:
    """Put the hostile text wherever a user can write."""
    plan = planned()
    bad = cite("row", HOSTILE, edition=HOSTILE, url="javascript:alert(3)", note=HOSTILE, standing="memory")
    site = replace(
        plan.site,
        name=HOSTILE,
        paper=replace(plan.site.paper, address=HOSTILE, owner=HOSTILE, phone=HOSTILE),
        features=tuple(
            replace(each, name=HOSTILE, facts={**each.facts, "owner": HOSTILE, HOSTILE: HOSTILE})
            for each in plan.site.features
        ),
        lines=tuple(replace(each, name=HOSTILE) for each in plan.site.lines),
        looked={HOSTILE: HOSTILE},
    )
    works = replace(
        plan.works,
        stations=tuple(replace(each, what=HOSTILE) for each in plan.works.stations),
        prices=tuple(replace(each, what=HOSTILE) for each in plan.works.prices),
    )
    others = tuple(replace(each, name=HOSTILE, why=HOSTILE) for each in plan.layout.alternatives)
    findings = tuple(
        replace(each, what=HOSTILE, settle=HOSTILE, method=HOSTILE, because=(HOSTILE,), citation=bad)
        for each in plan.findings
    )
    site = replace(site, underlays=(underlay(name=HOSTILE, at=HOSTILE),))
    return replace(
        plan,
        site=site,
        works=works,
        findings=findings,
        layout=replace(plan.layout, certificate=HOSTILE, alternatives=others),
        requirements=replace(plan.requirements, overridden=(bad,)),
    )


class Opened:
    """A page opened from disk with the network off, and all that it did."""

    def __init__(
        self, browser: Any, file: Path, width: int, height: int, script: str = "", **options: Any
    ) -> None:
        self.context = browser.new_context(
            offline=True, viewport={"width": width, "height": height}, **options
        )
        self.page = self.context.new_page()
        if script:
            self.page.add_init_script(script)
        self.requests: list[str] = []
        self.messages: list[str] = []
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("console", lambda message: self.messages.append(message.text))
        self.page.on("pageerror", lambda error: self.messages.append(str(error)))
        self.page.on("dialog", self._dialog)
        self.page.goto(file.as_uri())
        self.wait_for_frame()

    def wait_for_frame(self) -> None:
        """Wait until the browser has drawn the page as it is now, with what waits for a drawing."""
        self.page.evaluate(
            "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => done())))"
        )

    def _dialog(self, dialog: Any) -> None:
        self.messages.append(f"dialog: {dialog.message}")
        dialog.dismiss()

    def click_shape(self, ref: str) -> str:
        """Click the middle of a shape as a pointer would and return the popup's text."""
        x, y = self.page.evaluate(
            """ref => {
                let found = null;
                planShapes.eachLayer((shape) => { if (shape.feature.properties.ref === ref) found = shape.getElement(); });
                const middle = found.getPointAtLength(found.getTotalLength() / 2);
                const at = middle.matrixTransform(found.getScreenCTM());
                return [at.x, at.y];
            }""",
            ref,
        )
        self.page.mouse.click(x, y)
        return self.popup()

    def popup(self) -> str:
        self.page.wait_for_selector(".leaflet-popup .card")
        return str(self.page.inner_text(".leaflet-popup .card"))
