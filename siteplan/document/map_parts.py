"""Parts of the column beside the map as HTML: sections, lists and tables, every text of the plan through ``escaped``."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from siteplan.document.page import escaped


def section(heading: str, *parts: str, name: str) -> str:
    """Compose a section with its heading; ``name`` is what a link leads to."""
    head = f'<h2 id="{name}-head">{escaped(heading)}</h2>'
    return f'<section id="{name}" aria-labelledby="{name}-head">{head}{"".join(parts)}</section>'


def more(words: str, *parts: str) -> str:
    """Fold parts away below a line of words."""
    return f"<details><summary>{escaped(words)}</summary>{''.join(parts)}</details>"


def terms(rows: Iterable[tuple[str, str]]) -> str:
    """Compose a list of term and text, without those that have no text."""
    pairs = "".join(f"<dt>{escaped(term)}</dt><dd>{escaped(text)}</dd>" for term, text in rows if text)
    return f"<dl>{pairs}</dl>"


def items(texts: Iterable[str]) -> str:
    """Compose a list; its texts are HTML already."""
    return f"<ul>{''.join(f'<li>{text}</li>' for text in texts)}</ul>"


def table(heads: Sequence[str], rows: Iterable[str]) -> str:
    """Compose a table of rows that are HTML already."""
    head = "".join(f'<th scope="col">{escaped(text)}</th>' for text in heads)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"


def button(ref: str, text: str, classes: str = "", label: str = "") -> str:
    """Compose a button that opens a card; ``label``: what a screen reader says instead of the text."""
    said = f' aria-label="{escaped(label)}"' if label else ""
    return f'<button type="button" data-ref="{escaped(ref)}" class="{classes}"{said}>{escaped(text)}</button>'


def number_cell(head: str, text: str) -> str:
    """Cell that names its column itself where a narrow screen drops the head of the table."""
    return f'<td data-head="{head}">{escaped(text)}</td>' if text else "<td></td>"
