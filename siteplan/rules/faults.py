"""How this room speaks of a fault in a rules file: what was found, what was expected, and the nearest right word."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from difflib import get_close_matches
from functools import cached_property
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from siteplan.errors import Fault
from siteplan.site.toml_lines import KeyPath, line_of, toml_lines


class Unfit(ValueError):
    """A value that does not fit; the attributes are those of ``siteplan.errors.Fault``."""

    def __init__(self, *, found: str, expected: str, mend: str = "") -> None:
        self.found = found
        self.expected = expected
        self.mend = mend
        super().__init__(f"found {found}, expected {expected}")


def nearest(word: str, options: Iterable[str]) -> str:
    """Ask about the nearest of the options, ``""`` if none is near.

    >>> nearest("casing_dpth", ["casing_depth", "tag"])
    'did you mean "casing_depth"?'
    """
    near = get_close_matches(word, sorted(options), n=1)
    return f'did you mean "{near[0]}"?' if near else ""


def shown(value: object) -> str:
    """A value as it stands in a file, cut to one short line."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, int | float | date):
        text = str(value)
    elif isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, list | tuple):
        text = "[" + ", ".join(shown(item) for item in value) + "]"
    elif isinstance(value, Mapping):
        text = "{ " + ", ".join(f"{key} = {shown(item)}" for key, item in value.items()) + " }"
    else:
        text = "nothing"
    return text if len(text) <= 60 else f"{text[:57]}..."


class Places:
    """Turns key paths of one file into faults with its name, the line and the row."""

    def __init__(self, file: str, text: str, data: Mapping[str, Any]) -> None:
        self.file = file
        self._text = text
        self._data = data

    @cached_property
    def _lines(self) -> Mapping[KeyPath, int]:
        return toml_lines(self._text)

    def fault(self, path: KeyPath, misfit: Unfit) -> Fault:
        """One fault at a key path."""
        return Fault(
            file=self.file,
            line=line_of(self._lines, path),
            where=self._where(path),
            found=misfit.found,
            expected=misfit.expected,
            mend=misfit.mend,
        )

    def of(self, error: ValidationError, model: type[BaseModel], root: KeyPath = ()) -> list[Fault]:
        """All that pydantic found, in our words; ``root`` is where the checked part stands in the file."""
        found = (
            (root + _named(detail["loc"]), misfit(detail, model))
            for detail in error.errors(include_url=False, include_context=True)
        )
        return [self.fault(path, unfit) for path, unfit in found]

    def _where(self, path: KeyPath) -> str:
        row: Any = self._data
        for key in path[:2]:
            try:
                row = row[key]
            except (KeyError, IndexError, TypeError):
                return ".".join(str(key) for key in path)
        name = row.get("id") if isinstance(row, Mapping) else None
        keys = (
            [key for key in path[2:] if isinstance(key, str)]
            if isinstance(name, str)
            else [str(k) for k in path]
        )
        return " ".join([*([name] if isinstance(name, str) else []), ".".join(keys)]).strip()


def misfit(detail: ErrorDetails, model: type[BaseModel]) -> Unfit:
    """One error of pydantic in our words."""
    raised = detail.get("ctx", {}).get("error")
    if raised is not None and hasattr(raised, "found"):
        return Unfit(found=raised.found, expected=raised.expected, mend=getattr(raised, "mend", ""))
    loc = _named(detail["loc"])
    key = str(loc[-1]) if loc else ""
    if detail["type"] == "extra_forbidden":
        known = _keys_beside(loc, model)
        return Unfit(
            found=f'the unknown key "{key}"',
            expected=f"one of {', '.join(sorted(known))}",
            mend=nearest(key, known),
        )
    if detail["type"] == "missing":
        return Unfit(found="nothing", expected=f'the key "{key}"')
    if detail["type"] in ("literal_error", "enum"):
        options = str(detail.get("ctx", {}).get("expected", "")).replace("'", '"')
        wrong = str(detail["input"])
        return Unfit(
            found=shown(detail["input"]),
            expected=options,
            mend=nearest(wrong, options.replace('"', "").replace(" or ", ", ").split(", ")),
        )
    return Unfit(found=shown(detail["input"]), expected=detail["msg"].removeprefix("Input should be "))


def _named(loc: tuple[int | str, ...]) -> KeyPath:
    return tuple(loc)


def _keys_beside(loc: KeyPath, model: type[BaseModel]) -> list[str]:
    """Keys that may stand where the last key of a path stands."""
    here: type[BaseModel] = model
    for key in loc[:-1]:
        if isinstance(key, str):
            here = _model_of(here, key) or here
    return [field.alias or name for name, field in here.model_fields.items()]


def _model_of(model: type[BaseModel], key: str) -> type[BaseModel] | None:
    for name, field in model.model_fields.items():
        if key in (name, field.alias):
            return _first_model(field.annotation)
    return None


def _first_model(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    inner = (_first_model(part) for part in getattr(annotation, "__args__", ()))
    return next((part for part in inner if part is not None), None)
