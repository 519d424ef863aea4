"""Distances that hang on a fact: straight between points, or a power of it. Where nobody stated the fact, what is possible."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from typing import TypeAlias

from siteplan.rules.conditions import Facts, label, printed
from siteplan.units import Length, LengthUnit

Answer: TypeAlias = tuple[str, Length]
"""A possible distance, and when it would be that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Straight:
    """Straight between points, flat beyond them.

    Attributes
    ----------
    fact, sort, unit : str
        Fact, its sort, and the unit in which it prints.
    points : tuple of (float, str, Length)
        Value of the fact in SI, as the rule prints it, and the distance there; the values ascend.

    Examples
    --------
    100 ft at 20 ft of casing and 50 ft at 50 ft: 75 ft half way between.

    >>> line = Straight(fact="well.casing_depth", sort="length", unit="ft", points=(
    ...     (6.096, "20 ft", Length(100, "ft")), (15.24, "50 ft", Length(50, "ft"))))
    >>> print(line.distance({"well.casing_depth": 10.668}), line.distance({"well.casing_depth": 99.0}))
    75 ft 50 ft
    """

    fact: str
    sort: str
    unit: str
    points: tuple[tuple[float, str, Length], ...]

    @property
    def has_ceiling(self) -> bool:
        """Whether the possible answers name the largest."""
        return True

    def distance(self, facts: Facts) -> Length | None:
        """The distance, in the unit of the first point; ``None`` if the fact is not stated."""
        stated = facts.get(self.fact)
        if stated is None:
            return None
        value = float(stated)
        unit = self.points[0][2].unit
        values = [point[0] for point in self.points]
        metres = [point[2].metres for point in self.points]
        place = bisect_right(values, value)
        if place in (0, len(values)):
            return self.points[min(place, len(values) - 1)][2]
        share = (value - values[place - 1]) / (values[place] - values[place - 1])
        between = metres[place - 1] + share * (metres[place] - metres[place - 1])
        return Length(round(between / Length(1.0, unit).metres, 6), unit)

    def possible(self) -> tuple[Answer, ...]:
        """What it may be if the fact is not stated: the distance at each point."""
        beyond = {0: " or less", len(self.points) - 1: " or more"}
        return tuple(
            (f"{label(self.fact)} {shown}{beyond.get(place, '')}", length)
            for place, (_, shown, length) in enumerate(self.points)
        )

    def told(self, facts: Facts) -> str:
        """How it was found: ``casing depth 35 ft: 75 ft, straight between the rule's points``."""
        value = printed(facts[self.fact], self.sort, self.unit)
        return f"{label(self.fact)} {value}: {self.distance(facts)}, straight between the rule's points"


@dataclass(frozen=True, slots=True, kw_only=True)
class Power:
    """Factor times a power of a fact, with a floor and a ceiling.

    Attributes
    ----------
    fact, sort : str
        A number, or a length that counts in ``unit``.
    factor, power : float
        Both above 0.
    unit : str
        Unit of the distance.
    floor, most : Length or None
        Never less, never more.

    Examples
    --------
    The square root of 10 000 gal a day, at least 50 ft.

    >>> root = Power(fact="well.daily_gallons", sort="number", factor=1.0, power=0.5, unit="ft",
    ...              floor=Length(50, "ft"), most=Length(300, "ft"))
    >>> print(root.distance({"well.daily_gallons": 1e4}), root.distance({"well.daily_gallons": 400.0}))
    100 ft 50 ft
    """

    fact: str
    sort: str
    factor: float
    power: float
    unit: LengthUnit
    floor: Length | None
    most: Length | None

    @property
    def has_ceiling(self) -> bool:
        """Whether the possible answers name the largest."""
        return self.most is not None

    def distance(self, facts: Facts) -> Length | None:
        """The distance; ``None`` if the fact is not stated."""
        stated = facts.get(self.fact)
        if stated is None:
            return None
        value = max(float(stated), 0.0)
        if self.sort == "length":
            value /= Length(1.0, self.unit).metres
        found = Length(round(self.factor * value**self.power, 6), self.unit)
        if self.floor is not None and found.metres < self.floor.metres:
            return self.floor
        if self.most is not None and found.metres > self.most.metres:
            return self.most
        return found

    def possible(self) -> tuple[Answer, ...]:
        """What it may be if the fact is not stated: its ceiling and its floor."""
        ends = ((f"{label(self.fact)} at its most", self.most), ("never less than", self.floor))
        return tuple((words, length) for words, length in ends if length is not None)

    def told(self, facts: Facts) -> str:
        """How it was found: ``daily gallons 10000: 1 x 10000^0.5 = 100 ft, not less than 50 ft``."""
        value = printed(facts[self.fact], self.sort, self.unit if self.sort == "length" else "")
        power = "" if self.power == 1 else f"^{self.power:g}"
        ends = (("not less than", self.floor), ("not more than", self.most))
        bounds = "".join(f", {words} {length}" for words, length in ends if length is not None)
        return (
            f"{label(self.fact)} {value}: {self.factor:g} x {value}{power} = {self.distance(facts)}{bounds}"
        )


Formula: TypeAlias = Straight | Power
