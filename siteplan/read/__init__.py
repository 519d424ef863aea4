"""Files to ``Site``: what stands in a site folder, checked whole, with every fault named by file and line."""

from siteplan.read.new_site import write_new_site
from siteplan.read.schema import site_schema
from siteplan.read.site import read_site

__all__ = ["read_site", "site_schema", "write_new_site"]
