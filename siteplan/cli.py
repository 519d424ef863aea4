"""The commands. No geometry and no rules here: each calls the room that does the work.

Exit codes: 0 fine, 1 something is short (or no trench fits), 2 the input must be mended. ``review`` also gives 3: nothing is
short, but something is not settled (needs approval, too close to call, not checked).
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from siteplan import __version__
from siteplan.cli_faults import FOLDER, one_line_faults
from siteplan.cli_rules import rules
from siteplan.errors import Fault, InputFaults, NoRoute

if TYPE_CHECKING:
    from siteplan.document.model import Plan

UNSETTLED = 3
on_paper = click.option(
    "--paper",
    type=click.Choice(["letter", "tabloid", "a4", "a3"], case_sensitive=False),
    default="letter",
    show_default=True,
    help="Paper of the sheets.",
)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__)
def main() -> None:
    """Plan the buried water line and conduit between a private well and its buildings.

    Call for utility locates and wait before you dig. Local code and the authority having jurisdiction decide.
    """


main.add_command(rules)


@main.command()
@one_line_faults
def demo() -> None:
    """Plan the bundled example into ./siteplan-demo and say what to open."""
    from siteplan.site.catalogue import data_folder

    example = data_folder("example_sites") / "cedar-bench"
    _plan_into(example, Path("siteplan-demo"))
    click.echo("\nThis is the bundled example, an invented site. Start your own with: siteplan new my-site")


@main.command()
@click.argument("folder", type=FOLDER, required=False, metavar="DIR")
@click.option("--schema", is_flag=True, help="Print the JSON Schema of site.toml instead.")
@one_line_faults
def new(folder: Path | None, schema: bool) -> None:
    """Write a new site folder DIR with a commented site.toml that plans as it stands."""
    if schema:
        import json

        from siteplan.read import site_schema

        click.echo(json.dumps(site_schema(), indent=2))
        return
    if folder is None:
        raise click.UsageError("say where: siteplan new DIR")
    from siteplan.read import write_new_site

    write_new_site(folder)
    click.echo(f"Wrote {folder}. Edit {folder / 'site.toml'}, then: siteplan plan {folder}")


@main.command()
@click.argument("folder", type=FOLDER, metavar="DIR")
@click.option("--out", type=FOLDER, help="Where to write; DIR/plan unless said.")
@click.option(
    "--call",
    metavar="TIME",
    help='Local time of the call for locates, "2026-11-25 15:00": gives the dig dates.',
)
@on_paper
@click.option(
    "--language",
    type=click.Choice(["en", "es"]),
    default="en",
    show_default=True,
    help="Language of the route sheet: English or Spanish.",
)
@click.option(
    "--variance",
    is_flag=True,
    help="Write variance.pdf too: for each setback that is short or not settled the rule, what was tried, blanks.",
)
@one_line_faults
def plan(folder: Path, out: Path | None, call: str | None, paper: str, language: str, variance: bool) -> None:
    """Plan the site in DIR: route, checks, map, printed sheets and records."""
    planned = _plan_into(folder, out or folder / "plan", call, paper, language, variance=variance)
    from siteplan.check import worst_verdict

    if worst_verdict(planned.findings) == "short":
        sys.exit(1)


def _plan_into(
    folder: Path,
    out: Path,
    call: str | None = None,
    paper: str = "letter",
    language: str = "en",
    *,
    variance: bool = False,
) -> Plan:
    from siteplan.document.sheet import PAPERS
    from siteplan.document.summary import summary
    from siteplan.document.write import VARIANCE, write_documents
    from siteplan.plan import plan_folder
    from siteplan.rules.clock import call_time

    called = call_time(call) if call is not None else None
    try:
        _at_work("planning")
        with _drawn_if_blocked(out):
            planned = plan_folder(folder, call=called)
        written = write_documents(
            planned, out, PAPERS[paper.lower()], language=language, variance=variance, begun=_at_work
        )
    finally:
        _at_work("")
    click.echo(summary(planned))
    click.echo(f"\nWrote {len(written)} files. {_where_to_look(planned, out)}")
    if variance and out / VARIANCE not in written:
        click.echo(f"No {VARIANCE}: no required setback is short, needs approval or is too close to call.")
    return planned


def _at_work(on: str) -> None:
    """Show on one line of the terminal what is being made; nothing where errors go to a file."""
    if sys.stderr.isatty():
        click.echo(f"\r\x1b[K{on}{' ...' if on else ''}", nl=False, err=True)


def _where_to_look(planned: Plan, out: Path) -> str:
    """Say what to open and print, and what is not there because the site is on no map."""
    from siteplan.document.write import IN_DEGREES

    sheet = f"print {out / 'route-sheet.pdf'}"
    if planned.frame.placed:
        return f"Open {out / 'map.html'}; {sheet}."
    missing = ", ".join(IN_DEGREES)
    return (
        f"P{sheet[1:]}. Not written, as the site has no longitude and latitude: {missing}. "
        "For these read an origin off a county map, and add it to [grid] with north."
    )


@contextmanager
def _drawn_if_blocked(out: Path) -> Iterator[None]:
    """Leave a drawing of what blocks the way, if no trench fits."""
    try:
        yield
    except NoRoute as closed:
        from siteplan.document.geojson import blocked_geojson
        from siteplan.document.write import write_files

        if not closed.where.is_empty:
            written = write_files({out / "no-route.geojson": blocked_geojson(closed)})
            click.echo(f"Drew what blocks the way: {written[0]}", err=True)
        raise


@main.command()
@click.argument("folder", type=FOLDER, metavar="DIR")
@click.option(
    "--under", "layers", multiple=True, metavar="LAYER", help="Compare under these rules; may be given again."
)
@one_line_faults
def review(folder: Path, layers: tuple[str, ...]) -> None:
    """Show the setback review of the site in DIR, worst first; the exit code says the worst verdict."""
    if layers:
        from siteplan.document.compare import compare_table
        from siteplan.plan import plan_under

        click.echo(compare_table(plan_under(folder, layers)), nl=False)
        return
    from siteplan.check import worst_verdict
    from siteplan.document.summary import review_table
    from siteplan.plan import plan_folder

    planned = plan_folder(folder)
    click.echo(review_table(planned), nl=False)
    worst = worst_verdict(planned.findings)
    if worst == "short":
        sys.exit(1)
    if worst not in ("clear", "not applicable"):
        sys.exit(UNSETTLED)


@main.command()
@click.argument("folder", type=FOLDER, metavar="DIR")
@one_line_faults
def ties(folder: Path) -> None:
    """Solve the tapes of the site in DIR: how each fits, how surely each point lies; exits 1 if one wants another look."""
    from siteplan.document.tape_table import tape_table
    from siteplan.plane.place import place
    from siteplan.read import read_site

    site, _ = place(read_site(folder))
    if site.net is None:
        wanted = "one row a measurement: point, from, distance; README.md has the other columns"
        raise InputFaults([Fault(file="ties.csv", found="no measurements", expected=wanted)])
    click.echo(tape_table(site, site.net), nl=False)
    if site.net.warnings:
        sys.exit(1)


@main.command()
@click.argument("folder", type=FOLDER, metavar="DIR")
@click.option("--out", type=FOLDER, help="Where to write; DIR/record unless said.")
@on_paper
@one_line_faults
def record(folder: Path, out: Path | None, paper: str) -> None:
    """Hold shots.csv against the plan, run the verdicts again on what was built, and keep the record."""
    from siteplan.check import worst_verdict
    from siteplan.document.record_files import DATA, write_record
    from siteplan.document.record_words import record_table
    from siteplan.document.sheet import PAPERS
    from siteplan.record import record_folder

    kept = out or folder / "record"
    built = record_folder(folder, kept / DATA)
    written = write_record(built, kept, PAPERS[paper.lower()])
    click.echo(record_table(built), nl=False)
    click.echo(f"Wrote {len(written)} files. The record is {kept / DATA}.")
    if worst_verdict(built.findings) == "short":
        sys.exit(1)


@main.command()
@click.argument("file", type=FOLDER, metavar="ASBUILT.GEOJSON")
@click.argument("name", nargs=-1, metavar="[NAME]")
@one_line_faults
def find(file: Path, name: tuple[str, ...]) -> None:
    """Find a buried point again, such as "bend B2": tapes, bearings, cover. Without NAME, list the points."""
    from siteplan.document.find_words import point_found, points_listed
    from siteplan.read.asbuilt import read_asbuilt

    record_file = read_asbuilt(file)
    click.echo(point_found(record_file, " ".join(name)) if name else points_listed(record_file), nl=False)


@main.command()
@click.argument("folder", type=FOLDER, metavar="DIR")
@click.option("--port", default=0, show_default="a free one", help="Port on this machine.")
@click.option("--no-open", is_flag=True, help="Print the address, open no browser.")
@click.option(
    "--share",
    is_flag=False,
    flag_value="auto",
    default="",
    metavar="[ADDRESS]",
    help="Answer a phone in the same local network too, by an address with a key of its own and a code to read.",
)
@click.option(
    "--tiles",
    default="",
    metavar="ADDRESS",
    help="Let the page show the pictures of this map service, such as https://pictures.example/{z}/{x}/{y}.png.",
)
@one_line_faults
def draw(folder: Path, port: int, no_open: bool, share: str, tiles: str) -> None:
    """Open the drawing page of the site in DIR on this machine; plan and verdicts follow each change."""
    from siteplan.web.serve import serve

    serve(folder, port=port, open_browser=not no_open, share=share, tiles=tiles)
