"""Where a number of the rules comes from, how binding it is, and how surely it was read."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

Force = Literal["required", "advised", "by_approval"]
Standing = Literal["verified", "secondary", "memory", "site"]
"""How surely the number was read; ``site`` is a site override."""
FORCES: tuple[Force, ...] = ("required", "by_approval", "advised")
"""The most binding first."""
STANDINGS: tuple[Standing, ...] = ("site", "verified", "secondary", "memory")
"""The surest first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Citation:
    """Where a number comes from.

    Attributes
    ----------
    row : str
        Id of the row, such as ``us-mt-well-drainfield``.
    layer : str
        Layer that holds it, such as ``us/mt``, or ``site`` for an override.
    text, edition, url : str
        Citation as it prints, edition or date in force, and where it was read.
    read : date or None
        Day on which it was read.
    standing : Standing
        Only ``verified`` rows print without the word unconfirmed.
    note : str
        What the reader must know beside it ("to bottom of footing"; for an override its reason).
    """

    row: str
    layer: str
    text: str
    edition: str = ""
    url: str = ""
    read: date | None = None
    standing: Standing
    force: Force = "required"
    note: str = ""

    @property
    def confirmed(self) -> bool:
        """Whether it may print without the word unconfirmed."""
        return self.standing in ("verified", "site")
