"""Earlier versions of the files of a site folder, numbered in the order in which they were replaced.

They lie in ``.history``: ``0007-site.geojson`` is what ``site.geojson`` was before the seventh change of any file.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

HISTORY = ".history"
KEPT = 500
_NAME = re.compile(r"(\d{4,})-(.+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """One earlier version: its number, the file that it was, and until when it stood."""

    number: int
    file: str
    until: datetime
    path: Path


class Versions:
    """The earlier versions of one folder.

    Parameters
    ----------
    folder : Path
        A site folder.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder / HISTORY

    def all(self) -> list[Version]:
        """Return them oldest first."""
        found = []
        for path in self.folder.glob("*-*"):
            name = _NAME.fullmatch(path.name)
            if name and path.is_file():
                until = datetime.fromtimestamp(path.stat().st_mtime).astimezone()
                found.append(Version(number=int(name[1]), file=name[2], until=until, path=path))
        return sorted(found, key=lambda version: version.number)

    def places(self, replaced: dict[str, bytes]) -> dict[Path, bytes]:
        """Return where what is replaced now has to be kept."""
        earlier = self.all()
        first = earlier[-1].number + 1 if earlier else 1
        return {
            self.folder / f"{number:04}-{name}": content
            for number, (name, content) in enumerate(replaced.items(), first)
        }

    def prune(self) -> None:
        """Take away the oldest beyond ``KEPT``."""
        for version in self.all()[:-KEPT]:
            version.path.unlink(missing_ok=True)
