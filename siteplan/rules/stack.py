"""A stack of rules layers as read and checked: rows in their places, most general first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar, cast

from siteplan.rules.conditions import Conditions
from siteplan.rules.model import Citation, LayerNote
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
    when : Conditions
        Its conditions, ready to be held against facts.
    raw : mapping
        The row as it stands in the file, for an override to change.
    override : str
        Reason of the site override, ``""`` if the row is as the layer has it.
    """

    row: R
    layer: str
    when: Conditions = ()
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One rules file: its name, its head and its own rows in file order."""

    name: str
    file: str
    head: Head
    rows: tuple[Placed[Row], ...]

    @property
    def note(self) -> LayerNote:
        """What prints of it."""
        head = self.head
        return LayerNote(
            layer=self.name,
            title=head.title,
            authority=head.authority,
            edition=head.edition,
            gaps=tuple(head.gaps),
            silent=tuple(head.silent),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """A layer with all layers above it.

    Attributes
    ----------
    name : str
        Name of the most local layer, such as ``us/mt/helena``.
    layers : tuple of Layer
        From the most general to the most local.
    rows : tuple of Placed
        Rows in force: those of all layers without the replaced ones, site overrides applied.
    """

    name: str
    layers: tuple[Layer, ...]
    rows: tuple[Placed[Row], ...]

    def of(self, kind: type[R]) -> tuple[Placed[R], ...]:
        """Rows of one table, from the most general layer to the most local.

        An overridden row keeps its place among the rows of its layer.
        """
        return tuple(cast("Placed[R]", placed) for placed in self.rows if isinstance(placed.row, kind))

    @property
    def site_facts(self) -> dict[str, str]:
        """Facts of the whole site that conditions may ask for, with their sort."""
        return {name: sort for layer in self.layers for name, sort in layer.head.site_facts.items()}

    @property
    def confidence(self) -> float:
        """Confidence of the verdicts: that of the most local layer that states one."""
        stated = [layer.head.confidence for layer in self.layers if layer.head.confidence is not None]
        return stated[-1] if stated else 0.95
