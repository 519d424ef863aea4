"""XML texts as a plain tree with line numbers, through a parser that takes no DTD, no entity and no outside reference."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any
from xml.sax import SAXParseException
from xml.sax.handler import ContentHandler

from siteplan.read.words import FaultList, Place

_ENCODING = re.compile(r"""<\?xml[^>]*\sencoding\s*=\s*["']([^"']+)["']""")


@dataclass(slots=True)
class Element:
    """One element: its name without prefix, and the line on which it begins."""

    name: str
    attributes: dict[str, str]
    line: int
    inside: list[Element] = field(default_factory=list)
    pieces: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        """The text that stands in it, without that of elements inside."""
        return "".join(self.pieces).strip()

    def children(self, *names: str) -> Iterator[Element]:
        """Elements of those names right inside this one."""
        return (child for child in self.inside if child.name in names)

    def said(self, name: str) -> str | None:
        """Text of the first child of that name, None if there is none."""
        return next((child.text for child in self.children(name)), None)

    def everywhere(self, *names: str) -> Iterator[Element]:
        """Elements of those names at any depth, in the order of the file."""
        waiting = self.inside[::-1]
        while waiting:
            element = waiting.pop()
            if element.name in names:
                yield element
            waiting.extend(reversed(element.inside))


def read_xml(text: str, file: str, root: str, faults: FaultList) -> Element | None:
    """Parse a text whose outermost element is ``root``; None, with the fault noted, if it is anything else."""
    from defusedxml.common import DefusedXmlException
    from defusedxml.sax import parseString

    encoding = _ENCODING.match(text)
    if encoding and encoding[1].lower() not in ("utf-8", "utf8", "us-ascii"):
        faults.add(
            Place(file=file, line=1),
            found=f"the encoding {encoding[1]}",
            expected="UTF-8",
            mend="save the file as UTF-8",
        )
        return None
    builder = _Builder()
    try:
        parseString(text.encode(), builder, forbid_dtd=True)
    except DefusedXmlException:
        faults.add(
            Place(file=file),
            found="a document type or an entity",
            expected="plain elements",
            mend="take the <!DOCTYPE ...> out",
        )
        return None
    except SAXParseException as error:
        faults.add(
            Place(file=file, line=error.getLineNumber()),
            found=f"no XML ({error.getMessage()})",
            expected=f"<{root}>",
        )
        return None
    element = builder.top.inside[0]
    if element.name != root:
        faults.add(Place(file=file, line=element.line), found=f"<{element.name}>", expected=f"<{root}>")
        return None
    return element


class _Builder(ContentHandler):
    def __init__(self) -> None:
        super().__init__()
        self.top = Element("", {}, 0)
        self._open = [self.top]
        self._locator: Any = None

    def setDocumentLocator(self, locator: Any) -> None:  # noqa: N802
        self._locator = locator

    def startElement(self, name: str, attrs: Any) -> None:  # noqa: N802
        element = Element(name.rpartition(":")[2], dict(attrs.items()), self._locator.getLineNumber())
        self._open[-1].inside.append(element)
        self._open.append(element)

    def endElement(self, name: str) -> None:  # noqa: N802
        self._open.pop()

    def characters(self, content: str) -> None:
        self._open[-1].pieces.append(content)
