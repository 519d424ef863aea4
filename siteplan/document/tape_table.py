"""The tapes in the terminal: how each measurement fits, how surely each point lies, and what to measure again."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from math import sqrt
from typing import TYPE_CHECKING

from siteplan.site.net import Misfit, Net, NetPoint
from siteplan.site.site import Site
from siteplan.units import Printer

if TYPE_CHECKING:
    from rich.table import Table

_WIDTH = 118
_SEEN_M = 0.001


def tape_table(site: Site, net: Net) -> str:
    """Measurements, points, outings and warnings of a solved net as text."""
    from rich.console import Console
    from rich.text import Text

    print_ = Printer(site.units)
    out = io.StringIO()
    console = Console(file=out, width=_WIDTH, force_terminal=False, color_system=None)
    console.print(Text(f"{site.name}: {len(net.misfits)} measured values between {_taped(net)} points"))
    console.print(_measurements(net.misfits, print_))
    if any(each.measured < 0 for each in net.misfits):
        console.print(Text("Offsets to the right are negative."))
    console.print(_points(net.points, print_))
    for line in _sources(net, print_):
        console.print(Text(line), soft_wrap=True)
    for warning in net.warnings:
        where = f"{warning.source.file}:{warning.source.line}" if warning.source.line else warning.source.file
        console.print(Text(f"{where}: {warning.text}"), soft_wrap=True)
    if not net.warnings:
        console.print(Text("The errors explain every misfit."))
    return out.getvalue()


def worst_words(net: Net, print_: Printer) -> str:
    """The measurement that fits least, in a line for the summary."""
    worst = net.worst
    if worst is None:
        words = f"{len(net.misfits)} measured values, none of them checked by another"
    else:
        off, error = (value_words(worst, each, print_) for each in (abs(worst.misfit), worst.error))
        words = f"worst {worst.what}, {off} off (± {error})"
    count = len(net.warnings)
    return words + (f"; {count} to look at again: siteplan ties" if count else "")


def _taped(net: Net) -> int:
    return sum(point.taped for point in net.points)


def _measurements(misfits: Sequence[Misfit], print_: Printer) -> Table:
    table = _table(
        ("line", "measured", "value", "±", "misfit", "in sigmas", "without it", "note"), left=(1, 7)
    )
    for each in misfits:
        checked = each.without is not None
        cells = (
            str(each.source.line or ""),
            each.what,
            value_words(each, each.measured, print_),
            value_words(each, each.error, print_),
            signed_words(each, each.misfit, print_) if checked else "unchecked",
            f"{each.standardised:+.1f}" if checked else "",
            signed_words(each, each.without or 0.0, print_) if checked else "",
            each.note,
        )
        _add(table, cells)
    return table


def _points(points: Sequence[NetPoint], print_: Printer) -> Table:
    table = _table(("point", "x", "y", "within (95 %)", "long axis", "short axis", "toward"), left=(0,))
    for point in points:
        if point.taped:
            ellipse = point.ellipse
            cells = (
                point.name,
                print_.number(point.x),
                print_.number(point.y),
                *(print_.length(each) for each in (ellipse.radius_m, ellipse.major_m, ellipse.minor_m)),
                f"{round(ellipse.bearing_deg) % 180} deg" if ellipse.major_m > _SEEN_M else "",
            )
            _add(table, cells)
    return table


def _sources(net: Net, print_: Printer) -> Iterable[str]:
    """How the measurements of each way and outing fit, and how far each outing of coordinates was moved."""
    groups: dict[tuple[str, str], list[Misfit]] = {}
    for each in net.misfits:
        if each.without is not None:
            groups.setdefault((each.method, each.outing or ""), []).append(each)
    for (method, outing), own in groups.items():
        usual = sqrt(sum(each.standardised**2 for each in own) / len(own))
        name = f"{method}, {outing}" if outing else method
        yield f"{name}: {len(own)} checked, misfits {usual:.1f} times what their errors lead to expect"
    for shift in net.shifts:
        yield (
            f"{shift.outing}: moved as a whole {print_.length(abs(shift.east_m))} {'east' if shift.east_m >= 0 else 'west'}, "
            f"{print_.length(abs(shift.north_m))} {'north' if shift.north_m >= 0 else 'south'}"
        )


def value_words(misfit: Misfit, value: float, print_: Printer) -> str:
    """Print a number of a measurement in its own unit."""
    return f"{value:.1f} deg" if misfit.unit == "deg" else print_.length(value)


def signed_words(misfit: Misfit, value: float, print_: Printer) -> str:
    """Print it with its sign."""
    return f"{value:+.1f} deg" if misfit.unit == "deg" else print_.signed(value)


def _table(heads: Sequence[str], *, left: Sequence[int]) -> Table:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE, pad_edge=False, header_style="")
    for number, head in enumerate(heads):
        table.add_column(head, justify="left" if number in left else "right", no_wrap=head != "note")
    return table


def _add(table: Table, cells: Iterable[str]) -> None:
    from rich.text import Text

    table.add_row(*(Text(cell) for cell in cells))
