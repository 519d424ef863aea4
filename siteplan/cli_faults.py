"""How every command speaks of a fault: one line each, the exit code, never a traceback."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import Any

import click

from siteplan.errors import InputFaults, NoRoute, SiteplanError

FOLDER = click.Path(path_type=Path)


def one_line_faults(command: Callable[..., Any]) -> Callable[..., Any]:
    """Print what must be mended, one line each, and leave with the exit code; never a traceback."""

    @wraps(command)
    def wrapped(*args: Any, **kwargs: Any) -> Any:
        try:
            return command(*args, **kwargs)
        except InputFaults as faults:
            for fault in faults.faults:
                click.echo(str(fault), err=True)
            sys.exit(2)
        except NoRoute as closed:
            click.echo(f"no route: {' '.join(str(closed).split())}", err=True)
            sys.exit(1)
        except SiteplanError as error:
            click.echo(" ".join(str(error).split()), err=True)
            sys.exit(2)

    return wrapped
