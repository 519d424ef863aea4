"""A measurement that may settle a close call, as ``layers/measurements.toml`` lists them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """One way to measure.

    Attributes
    ----------
    words : str
        What to do, with ``{a}`` and ``{b}`` for the two things and ``{one}`` for the end that it is about.
    takes : str
        Who it takes, and for how long, as it prints.
    minutes : int
        What it is ranked by, cheapest first.
    measures : {"tie", "pair", "edge", "all", "depth"}
        What it replaces the error of: the place of one end; both places; both places and a fuzzy edge (if it
        names no kinds, only where there is one); all of it; a depth.
    error_m : float
        What the distance or depth is then good to [m], one-sided at 95 %.
    kinds : tuple of str
        The end that it is about is of one of these kinds; empty: of any.
    without : tuple of str
        Neither of the two things is of these kinds.
    methods : tuple of str
        The end that it is about is known by one of these methods; empty: by any.
    """

    id: str
    words: str
    takes: str
    minutes: int
    measures: Literal["tie", "pair", "edge", "all", "depth"]
    error_m: float
    kinds: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    methods: tuple[str, ...] = ()
    source: str
