"""Trade words that know what they were made of, so that a sheet in another language can say them again."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any


class Said(str):
    """Words in English: a pattern with what is put into it. Everywhere else it is a plain text.

    Attributes
    ----------
    phrases : tuple of (str, mapping)
        Pattern and parts of each phrase, in order; parts are names, numbers, or ``Said`` themselves.
    between : str
        What stands between the phrases.

    Examples
    --------
    >>> bend = Said("bend {name}, {deg} deg left", name="B1", deg="22")
    >>> bend, bend.phrases[0][0]
    ('bend B1, 22 deg left', 'bend {name}, {deg} deg left')
    """

    phrases: tuple[tuple[str, Mapping[str, str]], ...]
    between: str

    def __new__(cls, pattern: str, /, **parts: str) -> Said:
        """Put the parts into the pattern."""
        return _said(pattern.format(**parts), ((pattern, parts),), "")

    @classmethod
    def joined(cls, several: Iterable[Said], between: str = "; ") -> Said:
        """Say several one after another.

        >>> Said.joined([Said("tee"), Said("casing")])
        'tee; casing'
        """
        several = tuple(several)
        phrases = tuple(phrase for one in several for phrase in one.phrases)
        return _said(between.join(several), phrases, between)

    def __reduce__(self) -> tuple[Any, ...]:
        """Copy it with what it was made of."""
        return _said, (str(self), self.phrases, self.between)


def _said(words: str, phrases: tuple[tuple[str, Mapping[str, str]], ...], between: str) -> Said:
    said = str.__new__(Said, words)
    said.phrases, said.between = phrases, between
    return said
