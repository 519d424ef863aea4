"""Measure the trench: layout in, works out (stations, sections, crossings, volumes, take-off). All in SI."""

from siteplan.measure.beyond import beyond
from siteplan.measure.excavation import Excavations
from siteplan.measure.works import measure

__all__ = ["Excavations", "beyond", "measure"]
