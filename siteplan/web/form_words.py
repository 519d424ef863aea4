"""Words of the form of a drawn thing: what its facts may be, which of them the rules ask for, and how well it was measured."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from siteplan.errors import SiteplanError
from siteplan.read import read_site
from siteplan.rules import load_stack
from siteplan.rules.tables import BURIED
from siteplan.rules.tested import facts_tested
from siteplan.site.catalogue import Method, kinds, materials, methods
from siteplan.units import Printer, System


def form_words(folder: Path) -> dict[str, Any]:
    """Return ``asked`` and ``known`` by kind and fact under the rules of the site, and the ``methods`` with their errors.

    ``asked`` are facts that a rule in force tests or computes with; ``known`` are the texts that make a difference.
    """
    tested: dict[tuple[str, str], set[str]] = {}
    units: System = "ft"
    try:
        site = read_site(folder, finished=False)
        units = site.units
        tested = dict(facts_tested(load_stack(site.rules)))
    except SiteplanError:
        pass  # what is wrong is told where the site is read for the plan
    known = {whose: sorted(texts) for whose, texts in tested.items() if texts}
    for kind in kinds().values():
        if "carries" in kind.facts:
            known.setdefault((kind.id, "carries"), list(BURIED))
        if kind.material:
            known.setdefault((kind.id, "surface"), [material.name for material in materials().values()])
    return {
        "asked": _by_kind(dict.fromkeys(tested, True)),
        "known": _by_kind(known),
        "methods": [
            {"id": method.id, "name": method.name, "error": _error_words(method, Printer(units))}
            for method in methods().values()
        ],
    }


def _error_words(method: Method, print_: Printer) -> str:
    if method.id == "stated":
        return "Write its error below."
    parts = []
    if method.private_m:
        parts.append(f"off by up to {print_.length(method.private_m)}")
    if method.shared_m:
        parts.append(
            f"all of one outing off together by up to {print_.length(method.shared_m)}, so name the outing"
        )
    return f"Counted as {'; '.join(parts)} (95 times out of 100)."


def _by_kind(facts: dict[tuple[str, str], Any]) -> dict[str, dict[str, Any]]:
    by_kind: dict[str, dict[str, Any]] = {}
    for (kind, fact), value in facts.items():
        by_kind.setdefault(kind, {})[fact] = value
    return by_kind
