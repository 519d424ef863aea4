"""Texts in XML files: only what prints, so that no name breaks a file."""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement


def add_text(parent: Element, tag: str, text: str) -> None:
    """Add an element that holds a text, without the signs that XML 1.0 does not allow."""
    SubElement(parent, tag).text = "".join(char for char in text if char.isprintable())
