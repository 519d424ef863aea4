"""Whether a site folder could still be read after a change: tried out on a copy of it before anything is written."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from siteplan.errors import Fault, InputFaults
from siteplan.read import read_site
from siteplan.site.site import Site

Changes = Mapping[str, bytes | None]
"""What files of the folder are to hold, by name; ``None`` takes a file away."""


def tried(
    folder: Path, changes: Changes, within: Path, read: Callable[[Path], Site] = read_site
) -> Site | tuple[Fault, ...]:
    """Read a copy of the folder with these changes: the site, or all that keeps it from being read.

    Parameters
    ----------
    folder : Path
        The site folder; nothing in it is changed.
    changes : mapping
    within : Path
        Existing folder for the copy, on the same disk, so that files are linked and not copied.
    read : callable
        Reads the copy.
    """
    with tempfile.TemporaryDirectory(prefix="trial-", dir=within) as name:
        trial = Path(name)
        for path in folder.iterdir():
            if path.is_file() and path.name not in changes and not path.name.startswith("."):
                _link_or_copy(path.resolve(), trial / path.name)
        for changed, content in changes.items():
            if content is not None:
                (trial / changed).write_bytes(content)
        try:
            return read(trial)
        except InputFaults as faults:
            return faults.faults


def newly_wrong(after: Iterable[Fault], before: Iterable[Fault]) -> tuple[Fault, ...]:
    """Return the faults that were not there before, whatever their line."""
    known = {_without_line(fault) for fault in before}
    return tuple(fault for fault in after if _without_line(fault) not in known)


def _without_line(fault: Fault) -> tuple[str, str, str, str]:
    return fault.file, fault.where, fault.found, fault.expected


def _link_or_copy(source: Path, to: Path) -> None:
    try:
        os.link(source, to)
    except OSError:
        shutil.copyfile(source, to)
