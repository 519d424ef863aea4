"""``python -m siteplan``."""

from siteplan.cli import main

main()
