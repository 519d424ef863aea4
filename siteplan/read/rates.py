"""The prices of a site: those of ``layers/rates.toml``, and what ``site.toml`` states instead."""

from __future__ import annotations

from siteplan.read.site_file import SITE_TOML, SiteFile
from siteplan.read.words import FaultList, listed, shown, suggestion
from siteplan.site.catalogue import rates
from siteplan.site.rates import Rate, Rates
from siteplan.units import UnitFault


def rates_of(site_file: SiteFile, faults: FaultList) -> Rates:
    """Make the prices of the site; faults go into the list."""
    usual, table = rates(), site_file.rates
    if table is None:
        return usual
    stated: dict[str, Rate] = {}
    for row, prices in (table.model_extra or {}).items():
        if row not in usual.rows:
            faults.add(
                site_file.at("rates", row),
                found=f"the unknown row {shown(row)}",
                expected=f"currency, per, or one of {listed(usual.rows)}",
                mend=suggestion(row, usual.rows),
            )
            continue
        unit = usual[row].unit
        unit = unit if unit == "each" else table.per or unit
        stated[row] = usual[row].restated(prices, unit, SITE_TOML)
    try:
        return usual.with_stated(stated, table.currency)
    except UnitFault as error:
        bend = next(row for row in stated if row.startswith("bend-"))
        faults.add(site_file.at("rates", bend), found=error.found, expected=error.expected)
        return usual
