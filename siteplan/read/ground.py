"""What is on the ground once all files are read, the things with faults of their own included."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from siteplan.read.words import FaultList, Place, listed, shown, suggestion
from siteplan.site.features import Feature


@dataclass(slots=True)
class Ground:
    """What is on the ground, for checks across files.

    Attributes
    ----------
    features : dict of str to Feature
        By id.
    spoilt : dict of str to (str or None)
        Things that have a fault of their own, by id: their kind, None if that is not known.
    whole : bool
        False if a file could not be read: then nothing is said to be missing.
    """

    features: dict[str, Feature] = field(default_factory=dict)
    spoilt: dict[str, str | None] = field(default_factory=dict)
    whole: bool = True

    def of_kind(self, kind: str) -> list[Feature]:
        """Features of one kind."""
        return [feature for feature in self.features.values() if feature.kind == kind]

    def may_have(self, kind: str) -> bool:
        """Whether there is one of that kind, or may be once the other faults are mended."""
        kinds = {None if self.whole else kind, *(each.kind for each in self.features.values())}
        return kind in kinds or bool({kind, None} & set(self.spoilt.values()))


def id_named(
    place: Place,
    name: str,
    kinds: Sequence[str],
    ground: Ground,
    faults: FaultList,
    *,
    lines: Iterable[str] | None,
) -> str:
    """Return the id of the feature that a line names: by id, else by kind or name if only one thing has it.

    ``kinds`` are those it may be of; ``lines`` are the ids of lines that may be named as well, for the message, None if
    they are not all known. Faults go into the list; the id is then the name.
    """
    named = [ground.features[name]] if name in ground.features else ground.of_kind(name)
    named = named or [feature for feature in ground.features.values() if feature.name == name]
    if len(named) > 1:
        faults.add(
            place,
            found=f"{shown(name)}, of which there are {len(named)}",
            expected=f"one id: {listed(each.id for each in named)}",
        )
    elif named:
        if named[0].kind not in kinds:
            faults.add(
                place, found=f"{shown(name)}, which is a {named[0].kind}", expected=f"one of {listed(kinds)}"
            )
        return named[0].id
    elif (
        name not in ground.spoilt
        and name not in ground.spoilt.values()
        and ground.whole
        and lines is not None
    ):
        fit = [feature.id for kind in kinds for feature in ground.of_kind(kind)] + list(lines)
        faults.add(
            place,
            found=f"{shown(name)}, which is not there",
            expected=f"one of {listed(fit)}" if fit else "the id of a feature",
            mend=suggestion(name, fit),
        )
    return name
