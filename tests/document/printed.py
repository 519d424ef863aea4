"""Sheets as they are printed: each is drawn once, and its words are read once, however many tests of a process look at it."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from functools import lru_cache
from io import BytesIO
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ContentStream

from siteplan.document.model import Plan
from siteplan.document.sheet import LETTER, Paper

_DRAWN: dict[tuple[Any, bytes, Paper], bytes] = {}


def sheet_of(sheet: Callable[[Plan, Paper], bytes], plan: Plan, paper: Paper = LETTER) -> bytes:
    """Draw a sheet; of a plan that is the same it is not drawn again.

    So this is not for tests that two runs agree, nor for those that watch the pen.
    """
    key = (sheet, pickle.dumps(plan), paper)
    if key not in _DRAWN:
        _DRAWN[key] = sheet(plan, paper)
    return _DRAWN[key]


@lru_cache(maxsize=256)
def _pages(pdf: bytes) -> tuple[str, ...]:
    return tuple(" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages)


def pages(pdf: bytes) -> list[str]:
    """Words of each page."""
    return list(_pages(pdf))


def said(pdf: bytes) -> str:
    """Words of all pages."""
    return " ".join(_pages(pdf))


@lru_cache(maxsize=64)
def operations(pdf: bytes) -> list[list[tuple[Any, bytes]]]:
    """Drawing operators of each page."""
    reader = PdfReader(BytesIO(pdf))
    return [ContentStream(page.get_contents(), reader).operations for page in reader.pages]
