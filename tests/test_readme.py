"""What the README names exists: commands, options, output files, pictures, links; and its first paragraph tells the job."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest

from siteplan.cli import main
from siteplan.document.record_files import DATA, DERIVED, SHEETS
from siteplan.document.write import DOCUMENTS

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"\.venv/bin/siteplan ([^\n&]+)", README)


def test_there_are_commands() -> None:
    assert len(COMMANDS) >= 8


@pytest.mark.parametrize("line", COMMANDS)
def test_every_command_exists_with_its_options(line: str) -> None:
    words = shlex.split(line)
    command: click.Command = main
    while isinstance(command, click.Group):
        name = words.pop(0)
        assert name in command.commands, line
        command = command.commands[name]
    options = {option for param in command.params for option in param.opts}
    for word in words:
        assert not word.startswith("--") or word in options, line


def test_every_command_is_in_the_readme() -> None:
    named = {line.split()[0] for line in COMMANDS}
    assert named == set(main.commands)


@pytest.mark.parametrize("name", DOCUMENTS)
def test_every_output_file_is_in_the_readme(name: str) -> None:
    assert f"`{name}`" in README


@pytest.mark.parametrize("name", (DATA, *DERIVED, *SHEETS))
def test_every_file_of_the_record_is_in_the_readme(name: str) -> None:
    assert f"`{name}`" in README


def test_every_file_of_the_outputs_table_is_written() -> None:
    table = README.split("| File | For whom |")[1].split("\n\n")[0]
    named = {name for name in re.findall(r"`([\w.-]+)`", table) if "." in name}
    assert named == set(DOCUMENTS)


@pytest.mark.parametrize("path", re.findall(r"\]\((?!http)([^)#]+)\)", README))
def test_every_link_and_picture_is_here(path: str) -> None:
    assert (ROOT / path).is_file()


def test_the_job_is_told_first() -> None:
    paragraph = README.split("\n\n")[1]
    for word in ("driller", "locates", "setbacks", "frost", "trench", "record"):
        assert word in paragraph
