"""What needs no reading: results in the contract's own spelling, and sentences as a screen prints them."""

from __future__ import annotations

import re
from collections.abc import Mapping

from diagnose.places import Layout
from diagnose.problems import BadInput
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.results import read_result
from diagnose.words.finding import readable
from diagnose.words.heard import Heard
from diagnose.words.own import squeezed

WRITTEN = re.compile(r"\S+@\S+=\S+")


def taken(text: str, results: Mapping[str, str], base: RuleBase, layout: Layout) -> tuple[str, list[Heard]]:
    """Return what is left of a text, and the results taken out of it; `results` holds every sentence of this engine."""
    heard: list[Heard] = []

    def written(match: re.Match[str]) -> str:
        try:
            heard.extend(Heard(str(r), match[0]) for r in read_result(match[0].strip(",;"), base, layout))
        except BadInput:
            return match[0]
        return " "

    rest = []
    for part in WRITTEN.sub(written, text).split(";"):
        result = results.get(squeezed(part))
        found = readable([result], base, layout) if result else []
        if not found:
            rest.append(part)
        heard += [Heard(r, part.strip(" .")) for r in found]
    return ";".join(rest), heard
