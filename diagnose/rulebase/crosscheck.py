"""Problems that show only when the whole rule base is seen: ids that lead nowhere, grades that do not exist."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import TypeVar

from diagnose.places import kind_of
from diagnose.problems import Problem, did_you_mean
from diagnose.rulebase.cross_sentences import sentence_problems
from diagnose.rulebase.entry import Entry, Levels
from diagnose.rulebase.nodes import Mark, problem
from diagnose.rulebase.principles import principle_problems
from diagnose.rulebase.records import MEASURED, REGIMES, Cause, Check, ConfirmingPart, History, Ref, Replaced, RuleBase, Show, Symptom
from diagnose.rulebase.speech import TOLD, Says

Kind = TypeVar("Kind", bound=Entry)
ROUNDING = 1e-9  # .6 + .3 + .1 falls a hair short of 1


def cross_problems(base: RuleBase, damaged: Collection[Mark] = ()) -> list[Problem]:
    """Return every problem between entries of a rule base.

    Entries at the marks `damaged` have problems of their own: what follows from those is not told.
    """
    whole = _whole(base, damaged)
    return [
        *(p for s in whole.symptoms.values() for p in _symptom(s)),
        *(p for c in whole.causes.values() for p in _cause(base, c)),
        *(p for c in whole.checks.values() for p in _check(base, c)),
        *(p for h in whole.history.values() for p in _history(base, h)),
        *(p for r in whole.remedies.values() for p in _ids(r, "may_quiet", r.may_quiet, base.causes)),
        *(p for r in whole.remedies.values() for p in _ids(r, "seen_by", r.seen_by, base.symptoms)),
        *(p for r in whole.remedies.values() for p in _ids(r, "measured_by", r.measured_by, base.symptoms)),
        *(p for c in whole.checks.values() for p in _ids(c, "cautions", c.cautions, base.cautions)),
        *(p for r in whole.remedies.values() for p in _ids(r, "cautions", r.cautions, base.cautions)),
        *(p for a in whole.access.values() for p in _ids(a, "cautions", a.cautions, base.cautions)),
        *(p for r in whole.replaced.values() for p in _replaced(base, r)),
        *(p for part in whole.confirming.values() for p in _confirming(base, part)),
        *(p for s in base.says.values() for p in _says(base, s)),
        *(p for x in whole.principles.values() for p in principle_problems(base, x)),
        *sentence_problems(base, whole),
        *_shared_roles(base),
        *_suffixes(base),
        *(_unused(base) if not damaged else ()),
    ]


def _whole(base: RuleBase, damaged: Collection[Mark]) -> RuleBase:
    """Return the entries that are not damaged and lean on no damaged symptom."""

    def kept(entries: Mapping[str, Kind]) -> dict[str, Kind]:
        return {k: e for k, e in entries.items() if e.mark not in damaged}

    def leans(refs: Iterable[Ref]) -> bool:
        return any(base.symptoms[r.symptom].mark in damaged for r in refs if r.symptom in base.symptoms)

    causes = {k: c for k, c in kept(base.causes).items() if not leans(s.ref for e in (*c.effects, *c.goes) for s in e.shows)}
    checks = {k: c for k, c in kept(base.checks).items() if not leans(c.gives)}
    return replace(
        base,
        symptoms=kept(base.symptoms),
        causes=causes,
        checks=checks,
        history=kept(base.history),
        remedies=kept(base.remedies),
        access=kept(base.access),
        confirming=kept(base.confirming),
        principles=kept(base.principles),
    )


def _ids(entry: Entry, key: str, names: Collection[str], known: Collection[str]) -> Iterator[Problem]:
    for name in names:
        if name not in known:
            yield problem(
                entry.marks.get(key, entry.mark),
                "id",
                f"'{entry.id}' names '{name}' under {key}, which does not exist",
                did_you_mean(name, known),
            )


def _grades(mark: Mark, what: str, levels: Levels, symptom: Symptom) -> Iterator[Problem]:
    abnormal = symptom.names[1:]
    for grade in levels:
        if grade == "" and len(abnormal) > 1:
            yield problem(mark, "grade", f"{what}: '{symptom.id}' has several abnormal grades", f"write a map of {', '.join(abnormal)}")
        elif grade and grade not in abnormal:
            yield problem(mark, "grade", f"{what}: '{symptom.id}' has no abnormal grade '{grade}'", did_you_mean(grade, abnormal))
    tables = [n.table for n in levels.values() if n.table is not None]
    sizes = sorted({count for table in tables for count in table}) or [4]
    if any(sum(n.at(size) for n in levels.values()) > 1 - ROUNDING for size in sizes):
        yield problem(mark, "sum", f"{what}: the grades of '{symptom.id}' sum to 1 or more", "leave some for normal")


def _symptom(symptom: Symptom) -> Iterator[Problem]:
    if len(symptom.grades) < 2:
        yield problem(symptom.mark, "grade", f"'{symptom.id}' has fewer than two grades", "add them, normal first")
        return
    if symptom.default not in symptom.regimes:
        yield problem(symptom.mark, "regime", f"'{symptom.id}' has a default regime it does not have", "add it")
    for regime in symptom.leak_in:
        if regime not in symptom.regimes:
            yield problem(symptom.mark, "regime", f"leak_in of '{symptom.id}' names '{regime}'", did_you_mean(regime, symptom.regimes))
    for levels in (symptom.leak, *symptom.leak_in.values()):
        yield from _grades(symptom.mark, "leak", levels, symptom)
        for grade in symptom.names[1:]:
            if grade not in levels and "" not in levels:
                yield problem(symptom.mark, "leak", f"'{symptom.id}' has no leak for '{grade}'", "give every abnormal grade one, above 0")
    for kind in symptom.some:
        if kind not in symptom.at:
            yield problem(symptom.mark, "place", f"'{symptom.id}' ranges over '{kind}', where it cannot be", did_you_mean(kind, symptom.at))


def _ref(base: RuleBase, owner: Entry, ref: Ref) -> Iterator[Problem]:
    symptom = base.symptoms.get(ref.symptom)
    if symptom is None:
        yield problem(
            ref.mark,
            "id",
            f"'{owner.id}' names the symptom '{ref.symptom}', which does not exist",
            did_you_mean(ref.symptom, base.symptoms),
        )
    elif ref.regime and ref.regime not in symptom.regimes:
        yield problem(ref.mark, "regime", f"'{ref.symptom}' is not seen in '{ref.regime}'", did_you_mean(ref.regime, symptom.regimes))


def _confirming(base: RuleBase, part: ConfirmingPart) -> Iterator[Problem]:
    mark = part.marks.get("result", part.mark)
    found = list(_ref(base, part, Ref(part.symptom, part.regime, part.place, mark)))
    yield from found
    if not found and kind_of(part.place) not in base.symptoms[part.symptom].at:
        yield problem(mark, "place", f"'{part.symptom}' cannot be at '{part.place}'", "name a place it can be at")


def _says(base: RuleBase, says: Says) -> Iterator[Problem]:
    """Return what is wrong with how a symptom or an answer is said: no such id, no such grade."""
    if says.id not in base.symptoms and says.id not in base.history:
        known = [*base.symptoms, *base.history]
        yield problem(says.mark, "reference", f"nothing is called '{says.id}'", did_you_mean(says.id, known))
        return
    symptom = base.symptoms.get(says.id)
    grades = symptom.names if symptom else tuple(base.history[says.id].answers)
    for key in says.phrases:
        grade, dot, regime = key.partition(".")
        if grade not in (*grades, "about"):
            yield problem(says.marks[key], "grade", f"'{says.id}' has no grade '{grade}'", did_you_mean(grade, (*grades, "about")))
        elif dot and regime in TOLD and symptom is not None and {"side", "circuit"} & set(symptom.at):
            continue
        elif dot and (symptom is None or regime not in symptom.regimes):
            seen_in = symptom.regimes if symptom else ()
            yield problem(says.marks[key], "regime", f"'{says.id}' is not seen in '{regime}'", did_you_mean(regime, seen_in))


def _shared_roles(base: RuleBase) -> Iterator[Problem]:
    for role in MEASURED:
        holders = base.with_role(role)
        for other in (base.symptoms[s] for s in holders[1:]):
            mark = other.marks.get("role", other.mark)
            yield problem(mark, "role", f"'{other.id}' has the role '{role}' of '{holders[0]}'", "leave it with one of them")


def _cause(base: RuleBase, cause: Cause) -> Iterator[Problem]:
    yield from _ids(cause, "remedies", cause.remedies, base.remedies)
    if not cause.remedies:
        yield problem(cause.mark, "remedy", f"'{cause.id}' has no remedy", "name at least one under `remedies:`")
    if cause.prior_by and cause.at != "circuit":
        yield problem(cause.mark, "prior", f"'{cause.id}' has prior_by but is not at a circuit", "use `prior:`")
    yield from _reach(base, cause)
    yield from _never(base, cause)
    yield from _goes(base, cause)
    for effect in (*cause.effects, *cause.goes):
        for show in effect.shows:
            found = list(_ref(base, cause, show.ref))
            yield from found
            if not found:
                yield from _grades(show.ref.mark, f"'{cause.id}'", show.levels, base.symptoms[show.ref.symptom])
    for effect in cause.effects:
        if not any(_shown(base, effect.regimes, show) for show in effect.shows):
            yield problem(
                effect.mark, "regime", f"an effect of '{cause.id}' shows nothing in its regimes", "add regimes its symptoms have to `in:`"
            )


def _goes(base: RuleBase, cause: Cause) -> Iterator[Problem]:
    """Yield what is wrong with how a cause goes: it goes one way, and two templates do not answer the same question."""
    mark = cause.marks.get("goes", cause.mark)
    courses = base.courses(cause)
    if len(courses) > 1:
        yield problem(mark, "goes", f"'{cause.id}' goes in two ways, {' and '.join(courses)}", "name the one it mostly goes by")
        return
    answers: dict[str, str] = {}
    for rule in cause.goes:
        for name in (show.ref.symptom for show in rule.shows):
            before = answers.setdefault(name, rule.template)
            if before != rule.template:
                yield problem(mark, "goes", f"'{cause.id}' answers {name} by {before} and by {rule.template}", "leave one of them out")


def _suffixes(base: RuleBase) -> Iterator[Problem]:
    """Yield what is wrong with the words that may follow a result: each stands for one grade of one symptom."""
    known: dict[str, str] = {}
    for symptom in base.symptoms.values():
        mark = symptom.marks.get("suffix", symptom.mark)
        if symptom.suffix and (symptom.kind != "course" or symptom.at != ("engine",)):
            yield problem(mark, "suffix", f"'{symptom.id}' has a suffix and is no course at the engine", "leave it out")
        for word, grade in symptom.suffix.items():
            if grade not in symptom.names:
                yield problem(mark, "suffix", f"'{symptom.id}' has no grade '{grade}'", did_you_mean(grade, symptom.names))
            if known.setdefault(word, symptom.id) != symptom.id:
                yield problem(mark, "suffix", f"the word '{word}' is that of '{known[word]}' too", "give one of them another")


def _reach(base: RuleBase, cause: Cause) -> Iterator[Problem]:
    """Yield what is wrong with how far a cause reaches: one draw for the cause wants one mechanism with steps."""
    stepped = sorted({effect.acts for effect in cause.effects if effect.step})
    if len(stepped) > 1:
        yield problem(
            cause.mark,
            "acts",
            f"effects of '{cause.id}' act by {' and '.join(stepped)}, each with steps of its own",
            "how far a cause reaches is one draw: keep one of them, and write the regimes of the other under `in:`",
        )
    elif cause.reach and (not stepped or len(cause.reach) != len(base.mechanisms[stepped[0]].steps)):
        steps = len(base.mechanisms[stepped[0]].steps) if stepped else 0
        yield problem(
            cause.marks.get("reach", cause.mark),
            "reach",
            f"'{cause.id}' gives {len(cause.reach)} shares of reach for {steps} steps",
            "give one for each step of the mechanism its effects name with `acts:`",
        )
    elif sum(n.value for n in cause.reach) > 1 + ROUNDING:
        yield problem(
            cause.marks.get("reach", cause.mark), "sum", f"the shares of reach of '{cause.id}' sum to more than 1", "make them 1 at most"
        )


def _never(base: RuleBase, cause: Cause) -> Iterator[Problem]:
    shown = {
        (s.ref.symptom, s.ref.relation, regime)
        for effect in cause.effects
        for s in effect.shows
        for regime in ([s.ref.regime] if s.ref.regime else effect.regimes)
    }
    for one in cause.never:
        found = list(_ref(base, cause, one.ref))
        yield from found
        regimes = () if found else (one.ref.regime,) if one.ref.regime else base.symptoms[one.ref.symptom].regimes
        if not one.why:
            yield problem(one.ref.mark, "never", f"'{cause.id}' does not say why it never shows '{one.ref}'", "write the reason behind it")
        if any((one.ref.symptom, one.ref.relation, regime) in shown for regime in regimes):
            yield problem(
                one.ref.mark, "never", f"'{cause.id}' both shows '{one.ref.symptom}' there and never does", "remove one of the two"
            )


def _shown(base: RuleBase, regimes: Collection[str], show: Show) -> bool:
    symptom = base.symptoms.get(show.ref.symptom)
    if symptom is None or show.ref.regime:
        return True
    alone = len(symptom.regimes) == 1 and (symptom.regimes[0] == "static" or not show.from_template)
    return alone or bool(set(regimes) & set(symptom.regimes))


def _check(base: RuleBase, check: Check) -> Iterator[Problem]:
    for ref in check.gives:
        yield from _ref(base, check, ref)
    if bool(check.moves) != bool(check.part):
        yield problem(
            check.mark,
            "moves",
            f"'{check.id}' has one of `part:` and `moves:`",
            "say both: what is exchanged, and which symptom follows it",
        )
    given = [ref.symptom for ref in check.gives]
    if check.moves and (check.moves not in given or check.at not in ("circuit", "cylinder")):
        yield problem(
            check.marks.get("moves", check.mark),
            "moves",
            f"'{check.id}' cannot say that '{check.moves}' moves with its part",
            f"name one of its own symptoms ({', '.join(given)}), at a circuit or cylinder",
        )


def _history(base: RuleBase, history: History) -> Iterator[Problem]:
    families = {c.family for c in base.causes.values()}
    yield from _ids(history, "acts_on", history.acts_on, {*base.causes, *families})
    yield from _ids(history, "part_of", [history.part_of] if history.part_of else [], set(base.history))
    answers = set(history.answers)
    if set(history.probability) != answers:
        yield problem(
            history.mark,
            "answers",
            f"'{history.id}' does not say how common each answer is",
            f"give `probability:` for {', '.join(sorted(answers))}",
        )
        return
    total = sum(n.value for n in history.probability.values())
    if abs(total - 1) > 0.01:
        yield problem(history.mark, "sum", f"the probabilities of '{history.id}' sum to {total:.3f}", "make them 1")
        return
    for target, factors in history.acts_on.items():
        if set(factors) != answers:
            yield problem(
                history.mark,
                "answers",
                f"'{history.id}' lacks a factor for an answer on '{target}'",
                f"give one for {', '.join(sorted(answers))}",
            )
            continue
        mean = sum(history.probability[a].value * factors[a].value for a in answers)
        if abs(mean - 1) > 0.1:
            yield problem(
                history.mark,
                "mean-factor",
                f"the mean factor of '{history.id}' on '{target}' is {mean:.2f}",
                "balance the answers so that it is about 1",
            )


def _replaced(base: RuleBase, entry: Replaced) -> Iterator[Problem]:
    known = {*base.symptoms, *base.history, *base.causes, *base.checks, *base.remedies}
    if entry.id in known:
        yield problem(entry.mark, "replaced", f"'{entry.id}' is said to be replaced and is there as well", "remove one of the two")
    if entry.by and entry.by not in known:
        yield problem(
            entry.marks.get("by", entry.mark), "unknown-id", f"'{entry.by}' is not in the rule base", did_you_mean(entry.by, known)
        )


def _unused(base: RuleBase) -> Iterator[Problem]:
    used = {name for c in base.causes.values() for name in c.remedies}
    for remedy in base.remedies.values():
        if remedy.id not in used:
            yield problem(remedy.mark, "unused", f"no cause names the remedy '{remedy.id}'", "name it or remove it")
    for symptom in base.symptoms.values():
        if not set(symptom.regimes) <= set(REGIMES):
            yield problem(symptom.mark, "regime", f"'{symptom.id}' has an unknown regime", "use the regimes listed")
