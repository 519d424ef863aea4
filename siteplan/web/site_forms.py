"""The tables of ``site.toml`` as forms to fill in: every key of the schema, in plain words, with the names of what it may be.

Keys, sorts and examples come from ``site_schema``; the table here holds only the order and the words of the page. A key without
words there comes last, under its own name.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from functools import cache
from typing import Any

from siteplan.read.schema import site_schema
from siteplan.site.catalogue import frost_soils, frost_surfaces, kinds, methods, products, soils

FORMS: Mapping[str, Mapping[str, str]] = {
    "line": {
        "carries": "Carries",
        "from": "From",
        "to": "To",
        "product": "Pipe, conduit or cable",
        "method": "Wiring method",
        "cover": "Your own cover over it",
        "name": "Name that prints",
        "id": "Short name (id)",
        "through": "Points that it passes",
        "drawn": "Drawn route that it lies in",
        "closed_sides": "Sides of the building without an entry",
    },
    "digging": {
        "soil": "Soil",
        "bucket": "Width of bucket or chain",
        "bedding": "Bedding below the lowest line",
        "entered": "Does anybody get into the trench?",
        "machine": "Machine",
        "machine_width": "Strip that the machine needs",
        "way_in": "Way in and out",
        "ground": "Ground where nothing is drawn",
        "steepest": "Steepest ground that it digs on",
        "bore": "May it be bored under drives?",
        "bored_under": "Never opened, bored under if crossed",
        "longest_bore": "Longest bore",
        "least_crossing_angle": "Least angle across a buried line",
        "laying": "How the line is laid out",
        "laying_error": "How far the line may lie off",
        "depth_error": "How far the bottom may be off",
    },
    "site": {
        "name": "Name of the site",
        "units": "Sheets print lengths in",
        "elevation": "Height above the sea",
        "rules": "Rules",
    },
    "frost": {
        "freezing_index": "Air freezing index",
        "mean_annual": "Mean annual air temperature",
        "season": "Freezing season",
        "surface": "Surface along the line",
        "snow_cleared": "Is snow cleared off?",
        "n": "n-factor instead of a surface",
        "soil": "Soil",
        "dry_density": "Dry density",
        "water": "Water in the soil",
    },
    "bench_mark": {"at": "What it is", "elevation": "Its elevation", "rod": "Rod reading on it"},
    "paper": {
        "address": "Address",
        "parcel_number": "Parcel number",
        "owner": "Owner",
        "contractor": "Contractor",
        "phone": "Phone",
        "licence": "Contractor's licence",
        "permit": "Permit",
        "directions": "Directions to the site",
        "legal": "Legal description",
        "prepared": "Prepared on",
        "prepared_by": "Prepared by",
        "scales": "Scales of the plot plan",
        "search_radius": "Hazards looked for within",
        "beyond_lot": "Who looked beyond the lot",
        "measured_by": "Measured by",
        "measured": "Measured on",
        "instruments": "Measured with",
    },
    "rates": {"currency": "Currency", "per": "Your prices by length go by"},
}
"""Tables with a form on the page: the words of each key, in the order of the form."""

_OPTIONS = {
    "ft": "feet",
    "ft-in": "feet and inches",
    "m": "metres",
    "electric": "power",
    "communications": "communications",
}
_EXAMPLE = re.compile(r"such as (\[.*?\]|\"[^\"]*\"|[\d-]+)")
_TOML_WORDS = re.compile(
    r",? ?a (?:text in quotes|date without quotes)|,? such as .*|^(?:true|false) if .*|.*layers/.*"
)


@cache
def forms() -> dict[str, list[dict[str, Any]]]:
    """Return the fields of each form.

    Each is a mapping: ``key``, ``label``, ``help`` (``""`` if the label says all), ``example``, ``sort`` (choice, yes_no, date,
    number, list or text), ``options`` (value and name of each), ``required``, ``may_be_empty``, and ``usual``, what holds if it
    is not stated.
    """
    schema = site_schema()
    made = {}
    for table, words in FORMS.items():
        model = _model(schema, table)
        keys = sorted(model["properties"], key=lambda key: _place(key, words))
        required = model.get("required", [])
        made[table] = [
            _field(key, model["properties"][key], words.get(key, ""), required=key in required)
            for key in keys
            if table != "rates" or key in words
        ]
    return made


def sort_of(table: str, key: str) -> str:
    """Sort of a key of a form; a text if no form has it."""
    return next((str(field["sort"]) for field in forms().get(table, []) if field["key"] == key), "text")


def is_required(table: str, key: str) -> bool:
    """Whether a table needs this key."""
    return any(field["key"] == key and field["required"] for field in forms().get(table, []))


def may_be_empty(table: str, key: str) -> bool:
    """Whether an empty text stands for a key that is not stated."""
    return any(field["key"] == key and field["may_be_empty"] for field in forms().get(table, []))


def _model(schema: dict[str, Any], table: str) -> dict[str, Any]:
    text = str(schema["properties"][table])
    name = re.search(r"#/\$defs/(\w+)", text)
    assert name is not None, table
    model: dict[str, Any] = schema["$defs"][name[1]]
    return model


def _place(key: str, words: Mapping[str, str]) -> int:
    return list(words).index(key) if key in words else len(words)


def _field(key: str, stated: dict[str, Any], label: str, *, required: bool) -> dict[str, Any]:
    sort = next((one for one in stated.get("anyOf", [stated]) if one.get("type") != "null"), stated)
    about = str(stated.get("description", ""))
    example = _EXAMPLE.search(about)
    items = sort.get("items", sort).get("enum", [])
    usual = stated.get("default")
    return {
        "key": key,
        "label": label or str(stated.get("title", key)).capitalize(),
        "help": _told(_TOML_WORDS.sub("", about).strip(), label),
        "example": _example(example[1]) if example else "",
        "sort": _sort(sort),
        "options": [[value, named(value, items)] for value in items],
        "required": required,
        "may_be_empty": usual == "",
        "usual": named(usual, items)
        if isinstance(usual, str) and usual
        else usual
        if usual is True
        else None,
    }


def _told(about: str, label: str) -> str:
    """Return the help, unless the label says as much."""
    said = label.casefold()
    more = [word for word in re.findall(r"[\w-]{4,}", about.casefold()) if word[:5] not in said]
    return about if len(more) > 1 else ""


def _example(stated: str) -> str:
    return ", ".join(json.loads(stated)) if stated.startswith("[") else stated.strip('"')


def _sort(stated: Mapping[str, Any]) -> str:
    if "enum" in stated:
        return "choice"
    if stated.get("format") == "date":
        return "date"
    plain = {"boolean": "yes_no", "number": "number", "integer": "number", "array": "list"}
    return plain.get(str(stated.get("type")), "text")


def named(value: str, among: list[str]) -> str:
    """Name of one of several values, as the table in ``layers/`` that holds them all has it."""
    tables: tuple[Mapping[str, Any], ...] = (
        soils(),
        products(),
        methods(),
        frost_soils(),
        frost_surfaces(),
        kinds(),
    )
    for table in tables:
        if among and set(among) <= set(table):
            return str(table[value].name)
    return _OPTIONS.get(value, value.replace("_", " "))
