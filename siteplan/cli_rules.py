"""The commands on rules layers: list, show, check and explain."""

from __future__ import annotations

from pathlib import Path

import click

from siteplan.cli_faults import FOLDER, one_line_faults
from siteplan.errors import Fault, InputFaults


@click.group()
def rules() -> None:
    """List, show, check and explain the rules layers."""


@rules.command("list")
@one_line_faults
def rules_list() -> None:
    """List the rules layers that are here, and say which are not whole."""
    from siteplan.rules import available_layers

    found = available_layers()
    width = max(len(layer.name) for layer in found)
    for layer in found:
        click.echo(f"{layer.name:<{width}}  {layer.title}{' (not whole)' if layer.thin else ''}")


@rules.command("show")
@click.argument("layer", metavar="LAYER")
@one_line_faults
def rules_show(layer: str) -> None:
    """Show one layer as a readable page, such as us/mt."""
    from siteplan.rules import layer_page

    click.echo(layer_page(layer))


@rules.command("check")
@click.argument("file", type=FOLDER, metavar="FILE")
@one_line_faults
def rules_check(file: Path) -> None:
    """Check a rules file: one line for each fault."""
    from siteplan.rules import check_file

    faults = check_file(file)
    if faults:
        raise InputFaults(faults)
    click.echo(f"{file}: no faults found")


@rules.command("schema")
@one_line_faults
def rules_schema() -> None:
    """Print the JSON Schema of a rules file, for editors."""
    import json

    from siteplan.rules import layer_schema

    click.echo(json.dumps(layer_schema(), indent=2))


@rules.command("explain")
@click.argument("folder", type=FOLDER, metavar="DIR")
@click.option(
    "--pair", metavar="A:B", help="Two ids, names or kinds, such as well:absorption_area or water:cover."
)
@click.option(
    "--station", metavar="REACH:STATION", help="The cover there, such as Main:0+50; plans the site."
)
@one_line_faults
def rules_explain(folder: Path, pair: str | None, station: str | None) -> None:
    """Explain which rows spoke of a pair, which governs and why; of every pair in short if none is named."""
    from siteplan.read import read_site
    from siteplan.rules import explain, explain_all, load_stack

    if station is not None:
        click.echo(_cover_at(folder, station))
    if pair is None and station is not None:
        return
    site = read_site(folder)
    stack = load_stack(site.rules)
    if pair is None:
        click.echo(explain_all(stack, site))
        return
    subject, _, to = pair.partition(":")
    if not to:
        expected = "two ids, names or kinds with a colon between, such as well:absorption_area"
        raise InputFaults([Fault(file="--pair", found=f'"{pair}"', expected=expected)])
    click.echo(explain(stack, site, subject, to))


def _cover_at(folder: Path, station: str) -> str:
    """Tell the chain of the cover of each line in the trench at one station of one reach."""
    from siteplan.plan import plan_folder
    from siteplan.rules import explain_cover, load_stack
    from siteplan.units import Printer, UnitFault, parse_station

    planned = plan_folder(folder)
    site, print_ = planned.site, Printer(planned.site.units)
    name, _, text = station.rpartition(":")
    reaches = {reach.name.casefold(): reach for reach in planned.layout.reaches}
    reach = reaches.get(name.casefold())
    if reach is None:
        names = ", ".join(each.name for each in planned.layout.reaches)
        expected = f"a reach and a station such as {planned.layout.reaches[0].name}:{print_.station(0.0)}"
        raise InputFaults(
            [
                Fault(
                    file="--station", found=f'"{station}"', expected=expected, mend=f"the reaches are {names}"
                )
            ]
        )
    try:
        along_m = parse_station(text, site.units)
    except UnitFault as error:
        raise InputFaults([Fault(file="--station", found=error.found, expected=error.expected)]) from error
    if along_m > reach.length_m:
        expected = f"at most {print_.station(reach.length_m)}, where {reach.name} ends"
        raise InputFaults([Fault(file="--station", found=text, expected=expected)])
    section = [each for _, begin, _, each in planned.works.stretches([reach]) if begin <= along_m][-1]
    stack = load_stack(site.rules)
    told = [f"{reach.name} {print_.station(along_m)}: section {section.name}"]
    for laid in section.lines:
        told.append(explain_cover(stack, site, laid.line, laid.required.surface))
        told.append(f"planned here: {print_.length(laid.cover_m)}")
    return "\n\n".join(told)
