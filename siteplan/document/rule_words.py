"""What a reader must know of the rules as a whole, in the words that the sheets, the map and the terminal print.

Site outside their bounds, rules that are not whole, rows that count for nothing, kinds without a number, what was replaced for
this site, and how a frost depth was computed.
"""

from __future__ import annotations

from siteplan.check.finding import Finding
from siteplan.document.model import Plan
from siteplan.rules.frost import CITATION, frost_under, frost_words
from siteplan.rules.model import LayerNote
from siteplan.site.catalogue import kinds
from siteplan.units import Printer


def warnings(plan: Plan) -> tuple[str, ...]:
    """Return what is doubtful of the rules for this site, such as a site outside their bounds, one sentence each."""
    return tuple(words[:1].upper() + words[1:] for words in plan.requirements.warnings)


def thin_notes(plan: Plan) -> tuple[LayerNote, ...]:
    """Return the rules in force that are not whole."""
    return tuple(note for note in plan.requirements.stack if note.thin)


def not_whole(plan: Plan) -> tuple[str, ...]:
    """Name each of the rules that are not whole, with all that they do not hold."""
    return tuple(
        f"NOT WHOLE: rules of {note.layer}: {'; '.join(note.gaps) or 'ask for what they do not hold'}."
        for note in thin_notes(plan)
    )


def replaced(plan: Plan) -> tuple[str, ...]:
    """Return what was replaced for this site, each with its reason."""
    return tuple(f"{row.text} ({row.row}): {row.note}" for row in plan.requirements.overridden)


def on_every_sheet(plan: Plan) -> tuple[str, ...]:
    """Return what each sheet says of the rules, in short: doubts, what is not whole, what was replaced and why."""
    say, count = plan.say, len(plan.requirements.warnings)
    outside = say(
        "This site lies outside the bounds of its rules ({rules}), see the setback review.",
        rules=plan.site.rules,
    )
    doubts = say(
        "Of these rules and this site the setback review gives {count} warnings."
        if count > 1
        else "Of these rules and this site the setback review gives {count} warning.",
        count=str(count),
    )
    return (
        *([outside] if plan.requirements.outside else []),
        *([doubts] if count else []),
        *(
            say("Rules of {layer}: not whole, see the setback review.", layer=note.layer)
            for note in thin_notes(plan)
        ),
        *(say("Replaced for this site: {words}.", words=words) for words in replaced(plan)),
    )


def page_mark(plan: Plan) -> str:
    """Return what the head of every page says of the rules; nothing if they are whole and the site lies in their bounds."""
    say, names = plan.say, ", ".join(note.layer for note in thin_notes(plan))
    marks = [say("RULES {names} NOT WHOLE", names=names)] if names else []
    if plan.requirements.outside:
        marks.append(say("SITE OUTSIDE THEIR BOUNDS" if names else "SITE OUTSIDE THE BOUNDS OF ITS RULES"))
    return "; ".join(marks)


def set_aside(note: LayerNote) -> tuple[str, ...]:
    """Return the rows of a rule set that count for nothing, those with the same reason together."""
    rows: dict[str, list[str]] = {}
    for words in note.set_aside:
        row, _, reason = words.partition(": ")
        rows.setdefault(reason, []).append(row)
    return tuple(f"{reason}: {', '.join(ids)}" for reason, ids in rows.items())


def silent(note: LayerNote) -> str:
    """Return the kinds for which the rules were read in full and give no number, in words."""
    return ", ".join(kinds()[kind].name for kind in note.silent)


def unlooked(plan: Plan) -> tuple[tuple[Finding, str], ...]:
    """Return the findings of what nobody looked for, each with the thing in words."""
    found = (finding for finding in plan.findings if finding.topic == "unlooked")
    return tuple((finding, finding.what.partition(":")[0]) for finding in found)


def nobody_looked(plan: Plan) -> str:
    """Return one line with all that nobody looked for; nothing if all was looked for."""
    names = ", ".join(name for _, name in unlooked(plan))
    return f"nobody looked: {names}" if names else ""


def in_words_only(finding: Finding) -> bool:
    """Whether a rule asks for something that no plan can be tested for; what it is, the line that settles it says."""
    return finding.topic == "setback" and finding.verdict == "not checked" and finding.measured_m is None


def frost_block(plan: Plan) -> tuple[str, ...]:
    """Return how the frost depth in use was computed, as lines, and what it is under other surfaces; nothing if none was."""
    inputs, printer = plan.site.frost, Printer(plan.site.units)
    surfaces = [
        laid.required.surface
        for section in plan.works.sections
        for laid in section.lines
        if any(citation.row == CITATION.row for citation in laid.required.also)
    ]
    if inputs is None or not surfaces:
        return ()
    first, *others = dict.fromkeys(frost_under(inputs, surface) for surface in surfaces)
    return (
        *(line.strip() for line in frost_words(first, printer)),
        *(
            f"under {one.inputs.surface}, n-factor {one.inputs.n_factor:g}: {printer.short(one.depth_m)}"
            for one in others
        ),
    )
