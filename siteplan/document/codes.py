"""Short codes for rules and ways to measure, so that a table row holds them; each is spelled out once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from urllib.parse import urlsplit

from siteplan.check.finding import Finding
from siteplan.document.model import Plan
from siteplan.rules.citation import Citation

_FORCE = {"required": "", "advised": "advised", "by_approval": "by approval"}
_SHORT_FORCE = {"required": "", "advised": "adv.", "by_approval": "appr."}
_UNCONFIRMED = "?"
_SMALL_WORDS = ("a", "both", "by", "from", "in", "of", "on", "the")


def rule_in_words(citation: Citation) -> str:
    """Citation as the list of rules prints it: text, edition, force, the word unconfirmed where it is due, where from."""
    words = (
        citation.text,
        citation.edition,
        _FORCE[citation.force],
        "" if citation.confirmed else f"unconfirmed ({citation.standing})",
        citation.layer,
    )
    return ", ".join(word for word in words if word)


class Codes:
    """Short codes of the rules and of the ways to measure, in the order in which the findings name them."""

    def __init__(self, plan: Plan) -> None:
        cited = [finding.citation for finding in plan.findings if finding.citation]
        rules = dict.fromkeys(as_listed(citation) for citation in cited)
        self.rules = {citation: f"R{n}" for n, citation in enumerate(rules, 1)}
        self._methods: dict[str, str] = {}
        for finding in plan.findings:
            for words in _ways(finding):
                if words not in self._methods:
                    self._methods[words] = _initial(words, self._methods.values())

    def rule(self, citation: Citation | None) -> str:
        """Code of a rule: "R3"."""
        return self.rules[as_listed(citation)] if citation else "no rule"

    def rule_and_force(self, citation: Citation | None) -> str:
        """Code of a rule, with "?" if nobody confirmed it, "adv." and "appr." where they are due: "R3? adv."."""
        if citation is None:
            return "no rule"
        doubt = "" if citation.confirmed else _UNCONFIRMED
        return f"{self.rule(citation)}{doubt} {_SHORT_FORCE[citation.force]}".strip()

    def method(self, finding: Finding) -> str:
        """Code of how both ends of a distance are known: "T/R"."""
        return "/".join(self._methods[words] for words in _ways(finding)) or "–"

    def in_words(self, findings: Iterable[Finding]) -> str:
        """Spell out the short words and codes that these findings use."""
        found = list(findings)
        citations = [finding.citation for finding in found if finding.citation]
        used = {_SHORT_FORCE[one.force]: _FORCE[one.force] for one in citations if _FORCE[one.force]}
        if not all(one.confirmed for one in citations):
            used[_UNCONFIRMED] = "unconfirmed"
        used |= {self._methods[words]: words for finding in found for words in _ways(finding)}
        return "; ".join(f"{code} = {words}" for code, words in used.items())


def as_listed(citation: Citation) -> Citation:
    """Return what the list of rules prints of a citation, so that each is printed once."""
    return replace(citation, row="", note="", read=None)


def _ways(finding: Finding) -> list[str]:
    return finding.method.split(" / ") if finding.method else []


def _initial(words: str, taken: Iterable[str]) -> str:
    """First letter of a word, or else any letter or number, that is not taken yet.

    >>> _initial("from a record drawing", []), _initial("record", ["R"])
    ('R', 'E')
    """
    used, parts = set(taken), [word for word in words.split() if word not in _SMALL_WORDS]
    letters = [*(part[0] for part in parts), *"".join(parts), *"abcdefghijklmnopqrstuvwxyz"]
    free = (letter.upper() for letter in letters if letter.isalpha() and letter.upper() not in used)
    return next(free, f"M{len(used)}")


def listed_rules(codes: Codes) -> list[str]:
    """Return each rule with its code and the host where it was read: findings.json has the whole address."""
    listed = []
    for citation, code in codes.rules.items():
        host = urlsplit(citation.url).netloc.removeprefix("www.")
        listed.append(f"{code} = {rule_in_words(citation)}" + (f", {host}" if host else ""))
    return listed
