"""Texts that a site states and no condition knows: a rule that tests the fact would silently not hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from siteplan.rules.faults import nearest
from siteplan.rules.separations import carried
from siteplan.rules.stack import Stack
from siteplan.rules.tested import facts_tested
from siteplan.site.catalogue import kinds, material_named, materials
from siteplan.site.features import Fact, Feature
from siteplan.site.site import Site


def strange_texts(stack: Stack, site: Site) -> Iterator[str]:
    """Yield a line for each text fact that rows test, but whose stated text none of them knows; case does not matter.

    The line names the known texts: they are the only ones that make a difference under these rules. A surface whose
    material has no price has a line as well.
    """
    known = facts_tested(stack)
    for feature in site.features:
        if feature.kind == "buried_line" and carried(feature) != "unknown":
            facts: Mapping[str, Fact] = {k: v for k, v in feature.facts.items() if k != "carries"}
        else:
            facts = feature.facts
        what = kinds()[feature.kind].name if feature.kind in kinds() else feature.kind
        yield from _strange(f"{feature.name} ({what})", feature.kind, facts, known, stack.name)
        yield from _strange_material(feature)
    yield from _strange("the whole site", "site", site.facts, known, stack.name)


def _strange_material(feature: Feature) -> Iterator[str]:
    """A surface of an unknown material is priced as what its kind mostly is made of."""
    kind, stated = kinds().get(feature.kind), feature.facts.get("surface")
    usual = kind.material if kind else None
    if usual and stated is not None and material_named(str(stated)) is None:
        near = nearest(str(stated).casefold(), materials())
        yield (
            f'{feature.name}: surface "{stated}" is no material of layers/materials.toml; it is priced as'
            f" {materials()[usual].name}{f': {near}' if near else ''}"
        )


def _strange(
    whose: str, kind: str, facts: Mapping[str, Fact], known: Mapping[tuple[str, str], set[str]], rules: str
) -> Iterator[str]:
    for name, value in facts.items():
        texts = known.get((kind, name), set())
        if texts and isinstance(value, str) and value.casefold() not in texts:
            near = nearest(value.casefold(), texts)
            yield (
                f'{whose}: {name.replace("_", " ")} "{value}" is no text that the rules {rules} test;'
                f" they know {', '.join(sorted(texts))}{f': {near}' if near else ''}"
            )
