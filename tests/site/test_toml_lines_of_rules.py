"""Lines of keys in a TOML text, held against the text itself."""

from __future__ import annotations

from siteplan.site.toml_lines import line_of, toml_lines

TEXT = '''# a comment
[layer]
title = "a = b"
words = """
inside = "no key"
[no.table]
"""

[layer.site_facts]
subdivision = "yes_no"

[[setback]]
id = "one"
when = [
    { fact = "well.class", op = "in", value = ["x"] },
]

[[setback]]
"id" = "two"
form.fixed = "5 ft"

[setback.more]
deep = 1
'''


def test_lines() -> None:
    lines = toml_lines(TEXT)
    assert lines["layer", "title"] == 3
    assert ("inside",) not in lines
    assert ("no", "table") not in lines
    assert lines["layer", "site_facts", "subdivision"] == 10
    assert lines["setback",] == 12
    assert lines["setback", 0, "when"] == 14
    assert lines["setback", 1, "id"] == 19
    assert lines["setback", 1, "form", "fixed"] == 20
    assert lines["setback", 1, "more", "deep"] == 23


def test_a_key_without_a_line_of_its_own_is_given_the_line_around_it() -> None:
    lines = toml_lines(TEXT)
    assert line_of(lines, ("setback", 0, "when", 0, "fact")) == 14
    assert line_of(lines, ("setback", 0, "distance")) == 12
    assert line_of(lines, ("elsewhere",)) is None
