"""What the page is told of the rules of a site: editions and gaps, what may be replaced, what is asked for and not stated."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from siteplan.rules import Stack, available_layers, resolve
from siteplan.rules.choices import replaceable, site_facts_asked
from siteplan.rules.citation import Citation
from siteplan.rules.model import LayerNote, Requirements, Setback
from siteplan.rules.overrides import overridden
from siteplan.site.catalogue import kinds
from siteplan.site.site import Site


@cache
def layers_answer() -> list[dict[str, Any]]:
    """Every rules layer: its name, and in words whose it is and how far it was read."""
    return [
        {
            "name": layer.name,
            "title": layer.title,
            "covers": layer.covers,
            "thin": layer.thin,
            "rows": layer.rows,
            "verified": layer.verified,
        }
        for layer in available_layers()
    ]


def rules_answer(stack: Stack, site: Site) -> dict[str, Any]:
    """Return what the rules of a site say of themselves and ask of it.

    Raises ``InputFaults`` as ``resolve`` does.
    """
    needs = resolve(stack, site)
    stack = overridden(stack, site.overrides)
    return {
        "layers": [_layer(note) for note in needs.stack],
        "unconfirmed": [_cited(one) for one in needs.unconfirmed],
        "warnings": list(needs.warnings),
        "rows": [
            {
                "id": row.citation.row,
                "heading": row.heading,
                "words": row.words,
                "numbers": dict(row.numbers),
                "together": row.together,
                **_cited(row.citation),
            }
            for row in replaceable(stack)
        ],
        "facts": list(_facts(stack, site, needs)),
        "things": list(_facts_of_things(site, needs)),
        "unlooked": [
            {"kind": kind, "name": kinds()[kind].name, **_cited(citation)}
            for kind, citation in needs.unlooked
        ],
        "looked": [
            {"kind": kind, "name": kinds()[kind].name, "words": words} for kind, words in site.looked.items()
        ],
    }


def _layer(note: LayerNote) -> dict[str, Any]:
    return {
        "name": note.layer,
        "title": note.title,
        "authority": note.authority,
        "edition": note.edition,
        "gaps": list(note.gaps),
        "thin": note.thin,
        "set_aside": list(note.set_aside),
    }


def _cited(citation: Citation) -> dict[str, Any]:
    return {
        "citation": citation.text,
        "edition": citation.edition,
        "layer": citation.layer,
        "confirmed": citation.confirmed,
        "note": citation.note,
    }


def _facts(stack: Stack, site: Site, needs: Requirements) -> Iterator[dict[str, Any]]:
    """Facts of the whole site that rows ask for: which rows, and what difference it makes on this site."""
    for name, rows in site_facts_asked(stack).items():
        asking = [placed.cite() for placed in rows]
        yield {
            "key": name,
            "sort": stack.site_facts.get(name, "text"),
            "asked_by": list(dict.fromkeys(f"{one.text} ({one.layer})" for one in asking)),
            "difference": [
                words
                for one in needs.setbacks
                if one.applies and f"site.{name}" in one.missing
                for words in (_difference(site, one),)
            ],
        }


def _facts_of_things(site: Site, needs: Requirements) -> Iterator[dict[str, Any]]:
    """Facts of drawn things and of lines to lay that a rule asks for and nobody stated."""
    for one in needs.setbacks:
        whose = {"well": one.of, "hazard": one.to, "line": one.of}
        for fact in one.missing if one.applies else ():
            owner, _, name = fact.partition(".")
            if owner in whose:
                yield {
                    "id": whose[owner],
                    "thing": _name(site, whose[owner]),
                    "fact": name.replace("_", " "),
                    "difference": _difference(site, one),
                }


def _difference(site: Site, setback: Setback) -> str:
    """What a missing fact decides: ``well to Field: 100 ft: in a subdivision; no such rule: otherwise``."""
    answers = "; ".join(
        f"{length if length is not None else 'this rule does not hold'} if {words}"
        if words != "otherwise"
        else f"otherwise {length if length is not None else 'this rule does not hold'}"
        for words, length in setback.either
    )
    return f"{_name(site, setback.of)} to {_name(site, setback.to)}: {answers}"


def _name(site: Site, wanted: str) -> str:
    names = {one.id: one.name for one in site.features} | {line.id: line.name for line in site.lines}
    return names.get(wanted, wanted)
