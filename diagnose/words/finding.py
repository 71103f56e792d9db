"""A finding as it was heard, and the results it comes to once place, condition and grade are settled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.places import Layout
from diagnose.problems import BadInput
from diagnose.rulebase.records import History, RuleBase, Symptom
from diagnose.trouble.results import read_result
from diagnose.words.clauses import Spot
from diagnose.words.spots import Where, history_places, places

SEVERAL_CONDITIONS = 3  # a squawk seen in more conditions than this, said without one, may hold in any of them


@dataclass(frozen=True)
class Finding:
    """What was heard of one symptom or answer. `doubt`: said with a "maybe", to be asked about.

    `own_regime`: its condition was said with it; `by_not`: its grade is a denial of another ("no water");
    `measured`: its grade came from a number.
    """

    id: str
    grade: str
    spot: Spot
    regimes: tuple[str, ...]
    words: str
    doubt: bool = False
    own_regime: bool = True
    by_not: bool = False
    measured: bool = False

    def results(self, base: RuleBase, layout: Layout) -> tuple[list[str], bool]:
        """Return the results in the contract's spelling, and whether only one of them is meant (it was not said which)."""
        history = base.history.get(self.id)
        if history is not None:
            return readable([f"{self.id}@{p}={self.grade}" for p in history_places(history, self.spot).places], base, layout), False
        symptom = base.symptoms[self.id]
        normal = self.grade == symptom.names[0]
        several = self.spot or self.spot.every or self.spot.plural or "engine" in symptom.at
        if self.measured and normal and not several:
            return [], False  # one number is not that of every cylinder, nor of both magnetos
        where: Where = places(symptom, self.spot, layout, normal)
        regimes = self._regimes(symptom, normal)
        found = [f"{self.id}.{regime}@{place}={self.grade}" for regime in regimes for place in where.places]
        return readable(found, base, layout), where.choose

    def _regimes(self, symptom: Symptom, normal: bool) -> Sequence[str]:
        said = [r for r in self.regimes if r in symptom.regimes]
        if len(said) > 1 and symptom.default in said and symptom.default == "start":
            said.remove("start")  # "hard to start when hot" is one condition
        if said:
            return said
        broad = symptom.kind == "squawk" and "engine" in symptom.at and len(symptom.regimes) > SEVERAL_CONDITIONS
        broad = broad and symptom.default != "start" and not (self.spot.sides and "side" in symptom.at)
        if not normal and (broad or "any" in self.regimes) and len(symptom.regimes) > 1:
            return ("any",)
        if normal and "any" in self.regimes and "cruise_lean" in symptom.regimes:
            return ("cruise_lean",)
        return (symptom.default,)


def readable(texts: Sequence[str], base: RuleBase, layout: Layout) -> list[str]:
    """Return the texts that can be read, canonical; what this engine does not have falls away."""
    out: list[str] = []
    for text in texts:
        try:
            out += [str(result) for result in read_result(text, base, layout)]
        except BadInput:
            continue
    return list(dict.fromkeys(out))


def turned(entry: Symptom | History, grade: str) -> str:
    """Return the grade that a "not" makes of one: the normal one of an abnormal, the abnormal ones of the normal, of the worst the rest."""
    names = entry.names if isinstance(entry, Symptom) else tuple(entry.answers)
    if isinstance(entry, History):
        return entry.nothing if grade != entry.nothing else names[0]
    if grade == names[-1] and len(names) > 2:
        return "|".join(names[:-1])  # "does not cut out": any drop but that
    return "|".join(names[1:]) if grade == names[0] else names[0]


def every_bad(symptom: Symptom) -> str:
    """Return all grades but the normal one, as what was called bad without saying how bad."""
    return "|".join(symptom.names[1:])
