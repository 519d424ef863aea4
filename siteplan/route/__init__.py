"""Where the trench goes: kept-off areas, the exact shortest way round them, branches and the proven least length."""

from siteplan.route.layout import lay

__all__ = ["lay"]
