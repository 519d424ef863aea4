"""What a sheet says, in the language of its reader.

The English words are the key, with named placeholders; ``layers/words_<language>.toml`` holds the same in another language, each
part of it with its status. Names of things, stations, numbers and units stay as they are. What the table lacks is said in
English, and a test sees that it lacks nothing that the route sheet says.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from types import MappingProxyType

from siteplan.measure.said import Said
from siteplan.rules.clock import day_words
from siteplan.site.catalogue import layers_folder

LANGUAGES = {"en": "English", "es": "Spanish"}
"""Languages of the route sheet."""

_MONTHS = {"es": ["ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic"]}
_DAYS = {"es": ["lun", "mar", "mié", "jue", "vie", "sáb", "dom"]}


@dataclass(frozen=True, slots=True)
class Speech:
    """Says words in one language.

    Parameters
    ----------
    language : str
        A key of ``LANGUAGES``.

    Examples
    --------
    >>> Speech("es")("sheet {n} of {total}", n="1", total="4")
    'hoja 1 de 4'
    >>> Speech("en").of(Said("bend {name}, {deg} deg left", name="B1", deg="22"))
    'bend B1, 22 deg left'
    """

    language: str = "en"

    def __call__(self, english: str, /, **parts: str) -> str:
        """Say a phrase, its parts put in."""
        return words(self.language).get(english, english).format(**parts)

    def first(self, said: str) -> str:
        """Say the first phrase of what was measured."""
        return self.of(Said(said.phrases[0][0], **said.phrases[0][1]) if isinstance(said, Said) else said)

    def of(self, said: str) -> str:
        """Say again what was measured; a text that is not ``Said``, such as a name, stays as it is."""
        if not isinstance(said, Said):
            return said
        return said.between.join(
            self(pattern, **{name: self.of(part) for name, part in parts.items()})
            for pattern, parts in said.phrases
        )

    def day(self, day: date, *, year: bool = True) -> str:
        """Say a day with its weekday, the month as a word.

        >>> Speech("en").day(date(2026, 12, 2)), Speech("es").day(date(2026, 12, 2))
        ('Wed 2 Dec 2026', 'mié 2 dic 2026')
        """
        english = day_words(day, year=year)
        if self.language not in _MONTHS:
            return english
        _, number, _, *rest = english.split(" ")
        weekday, month = _DAYS[self.language][day.weekday()], _MONTHS[self.language][day.month - 1]
        return " ".join([weekday, number, month, *rest])

    def written(self, day: date) -> str:
        """Say a date without its weekday: as ISO 8601 in English, elsewhere with the month as a word.

        >>> Speech("en").written(date(2026, 3, 5)), Speech("es").written(date(2026, 3, 5))
        ('2026-03-05', '5 mar 2026')
        """
        if self.language not in _MONTHS:
            return day.isoformat()
        return f"{day.day} {_MONTHS[self.language][day.month - 1]} {day.year}"


ENGLISH = Speech()


def word(english: str) -> str:
    """Mark words that are kept in a table and said later."""
    return english


@cache
def words(language: str) -> Mapping[str, str]:
    """Return the whole table of a language, English to its own; empty for English."""
    if language == "en":
        return MappingProxyType({})
    parts = tomllib.loads((layers_folder() / f"words_{language}.toml").read_text(encoding="utf-8"))
    return MappingProxyType({key: said for part in parts.values() for key, said in part["words"].items()})
