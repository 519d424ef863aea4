"""What is on the ground once all files are read, the things with faults of their own included."""

from __future__ import annotations

from dataclasses import dataclass, field

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
