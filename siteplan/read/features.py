"""From a record of any format to a ``Feature``: kind, status, evidence and facts, checked here once for all formats."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TypeVar, cast, get_args

from siteplan.read.facts import parse_fact
from siteplan.read.record import Record
from siteplan.read.shapes import form_of, in_words
from siteplan.read.site_fields import known
from siteplan.read.site_model import FileTable
from siteplan.read.words import FaultList, Unusable, clean_text, listed, shown, suggestion
from siteplan.site.catalogue import Kind, kinds, methods
from siteplan.site.evidence import Evidence
from siteplan.site.features import Fact, Feature, Source, Status
from siteplan.site.marks import MARK, MARKED

Value = TypeVar("Value")

_UNMEASURED = "drawn"
_STATED = "stated"
_OWN = ("id", "kind", "name", "status", "method", "error", "shared_error", "edge", "outing")
_PASSED_OVER = frozenset(("fid", "ogc_fid", "objectid"))


def feature_of(record: Record, entry: FileTable | None, faults: FaultList) -> Feature | None:
    """Make a feature of a record.

    Parameters
    ----------
    record : Record
        With its shape in the coordinates of the site.
    entry : FileTable or None
        What ``site.toml`` says about the file: the kind, method and outing of what states none.

    Returns
    -------
    Feature or None
        None if anything about it is wrong; every fault is noted.
    """
    before = len(faults)
    said = _Said(record, entry, faults)
    identity = said.one(record.id, "id", _word)
    kind = _kind(said)
    name = said.get("name", _word, "")
    status: Status = said.get("status", _status, "existing")
    evidence = _evidence(said, kind)
    facts = _facts(said, kind) if kind else {}
    if kind and record.shape is not None and (form := form_of(record.shape)) not in kind.shapes:
        drawn = in_words([form]) if form else "something else"
        faults.add(record.place, found=f"a {kind.name} drawn as {drawn}", expected=in_words(kind.shapes))
    if len(faults) > before or kind is None or record.shape is None:
        return None
    return Feature(
        id=identity or record.id,
        kind=kind.id,
        name=name or kind.name,
        status=status,
        shape=record.shape,
        evidence=evidence,
        facts=facts,
        source=Source(file=record.place.file, line=record.place.line),
    )


def stated_evidence(
    method: str | None,
    error_m: float | None,
    shared_m: float | None,
    *,
    edge_m: float = 0.0,
    outing: str | None = None,
) -> Evidence:
    """Evidence from what a file states.

    Parameters
    ----------
    method : str or None
        A method of ``layers/methods.toml``. None is ``stated`` if an error is, else ``drawn``, a careful one.
    error_m, shared_m : float or None
        Stated radii [m] that hold 95 % of the error of this position alone, and of the shift it shares with its outing. An
        error that is stated stands instead of both of the method's; a shared error alone leaves the method's private part.

    Examples
    --------
    >>> stated_evidence(None, 2.0, None)
    Evidence(method='stated', shared_m=0.0, private_m=2.0, edge_m=0.0, outing=None, zone_m=0.0)
    """
    chosen = methods()[method or (_UNMEASURED if error_m is None else _STATED)]
    own_m = chosen.private_m if error_m is None else error_m
    common_m = shared_m if shared_m is not None else (chosen.shared_m if error_m is None else 0.0)
    return Evidence(method=chosen.id, shared_m=common_m, private_m=own_m, edge_m=edge_m, outing=outing)


class _Said:
    """What is said about one record, the file's usual values included; notes what cannot be understood."""

    def __init__(self, record: Record, entry: FileTable | None, faults: FaultList) -> None:
        usual = {"kind": entry.kind, "method": entry.method, "outing": entry.outing} if entry else {}
        self.values = {name: value for name, value in usual.items() if value} | dict(record.properties)
        self.place = record.place
        self.faults = faults

    def one(self, value: object, name: str, read: Callable[[object], Value]) -> Value | None:
        """Read one value; None, with the fault noted, if it is unusable."""
        try:
            return read(value)
        except Unusable as misfit:
            self.faults.take(replace(self.place, where=f"{self.place.where}, {name}"), misfit)
            return None

    def get(self, name: str, read: Callable[[object], Value], default: Value) -> Value:
        """Read a value by name, the default if it is not there or unusable."""
        made = self.one(self.values[name], name, read) if name in self.values else None
        return default if made is None else made


def _kind(said: _Said) -> Kind | None:
    if "kind" not in said.values:
        said.faults.add(
            said.place,
            found="no kind",
            expected='what it is, such as "well"',
            mend="add kind to it, or a [[file]] table with path and kind to site.toml",
        )
        return None
    name = said.one(
        said.values["kind"], "kind", lambda value: known(str(value), "a kind of layers/kinds.toml", kinds())
    )
    return kinds()[name] if name else None


def _evidence(said: _Said, kind: Kind | None) -> Evidence:
    usual = MARKED if kind and kind.id == MARK and "error" not in said.values else None
    method = said.get("method", _method, usual)
    error_m = said.get("error", _error, None)
    shared_m = said.get("shared_error", _error, None)
    if method == _STATED and error_m is None and "error" not in said.values:
        said.faults.add(
            said.place,
            found='method "stated" without an error',
            expected='an error, such as "6 ft"',
            mend="add it",
        )
    return stated_evidence(
        method,
        error_m,
        shared_m,
        edge_m=said.get("edge", _length, 0.0),
        outing=said.get("outing", _word, None),
    )


def _facts(said: _Said, kind: Kind) -> dict[str, Fact]:
    facts: dict[str, Fact] = {}
    for name, value in said.values.items():
        if name in _OWN or name.startswith("_") or name.lower() in _PASSED_OVER:
            continue
        sort = "text" if name.startswith("note") else kind.facts.get(name)
        if sort is None:
            said.faults.add(
                said.place,
                found=f"{shown(name)}, which a {kind.name} does not state",
                expected=f"one of {listed((*_OWN, *kind.facts))}",
                mend=suggestion(name, (*_OWN, *kind.facts)) or f"if it matters, write it as note_{name}",
            )
            continue
        fact = said.one(value, name, partial(parse_fact, sort=sort))
        if fact is not None:
            facts[name] = fact
    return facts


def _word(value: object) -> str:
    if isinstance(value, bool | list | dict):
        raise Unusable(found=shown(value), expected="a text")
    return clean_text(str(value))


def _status(value: object) -> Status:
    if value not in get_args(Status):
        raise Unusable(
            found=shown(value),
            expected=f"one of {listed(get_args(Status))}",
            mend=suggestion(str(value), get_args(Status)),
        )
    return cast("Status", value)


def _method(value: object) -> str | None:
    return known(str(value), "a method of layers/methods.toml", methods())


def _length(value: object) -> float:
    return float(parse_fact(value, "length"))


def _error(value: object) -> float | None:
    length_m = _length(value)
    if length_m == 0:
        raise Unusable(found=shown(value), expected="an error above zero, as nothing is measured without one")
    return length_m
