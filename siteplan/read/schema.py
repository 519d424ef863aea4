"""The JSON Schema of ``site.toml``, for editors that complete and check TOML."""

from __future__ import annotations

from typing import Any

from siteplan.read.site_model import SiteToml


def site_schema() -> dict[str, Any]:
    """Schema of ``site.toml`` (JSON Schema 2020-12), with the kinds, soils, methods and products of ``layers/``."""
    schema = SiteToml.model_json_schema(by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "site.toml", **schema}
