"""One HTML file that opens with no network: the map and its panels, everything inside, nothing fetched.

folium writes the map and its shapes; the page around it is ours. Leaflet comes from ``siteplan/web/vendor``,
where the build put it. The page carries a policy with the hash of each of its scripts and styles, so that the
browser runs those and nothing else, whatever stands in a name. Importing this module imports folium: do it
inside the function that draws.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from html.parser import HTMLParser
from importlib import resources
from typing import Any, cast

import folium
from folium import Element, Figure

from siteplan.errors import SiteplanError

_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
{styles}
</head>
<body>
<div id="plan-map">{map_div}</div>
<noscript><p>The map is drawn by a script in this file, and scripts are switched off here.</p></noscript>
{body}
{scripts}
</body>
</html>
"""


class OfflineMap(folium.Map):
    """A folium map that asks for no tiles, no fonts and no outside script.

    Add :class:`OfflineShapes`, with a ``GeoJsonTooltip`` if wanted. What in folium needs jQuery or an icon
    font (``Popup``, ``Icon``, ``keep_in_front``) cannot work here, and ``Tooltip`` writes its text unescaped.

    Parameters
    ----------
    bounds : tuple of float
        West, south, east, north of what the map shows first, longitude and latitude [deg].
    """

    default_js: list[tuple[str, str]] = []  # noqa: RUF012
    default_css: list[tuple[str, str]] = []  # noqa: RUF012

    def __init__(self, bounds: tuple[float, float, float, float]) -> None:
        west, south, east, north = bounds
        super().__init__(
            location=((south + north) / 2, (west + east) / 2),
            tiles=None,
            max_zoom=24,
            zoom_snap=0.25,
            attribution_control=False,
        )
        self.fit_bounds([[south, west], [north, east]], padding=(24, 24), max_zoom=21)


class OfflineShapes(folium.GeoJson):
    """GeoJSON on an :class:`OfflineMap`, with every text in it escaped first (see :func:`escaped`).

    Parameters
    ----------
    collection : mapping
        A FeatureCollection in longitude and latitude.
    **options
        Those of ``folium.GeoJson``, for example ``style_function`` or ``tooltip``.
    """

    def __init__(self, collection: Mapping[str, Any], **options: Any) -> None:
        super().__init__(escaped_json(collection), **options)


def escaped(text: str) -> str:
    """Make a text harmless in HTML, in an attribute and in folium, which reads ``{{ }}`` as a template.

    >>> escaped('Barn <b> {{ 7*7 }}')
    'Barn &lt;b&gt; &#123;&#123; 7*7 &#125;&#125;'
    """
    return html.escape(text).replace("{", "&#123;").replace("}", "&#125;")


def escaped_json(value: Any) -> Any:
    """Copy a JSON value with every text and key in it escaped.

    >>> escaped_json({"name": "<i>", "depths": [1.5, None]})
    {'name': '&lt;i&gt;', 'depths': [1.5, None]}
    """
    if isinstance(value, str):
        return escaped(value)
    if isinstance(value, Mapping):
        return {escaped(key): escaped_json(member) for key, member in value.items()}
    if isinstance(value, (list, tuple)):
        return [escaped_json(member) for member in value]
    return value


def data_block(data: Any, *, name: str = "plan-data") -> str:
    r"""Write data into the page's body for its scripts, which read ``JSON.parse(element.textContent)``.

    The texts arrive as they were given, not escaped: put them on the page with ``textContent``.

    Parameters
    ----------
    data : JSON value
        Numbers must be finite (``ValueError`` otherwise).
    name : str
        Id of the element.

    >>> data_block({"name": "</script>"})
    '<script type="application/json" id="plan-data">{"name":"\\u003c/script\\u003e"}</script>'
    """
    text = json.dumps(data, allow_nan=False, separators=(",", ":"))
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return f'<script type="application/json" id="{escaped(name)}">{text}</script>'


def vendor_text(name: str) -> str:
    """Read a browser library that the build put into ``siteplan/web/vendor``, for example ``leaflet.js``.

    Raises
    ------
    SiteplanError
        If the file is not there, because siteplan was not installed but only copied.
    """
    file = resources.files("siteplan").joinpath("web", "vendor", name)
    if not file.is_file():
        raise SiteplanError(f"{name} is missing from this installation of siteplan; reinstall: pip install .")
    return file.read_text(encoding="utf-8")


def sealed_html(map_: OfflineMap, *, title: str, styles: str, scripts: Sequence[str], body: str = "") -> str:
    """Compose the whole page; the same shapes and texts give the same bytes.

    Parameters
    ----------
    map_ : OfflineMap
        The map with its shapes; made for this page, because folium alters a map as it writes it. Scripts reach
        it as ``planMap`` and each :class:`OfflineShapes` by its ``get_name()``.
    title : str
        Plain text; escaped here.
    styles : str
        CSS that follows Leaflet's. The map lies in ``#plan-map``, which fills the page unless told otherwise.
    scripts : sequence of str
        Run in this order after the map stands.
    body : str
        HTML after the map. Its texts must be escaped already; ``style=`` and ``on...=`` are ignored.

    Raises
    ------
    ValueError
        If a script or style holds its own end tag, ``<!--`` or a carriage return.
    SiteplanError
        If Leaflet is missing, see :func:`vendor_text`.
    """
    figure = cast(Figure, map_.get_root())
    figure.render()
    head = _Head(figure.header.render()).blocks
    leaflet = f"/*\n{vendor_text('leaflet.LICENSE.txt')}*/\n{vendor_text('leaflet.js')}"
    page_css, page_js = (
        resources.files("siteplan.document").joinpath(name).read_text(encoding="utf-8")
        for name in ("page.css", "page.js")
    )
    drawing = f"{figure.script.render()}\nconst planMap = {map_.get_name()};\n"
    tidy = _Renaming(figure)
    map_div = tidy(figure.html.render().strip())
    css = [tidy(text) for text in (vendor_text("leaflet.css"), *head["style"], page_css, styles)]
    code = [tidy(text) for text in (leaflet, *head["script"], drawing, page_js, *scripts)]
    return _PAGE.format(
        policy=_policy(code, css),
        title=html.escape(title),
        styles="\n".join(_element("style", text) for text in css),
        map_div=map_div,
        body=tidy(body),
        scripts="\n".join(_element("script", text) for text in code),
    )


class _Head(HTMLParser):
    """The styles and scripts in the head that folium wrote; it holds nothing that a user typed."""

    def __init__(self, head: str) -> None:
        super().__init__()
        self.blocks: dict[str, list[str]] = {"style": [], "script": []}
        self.feed(head)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in self.blocks:
            self.blocks[tag].append("")

    def handle_data(self, data: str) -> None:
        if self.lasttag in self.blocks:
            self.blocks[self.lasttag][-1] += data


class _Renaming:
    """Replace folium's random ids by 1, 2, 3 ... in order of appearance."""

    def __init__(self, figure: Element) -> None:
        self._known = {element.get_name().rpartition("_")[2] for element in _family(figure)}
        self._numbers: dict[str, str] = {}

    def __call__(self, text: str) -> str:
        return re.sub(r"[0-9a-f]{32}", self._number, text)

    def _number(self, match: re.Match[str]) -> str:
        if match[0] not in self._known:
            return match[0]
        return self._numbers.setdefault(match[0], str(len(self._numbers) + 1))


def _family(element: Element) -> Iterator[Element]:
    yield element
    for child in element._children.values():
        yield from _family(child)


def _element(tag: str, text: str) -> str:
    if re.search(rf"</{tag}|<!--|\r", text, re.IGNORECASE):
        raise ValueError(f"a {tag} of the page holds text that would end it or change in reading")
    return f"<{tag}>{text}</{tag}>"


def _policy(scripts: Sequence[str], styles: Sequence[str]) -> str:
    return (
        f"default-src 'none'; script-src {_hashes(scripts)}; style-src {_hashes(styles)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )


def _hashes(texts: Sequence[str]) -> str:
    digests = (hashlib.sha256(text.encode()).digest() for text in texts)
    return " ".join(f"'sha256-{base64.b64encode(digest).decode('ascii')}'" for digest in digests)
