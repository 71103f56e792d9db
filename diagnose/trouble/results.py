"""Results as people and programs write them: `SYMPTOM[.REGIME]@PLACE=GRADE`, read and made canonical."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from diagnose.places import SIDES, Layout, kind_of
from diagnose.problems import BadInput, did_you_mean
from diagnose.rulebase.records import History, RuleBase, Symptom

NOTHING = ("unknown", "cannot")
_FORM = re.compile(r"(?P<symptom>[a-z][a-z0-9_]*)(?:\.(?P<regime>[a-z_]+))?@(?P<place>[a-z0-9/-]+)=(?P<grade>[a-z0-9_|]+)")


@dataclass(frozen=True)
class Result:
    """One result. `low` and `high` index the symptom's grades (both -1: moves no belief).

    `places` are the places it speaks of: one, or several with "at least one of them" (`some`).
    `regimes` likewise (several: `any`). History answers have no regime. `course`: it says how the trouble goes or what
    changes it, never what is wrong.
    """

    symptom: str
    regime: str
    place: str
    grade: str
    low: int
    high: int
    places: tuple[str, ...]
    regimes: tuple[str, ...]
    history: bool = False
    course: bool = False

    @property
    def subject(self) -> str:
        """Return what the result is about, without the grade."""
        return f"{self.symptom}{'.' + self.regime if self.regime else ''}@{self.place}"

    @property
    def abnormal(self) -> bool:
        """Return whether every grade it allows is abnormal; history never is."""
        return self.low > 0 and not self.history

    @property
    def complained(self) -> bool:
        """Return whether it can be a complaint: something that is wrong, not how that goes."""
        return self.abnormal and not self.course

    @property
    def normal(self) -> bool:
        """Return whether it says "normal" and nothing else."""
        return self.high == 0

    @property
    def several(self) -> bool:
        """Return whether it speaks of more than one place or regime at once."""
        return len(self.places) * len(self.regimes) > 1 or self.place.startswith("some") or self.regime == "any"

    def __str__(self) -> str:
        """Return the canonical spelling."""
        return f"{self.subject}={self.grade}"


def read_result(text: str, base: RuleBase, layout: Layout) -> tuple[Result, ...]:
    """Return the results one text stands for (`all` and `most` give several, and so does a suffix).

    Raises BadInput with one line naming the nearest valid words.
    """
    itself, *words = text.strip().split("~")
    return (*_one(itself, base, layout), *(_suffixed(word, text, base) for word in words))


def _suffixed(word: str, text: str, base: RuleBase) -> Result:
    """Return the result a word after `~` stands for: how the trouble goes or what changes it, on the whole engine."""
    known = {w: (s, g) for s in base.symptoms.values() for w, g in s.suffix.items()}
    if word not in known:
        raise BadInput(f"result '{text}': no word '{word}' may follow it; {did_you_mean(word, known)}")
    symptom, grade = known[word]
    low, high = _grades(symptom, grade, text)
    return Result(symptom.id, symptom.default, "engine", grade, low, high, ("engine",), (symptom.default,), course=True)


def _one(text: str, base: RuleBase, layout: Layout) -> tuple[Result, ...]:
    found = _FORM.fullmatch(text.strip())
    if not found:
        raise BadInput(f"result '{text}' is not readable; write SYMPTOM[.REGIME]@PLACE=GRADE, such as {_such_as(text, base, layout)}")
    name, regime, place, grade = (found[k] for k in ("symptom", "regime", "place", "grade"))
    if name in base.history:
        return (_history(base.history[name], regime, place, grade, layout, text),)
    if name not in base.symptoms:
        known = [*base.symptoms, *base.history]
        raise BadInput(f"result '{text}': no symptom is called '{name}'; {did_you_mean(name, known)}")
    symptom = base.symptoms[name]
    if place == "most":
        return _most(symptom, text, base, layout)
    regime, regimes = _regimes(symptom, regime, text)
    low, high = _grades(symptom, grade, text)
    whole, places = _places(symptom, place, layout, text)
    course = symptom.kind == "course"
    if place.split("-")[0].split("/")[0] == "all":
        return tuple(Result(name, regime, p, grade, low, high, (p,), regimes, course=course) for p in places)
    if (place.startswith("some") or regime == "any") and high >= 0 and low <= 0:
        which = "some" if place.startswith("some") else "any"
        raise BadInput(f"result '{text}': '{which}' takes an abnormal grade; {_grade_list(symptom, abnormal=True)}")
    return (Result(name, regime, whole, grade, low, high, places, regimes, course=course),)


def _most(symptom: Symptom, text: str, base: RuleBase, layout: Layout) -> tuple[Result, ...]:
    """Return what "most of the plugs" says for sure: more than half of them leave out no half, so some of each half show it."""
    if "circuit" not in symptom.at:
        raise BadInput(f"result '{text}': 'most' counts plugs and leads, and {symptom.id} is not seen there; write some, or each place")
    halves = (*(f"some/{side}" for side in SIDES), *(f"some-{position}" for position in layout.positions))
    return tuple(r for half in halves for r in _one(text.strip().replace("@most=", f"@{half}="), base, layout))


def _such_as(text: str, base: RuleBase, layout: Layout) -> str:
    """Return a result that can be read: the one meant, where only its place is missing."""
    name, _, grade = text.strip().partition("=")
    symptom = base.symptoms.get(name.split(".")[0])
    if symptom is None:
        return "drop@left=excessive"
    place = next((p for kind in reversed(symptom.at) for p in layout.places(kind)), "engine")
    return f"{name}@{place}={grade if grade in symptom.names else symptom.names[1]}"


def read_results(texts: Iterable[str], base: RuleBase, layout: Layout) -> tuple[Result, ...]:
    """Return the results of several texts given together.

    The same thing twice with one grade counts once; with two grades it is refused.
    """
    seen: dict[str, Result] = {}
    for text in texts:
        for result in read_result(text, base, layout):
            before = seen.setdefault(result.subject, result)
            if before.grade != result.grade:
                raise BadInput(f"{result.subject} is given as '{before.grade}' and as '{result.grade}'; give one of them")
    return tuple(seen.values())


def _regimes(symptom: Symptom, regime: str | None, text: str) -> tuple[str, tuple[str, ...]]:
    if regime == "any":
        return "any", symptom.regimes
    chosen = regime or symptom.default
    if chosen not in symptom.regimes:
        raise BadInput(f"result '{text}': {symptom.id} is not seen in '{chosen}'; {did_you_mean(chosen, (*symptom.regimes, 'any'))}")
    return chosen, (chosen,)


def _grades(symptom: Symptom, grade: str, text: str) -> tuple[int, int]:
    if grade in NOTHING:
        return -1, -1
    indexes = []
    for part in grade.split("|"):
        if part not in symptom.names:
            raise BadInput(f"result '{text}': {symptom.id} has no grade '{part}'; {_grade_list(symptom)}")
        indexes.append(symptom.names.index(part))
    if indexes != list(range(indexes[0], indexes[0] + len(indexes))):
        raise BadInput(f"result '{text}': '{grade}' are not neighbouring grades in order; {_grade_list(symptom)}")
    return indexes[0], indexes[-1]


def _grade_list(symptom: Symptom, abnormal: bool = False) -> str:
    names = symptom.names[1:] if abnormal else (*symptom.names, *NOTHING)
    return "grades: " + ", ".join(names)


def _places(symptom: Symptom, place: str, layout: Layout, text: str) -> tuple[str, tuple[str, ...]]:
    for word in ("some", "all"):
        if place == word or place.startswith((f"{word}-", f"{word}/")):
            return place, _several(symptom, place[len(word) :], layout, text)
    single = _single(place, layout)
    known = [p for kind in symptom.at for p in layout.places(kind)]
    if single not in known:
        hint = did_you_mean(place, (*known, "some", "all"))
        raise BadInput(f"result '{text}': {symptom.id} is not seen at '{place}' of {layout.id}; {hint}")
    return single, (single,)


def _single(place: str, layout: Layout) -> str:
    cylinder, slash, side = place.partition("/")
    if slash and side in SIDES:
        return next((c for c in layout.fires[side] if c.split("-")[0] == cylinder), place)
    return place


def _several(symptom: Symptom, rest: str, layout: Layout, text: str) -> tuple[str, ...]:
    if not rest:
        return tuple(p for kind in symptom.some for p in layout.places(kind))
    wanted, circuits = rest[1:], layout.circuits if "circuit" in symptom.at else ()
    if rest[0] == "-":
        found = tuple(c for c in circuits if c.split("-")[1] == wanted)
    else:
        found = tuple(c for c in circuits if layout.side_of[c] == wanted)
    if not found:
        words = [f"-{p}" for p in layout.positions] + [f"/{s}" for s in SIDES]
        hint = "some" + ", some".join(words) if circuits else "it has no circuits; write some"
        raise BadInput(f"result '{text}': no places of {symptom.id} are called '{rest}'; known: {hint}")
    return found


def _history(history: History, regime: str | None, place: str, grade: str, layout: Layout, text: str) -> Result:
    if regime:
        raise BadInput(f"result '{text}': history has no regime; write {history.id}@{place}={grade}")
    allowed = layout.places(history.at) if history.at == "engine" else ("engine", *layout.places(history.at))
    if place not in allowed:
        raise BadInput(f"result '{text}': {history.id} is asked at {', '.join(allowed)}")
    if grade not in (*history.answers, *NOTHING):
        raise BadInput(f"result '{text}': no answer '{grade}'; answers: {', '.join((*history.answers, *NOTHING))}")
    index = -1 if grade in NOTHING else list(history.answers).index(grade)
    return Result(history.id, "", place, grade, index, index, (place,), ("",), history=True)


def as_complaint(results: Sequence[Result]) -> tuple[Result, ...]:
    """Return the complaint among results given as one: each must be abnormal, and how it goes may stand beside what is wrong."""
    named = tuple(r for r in results if not r.course)
    for result in named:
        if not result.abnormal:
            raise BadInput(f"complaint '{result}' is not abnormal; a complaint is something that is wrong")
    if results and not named:
        raise BadInput(f"complaint '{results[0]}' says how the trouble goes; name what is wrong as well, such as rough@engine=yes")
    return named


def default_complaint(results: Sequence[Result], base: RuleBase) -> tuple[Result, ...]:
    """Return the complaint where none was named: the abnormal squawks, else the abnormal test results."""
    abnormal = [r for r in results if r.complained]
    squawks = tuple(r for r in abnormal if base.symptoms[r.symptom].kind == "squawk")
    return squawks or tuple(abnormal)


def node(symptom: str, regime: str, place: str) -> str:
    """Return the name of a located symptom in the network."""
    return f"{symptom}.{regime}@{place}"


def side_of_place(place: str, layout: Layout) -> str:
    """Return the side a result at a side or circuit belongs to, else an empty text."""
    kind = kind_of(place)
    if kind == "side":
        return place
    return layout.side_of.get(place, "") if kind == "circuit" else ""
