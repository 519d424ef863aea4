"""Pictures of a map service under the drawing: off, unless the user names the address when the page is started.

The page's content policy then names that one host. siteplan itself fetches nothing; the browser asks the host for the
pictures of the ground that is looked at.
"""

from __future__ import annotations

import re
from urllib.parse import urlsplit

from siteplan.errors import SiteplanError

_HOST = re.compile(r"[a-z0-9]([a-z0-9.-]*[a-z0-9])?(:[0-9]{1,5})?")
_EXAMPLE = "https://pictures.example/{z}/{x}/{y}.png"


def origin_of(address: str) -> str:
    """Return the one origin that an address of map pictures may be fetched from, ``""`` for no address.

    Parameters
    ----------
    address : str
        With ``{z}``, ``{x}`` and ``{y}`` where the service wants zoom, column and row of a picture.

    Raises
    ------
    SiteplanError
        It is no https address of a plain host, or leaves one of the three out.

    Examples
    --------
    >>> origin_of("https://pictures.example/{z}/{x}/{y}.png"), origin_of("")
    ('https://pictures.example', '')
    """
    if not address:
        return ""
    try:
        parts = urlsplit(address)
    except ValueError:
        parts = urlsplit("")
    host = parts.netloc.lower()
    complete = all(part in parts.path + parts.query for part in ("{z}", "{x}", "{y}"))
    if parts.scheme != "https" or not _HOST.fullmatch(host) or not complete or not address.isprintable():
        raise SiteplanError(f"--tiles {address}: expected an address such as {_EXAMPLE}")
    return f"https://{host}"
