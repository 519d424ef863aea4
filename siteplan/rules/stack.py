"""A stack of rules layers as read and checked: rows in their places, most general first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

from siteplan.rules.citation import Citation
from siteplan.rules.compiled import SITE_FACTS
from siteplan.rules.conditions import Conditions
from siteplan.rules.formulas import Formula
from siteplan.rules.model import LayerNote
from siteplan.rules.rows import Head, Row

R = TypeVar("R", bound=Row)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed(Generic[R]):
    """One row in its layer.

    Attributes
    ----------
    row : Row
        What it says.
    layer : str
        Layer that holds it, or ``site`` for a site override.
    home : str
        Layer that wrote it, also where a site overrides it.
    when, over, formula : Conditions, Conditions, Formula or None
        Its conditions, what it adds up, and how its distance hangs on a fact, ready to be held against facts.
    raw : mapping
        The row as it stands in the file, for an override to change.
    override : str
        Reason of the site override, ``""`` if the row is as the layer has it.
    """

    row: R
    layer: str
    home: str = ""
    when: Conditions = ()
    over: Conditions = ()
    formula: Formula | None = None
    raw: Mapping[str, Any] = field(default_factory=dict)
    override: str = ""

    def cite(self) -> Citation:
        """Where its number comes from, as it prints."""
        row = self.row
        if self.override:
            return Citation(
                row=row.id,
                layer="site",
                text=f"site override of {row.citation}",
                edition=row.edition,
                url=row.url,
                read=row.read,
                standing="site",
                force=row.force,
                note=self.override,
            )
        instead = f"in place of {row.replaces}: {row.reason}" if row.replaces else ""
        return Citation(
            row=row.id,
            layer=self.layer,
            text=row.citation,
            edition=row.edition,
            url=row.url,
            read=row.read,
            standing=row.status,
            force=row.force,
            note="; ".join(part for part in (row.note, instead) if part),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layer:
    """One rules file: its name, its head and its own rows by table, in file order. Compared by identity."""

    name: str
    file: str
    head: Head
    rows: tuple[Placed[Row], ...]

    def note(self, set_aside: tuple[str, ...] = ()) -> LayerNote:
        """What prints of it; ``set_aside`` are its rows that a layer above preempts, in words."""
        head = self.head
        return LayerNote(
            layer=self.name,
            title=head.title,
            authority=head.authority,
            edition=head.edition,
            gaps=tuple(head.gaps),
            silent=tuple(head.silent),
            thin=head.thin,
            set_aside=set_aside,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stack:
    """A layer with all layers above it. Compared by identity: what follows from it alone is found once.

    Attributes
    ----------
    name : str
        Name of the most local layer, such as ``us/mt/helena``.
    layers : tuple of Layer
        From the most general to the most local.
    rows : tuple of Placed
        Rows in force: those of all layers without the replaced and the preempted ones, site overrides applied.
    set_aside : tuple of (Placed, str)
        Rows that count for nothing because a layer above them preempts their table, and the name of that layer.
    """

    name: str
    layers: tuple[Layer, ...]
    rows: tuple[Placed[Row], ...]
    set_aside: tuple[tuple[Placed[Row], str], ...] = ()
    _tables: dict[type[Row], tuple[Placed[Any], ...]] = field(default_factory=dict, init=False, repr=False)

    def of(self, kind: type[R]) -> tuple[Placed[R], ...]:
        """Rows of one table, from the most general layer to the most local.

        An overridden row keeps its place among the rows of its layer.
        """
        if kind not in self._tables:
            self._tables[kind] = tuple(placed for placed in self.rows if isinstance(placed.row, kind))
        return self._tables[kind]

    @property
    def site_facts(self) -> dict[str, str]:
        """Facts of the whole site that conditions may ask for, with their sort."""
        return SITE_FACTS | {n: sort for layer in self.layers for n, sort in layer.head.site_facts.items()}

    @property
    def notes(self) -> tuple[LayerNote, ...]:
        """What prints of the layers."""
        words: dict[str, list[str]] = {layer.name: [] for layer in self.layers}
        for placed, by in self.set_aside:
            words[placed.layer].append(
                f"{placed.row.id}: set aside, {by} preempts every {placed.row.table} below"
            )
        return tuple(layer.note(tuple(words[layer.name])) for layer in self.layers)

    @property
    def confidence(self) -> float:
        """Confidence of the verdicts: that of the most local layer that states one."""
        stated = [layer.head.confidence for layer in self.layers if layer.head.confidence is not None]
        return stated[-1] if stated else 0.95
