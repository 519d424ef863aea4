"""What the rules ask of one site: requirements, each with the row it comes from.

The rows of all layers are read by ``layers.py``, and resolved against the facts of a site by ``resolve.py`` into the values
below. The other rooms see only these.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from siteplan.rules.citation import Citation
from siteplan.units import Length

if TYPE_CHECKING:
    from siteplan.rules.clock_rule import ClockRule


@dataclass(frozen=True, slots=True, kw_only=True)
class Setback:
    """A distance that one thing must keep from another on this site.

    Attributes
    ----------
    subject : {"well", "line"}
        Is it measured from a well or from a line to lay.
    of : str
        Id of the well or of the line to lay.
    to : str
        Id of the feature it is measured to.
    least : Length
        The number in the rule's own unit; ``least.metres`` compares. If facts are missing, the larger of the possible answers.
    from_point : {"casing edge", "casing centre", "nearest edge"}
        From where it is measured; the casing edge is half the casing diameter off the drawn point.
    to_edge : str
        To where, in words that print ("nearest edge", "property line").
    because : tuple of str
        Conditions that hold, in words ("casing 62 ft: standard distance applies").
    missing : tuple of str
        Facts that would decide and are not stated ("well.casing_depth").
    either : tuple of (str, Length or None)
        With missing facts: each possible answer in words and its number (``None``: the row does not apply).
    applies : bool
        ``False``: the row spoke of this pair but its conditions are not met (verdict: not applicable); ``because`` says why.
    approvable : Length or None
        Down to this an authority may grant less; ``None``: no row says so.
    approval : str
        Who grants it, and on what evidence.
    prohibit : bool
        Must not lie in, under or through it: touching is short, whatever ``least`` (0) says.
    multiplied : tuple of str
        Multipliers in ``least``, in words ("x 2: sensitive well").
    open_top : bool
        With missing facts: the distance has no known ceiling, so that no measured distance is enough.
    also : tuple of Citation
        Rows that changed the number (multipliers).
    """

    subject: Literal["well", "line"]
    of: str
    to: str
    least: Length
    from_point: Literal["casing edge", "casing centre", "nearest edge"]
    to_edge: str
    because: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    either: tuple[tuple[str, Length | None], ...] = ()
    applies: bool = True
    approvable: Length | None = None
    approval: str = ""
    prohibit: bool = False
    multiplied: tuple[str, ...] = ()
    open_top: bool = False
    citation: Citation
    also: tuple[Citation, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Unmeasured:
    """What a row asks of a pair that no plan can be tested for: a vertical distance, or words that point elsewhere.

    Attributes
    ----------
    subject, of, to : str
        As in ``Setback``.
    words : str
        What it asks, in words: "18 in, measured vertically: the water line over the sewer".
    because, missing : tuple of str
        Conditions that hold or fail, in words; facts that would decide and are not stated.
    applies : bool
        ``False``: its conditions are not met.
    """

    subject: Literal["well", "line"]
    of: str
    to: str
    words: str
    because: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    applies: bool = True
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """The cover that one line needs under one surface: the deepest of all rows that hold.

    Attributes
    ----------
    least_m : float or None
        Least cover [m], finished grade to top of line; ``None`` if no row gives a number (performance only: ask).
    most_m : float or None
        Greatest cover [m] where a rule has a ceiling.
    form : str
        How the number came about, in words: ``max(frost 42 in + 12 in, 12 in) = 54 in``.
    also : tuple of Citation
        Rows that hold as well but ask for less, and performance-only rows.
    """

    line: str
    surface: str
    least_m: float | None
    most_m: float | None = None
    form: str
    citation: Citation
    also: tuple[Citation, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Separation:
    """What a line to lay must keep from another line, edge to edge.

    Attributes
    ----------
    of : str
        Id of the line to lay.
    to : str
        Id of the other line to lay or of the buried feature.
    beside_m : float or None
        Least clear distance [m] alongside, edge to edge; ``None``: the rules are silent.
    crossing_m : float or None
        Least clear vertical distance [m] where they cross.
    over : bool or None
        Must the line to lay pass over (True), under (False), or either (None).
    may_share : bool
        May both lie in one trench, ``beside_m`` (and ``shelf_m``) kept.
    shelf_m : float or None
        Least height [m] of the line to lay over the other when both lie in one trench.
    """

    of: str
    to: str
    beside_m: float | None
    crossing_m: float | None
    over: bool | None = None
    may_share: bool
    shelf_m: float | None = None
    citation: Citation
    also: tuple[Citation, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbered:
    """A number of the rules with its row."""

    value: float
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class TrenchRules:
    """Trench safety numbers (metres; slopes horizontal : vertical by soil class)."""

    spoil_back_m: Numbered
    egress_depth_m: Numbered
    egress_spacing_m: Numbered
    protection_depth_m: Numbered
    engineer_depth_m: Numbered
    slope_by_class: dict[str, Numbered]


@dataclass(frozen=True, slots=True, kw_only=True)
class LocateRules:
    """Locate rules: hand-dig zone each side of the outer edge [m], and the notice in words."""

    tolerance_m: Numbered
    call: str
    notice: str
    life: str
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class RootRules:
    """Root zone of a tree: radius per trunk diameter (m per m), least radius [m]."""

    radius_per_diameter: Numbered
    least_m: Numbered


@dataclass(frozen=True, slots=True, kw_only=True)
class Wellhead:
    """How high the finished casing must end: the greatest height of all rows, each in the rule's own unit.

    ``casing_height`` is over finished grade, ``above_flood`` over the flood elevation; ``also``: its row, if another one.
    """

    casing_height: Length
    above_flood: Length | None = None
    citation: Citation
    also: tuple[Citation, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlotPlanRules:
    """What is asked of the plan of an application: the greatest search radius of all rows, the scales of the most local one.

    Attributes
    ----------
    search_radius : Length or None
        Round the well, in the rule's own unit; ``None``: no row says.
    scales : sequence of str
        Accepted scales; empty: no row says.
    radius_from, scales_from : Citation or None
        Where each was read.
    """

    search_radius: Length | None = None
    scales: tuple[str, ...] = ()
    radius_from: Citation | None = None
    scales_from: Citation | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerNote:
    """One layer of the stack, and what it does not cover, as it prints.

    Attributes
    ----------
    gaps : tuple of str
        What it does not hold or what was not read, in words.
    silent : tuple of str
        Kinds of which the rule was read in full and gives no number.
    thin : bool
        The layer is not whole: its gaps print on every page and sheet.
    set_aside : tuple of str
        Rows of the layer that count for nothing because a layer above preempts them, in words.
    """

    layer: str
    title: str
    authority: str
    edition: str
    gaps: tuple[str, ...] = ()
    silent: tuple[str, ...] = ()
    thin: bool = False
    set_aside: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirements:
    """All that the stacked layers ask of one site.

    Attributes
    ----------
    setbacks : tuple of Setback
        One for each row that speaks of a pair on the site, applicable or not.
    covers : tuple of Cover
        One for each line to lay and surface class.
    separations : tuple of Separation
        Pairs of lines to lay, and each line to lay with each buried feature.
    bend_limit_deg : Numbered
        Largest sum of bends between pull points.
    unlooked : tuple of (str, Citation)
        Kinds that a setback row names, of which the site has none and nobody says to have looked.
    overridden : tuple of Citation
        Site overrides in force, with their reasons.
    unconfirmed : tuple of Citation
        Rows in use that nobody read at the source.
    wellhead : Wellhead or None
        ``None`` if no row says how high the casing must end.
    confidence : float
        Confidence of the verdicts (0.95 unless a layer says otherwise).
    clock : ClockRule or None
        How the wait after the call for locates is counted; ``None`` if no row says.
    unmeasured : tuple of Unmeasured
        What rows ask of pairs on the site that no plan can be tested for.
    warnings : tuple of str
        What a reader must know of the rules as a whole: the site lies outside the bounds of a layer, or states a text that
        conditions test and none knows.
    outside : bool
        The site lies outside the bounds of a layer.
    plot_plan : PlotPlanRules
        What is asked of the plan of an application.
    """

    setbacks: tuple[Setback, ...]
    covers: tuple[Cover, ...]
    separations: tuple[Separation, ...]
    trench: TrenchRules
    locate: LocateRules
    roots: RootRules
    bend_limit_deg: Numbered
    stack: tuple[LayerNote, ...]
    unlooked: tuple[tuple[str, Citation], ...]
    overridden: tuple[Citation, ...] = ()
    unconfirmed: tuple[Citation, ...] = ()
    wellhead: Wellhead | None = None
    confidence: float = 0.95
    clock: ClockRule | None = None
    unmeasured: tuple[Unmeasured, ...] = ()
    warnings: tuple[str, ...] = ()
    outside: bool = False
    plot_plan: PlotPlanRules = PlotPlanRules()

    def cover(self, line: str, cover_class: str) -> Cover:
        """Return the cover of a line under a surface class; KeyError if unknown."""
        for cover in self.covers:
            if (cover.line, cover.surface) == (line, cover_class):
                return cover
        raise KeyError((line, cover_class))

    def separation(self, of: str, to: str) -> Separation | None:
        """Return the separation of a line to lay from another line, or ``None`` if the rules are silent."""
        for separation in self.separations:
            if {separation.of, separation.to} == {of, to}:
                return separation
        return None
