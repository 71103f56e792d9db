"""What a trainee is offered: likely checks in no order of worth, checks and causes found by his own words, suspects to mark."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from random import Random

from diagnose.assessment.assess import Assessment
from diagnose.drill.bridge import bridge
from diagnose.plan.checks import LocatedCheck, available
from diagnose.plan.rules import needs_flight
from diagnose.problems import BadInput
from diagnose.rulebase.records import REGIMES, Check, Remedy, RuleBase
from diagnose.training.plain_sight import injected
from diagnose.training.task import Task
from diagnose.trouble.network import Network
from diagnose.words.reading import read_words

LIKELY, OTHERS = 6, 3  # checks of the first page: the most telling ones, and some that tell less, so that the page is no answer
NEAR = 55.0  # of 100: how like his words a label must be (estimate)
FAR = 25.0  # of 100: below this nothing is like his words at all (estimate)
SAID = 15.0  # what it adds that his words name a result the check gives, or its condition (estimate)
PLAIN = 6.0  # what it adds that no condition is said and the check is made in the usual one (estimate)
EMPTY = frozenset(("a", "an", "the", "of", "on", "at", "in", "to", "and", "with", "its", "this", "that", "no", "do", "up", "out"))
LIKE = 80.0  # of 100: how alike two words must be to count at all (estimate)
MOST_CAUTIONS, MOST_DECOYS = 4, 2
STEM = 5  # letters by which two words are taken for forms of one (estimate)
LONG = 4  # letters from which a word of a caution says what it is about (estimate)
NO_HAZARD = frozenset(("with", "that", "this", "then", "them", "each", "from", "what", "only", "before", "after", "where", "step", "first"))
NEW_FOR_OLD = frozenset(("change", "new", "renew", "fit", "another"))
SEEN = 0.02  # share from which a family is put on the list of suspects to mark (estimate)
MOST_SUSPECTS = 12


def every_check(network: Network) -> list[LocatedCheck]:
    """Return every check of the layout with all it gives, but those that only a flight could give."""
    return [c for c in available(network, (), ()) if not needs_flight(c.check)]


def answered(network: Network, task: Task, located: LocatedCheck) -> bool:
    """Return whether an exercise can answer a check at all: something of it is computed, and its fuel system has it."""
    none = {*bridge().silent, *bridge().only_fuel[not injected(task)]}
    return any(network.symptoms[name].symptom.id not in none for name in located.nodes)


def offered_checks(network: Network, task: Task) -> list[LocatedCheck]:
    """Return every check that an exercise can answer."""
    return [c for c in every_check(network) if answered(network, task, c)]


def not_answered(network: Network, task: Task) -> frozenset[str]:
    """Return the ids of the checks that an exercise cannot answer: the tool plans without them, as where they cannot be done."""
    return frozenset(c.id for c in every_check(network) if not answered(network, task, c))


def pages(network: Network, task: Task, a: Assessment) -> list[list[Check]]:
    """Return the checks nine to a page: on the first those likely to tell something among others, then all the rest."""
    told: dict[str, float] = {}
    for valued in a.plan.checks:
        name = valued.located.check.id
        told[name] = max(told.get(name, 0.0), valued.information)
    order = sorted(told, key=lambda name: (-round(told[name], 9), name))
    rest = order[LIKELY:]
    first = {*order[:LIKELY], *rest[:: max(1, len(rest) // OTHERS)][:OTHERS]}
    known = dict.fromkeys(c.check.id for c in offered_checks(network, task))
    checks = [network.base.checks[name] for name in known]
    later = _neutral(c for c in checks if c.id not in first)
    size = LIKELY + OTHERS
    return [_neutral(c for c in checks if c.id in first), *(later[i : i + size] for i in range(0, len(later), size))]


def _neutral(checks: Iterable[Check]) -> list[Check]:
    return sorted(checks, key=lambda c: (len(c.access), c.access, c.label))


def _likeness(base: RuleBase, text: str, labels: Mapping[str, str]) -> dict[str, float]:
    """Return how like a text each label is, of 100: how many of its words the label has, and among equals how little else it says."""
    from rapidfuzz import fuzz

    said = trade_words(base, text).split()
    parts = {part for word in base.words.values() if word.kind == "thing" for part in word.id.split("_")}
    weight = {w: 2.0 if w in parts or w.isdigit() else 1.0 for w in said}
    found = {}
    for name, label in labels.items():
        words = trade_words(base, label).split()
        met = sum(weight[w] * max((r for r in (fuzz.ratio(w, o) for o in words) if r >= LIKE), default=0.0) for w in said)
        found[name] = 0.8 * met / max(1.0, sum(weight[w] for w in said)) + 0.2 * fuzz.token_sort_ratio(" ".join(said), " ".join(words))
    return found


def _spellings(base: RuleBase) -> tuple[tuple[str, str], ...]:
    """Return every spelling of parts and conditions with the one the rule base takes for its own, the longest first."""
    words = [w for w in base.words.values() if w.kind in ("thing", "regime")]
    pairs = [(_flat(said), w.id.replace("_", " ")) for w in words for said in w.says]
    return tuple(sorted(pairs, key=lambda pair: -len(pair[0])))


def trade_words(base: RuleBase, text: str) -> str:
    """Return a text in lower case, words of the trade each in the one spelling that the rule base takes for its own."""
    flat = f" {_flat(text)} "
    for spelling, own in _spellings(base):
        flat = flat.replace(f" {spelling} ", f" {own} ")
    return " ".join(word for word in flat.split() if word not in EMPTY)


def _flat(text: str) -> str:
    return re.sub("[^a-z0-9]+", " ", text.lower()).strip()


def found_checks(network: Network, text: str, named: Mapping[str, str], count: int = 5) -> list[str]:
    """Return the located checks that a trainee's words are most like, best first; `named` are all of them by id, in words."""
    base = network.base
    scores = _likeness(base, text, named)
    heard, regimes = _heard(network, text), {w for w in trade_words(base, text).split() if w in REGIMES}
    for check in every_check(network):
        if check.id in scores:
            first = check.check.gives[0]
            usual = base.symptoms[first.symptom].default
            own = first.regime or usual
            scores[check.id] += SAID * (bool(heard & set(check.nodes)) + (own in regimes)) + PLAIN * (not regimes and own == usual)
    return _best(scores, count)


def found_labels(base: RuleBase, text: str, named: Mapping[str, str], count: int = 5) -> list[str]:
    """Return of things by id, in words, those that a text is most like, best first."""
    return _best(_likeness(base, text, named), count)


def nearest_labels(base: RuleBase, text: str, named: Mapping[str, str], count: int = 5) -> list[str]:
    """Return of things by id, in words, those nearest to a text that is like none of them; none where not a word of it is met."""
    scores = _likeness(base, text, named)
    order = sorted(scores, key=lambda name: (-round(scores[name], 6), name))
    return [name for name in order if scores[name] >= FAR][:count]


def found_remedies(base: RuleBase, text: str, named: Mapping[str, str], count: int = 5) -> list[str]:
    """Return the remedies (REMEDY@PLACE) that a text is most like: those whose own name stands in it first, at the place it names."""
    said = {word.rstrip("s") for word in _flat(text).split()}
    said |= {"replace"} if said & NEW_FOR_OLD else set()
    own = [key for key in named if {word.rstrip("s") for word in key.partition("@")[0].split("_")} <= said]
    own.sort(key=lambda key: (-len(key.partition("@")[0].split("_")), not set(key.partition("@")[2].split("-")) <= said, key))
    return list(dict.fromkeys((*own, *found_labels(base, text, named, count))))[:count]


def _best(scores: Mapping[str, float], count: int) -> list[str]:
    near = [name for name in scores if scores[name] >= NEAR]
    return sorted(near, key=lambda name: (-round(scores[name], 6), name))[:count]


def _heard(network: Network, text: str) -> set[str]:
    """Return the located symptoms that words name as the plain-language reader has them."""
    try:
        reading = read_words(text, network.base, network.layout)
    except BadInput:
        return set()
    results = [*(h.result for h in reading.understood), *(c for question in reading.unsure for c in question.choices)]
    return {result.rpartition("=")[0] for result in results}


def caution_ids(base: RuleBase, entry: Check | Remedy) -> list[str]:
    """Return the cautions of a step and of the access it needs, each once, its own first; none for a unit the engine has not."""
    ids = list(entry.cautions)
    for name in entry.access:
        ids += base.access[name].cautions
    return [name for name in dict.fromkeys(ids) if name not in bridge().no_such_unit]


def _hazard(base: RuleBase, name: str) -> frozenset[str]:
    """Return the words that say what a caution is about, what its step does to the engine among them."""
    caution = base.cautions[name]
    words = {w[:STEM] for w in _flat(caution.label).split() if len(w) >= LONG and w not in NO_HAZARD}
    return frozenset({*words, *(("prove_off",) if caution.prove_off else ()), *((caution.turns,) if caution.turns else ())})


def decoys(base: RuleBase, wanted: Sequence[str], known: Collection[str]) -> list[str]:
    """Return the cautions of other steps that say nothing which one of this step says too: what is true here too is no wrong answer."""
    said = frozenset().union(*(_hazard(base, c) for c in wanted))
    rest = (c for c in base.cautions if c not in wanted and c not in known and c not in bridge().no_such_unit)
    return [c for c in rest if not _hazard(base, c) & said]


def to_name(base: RuleBase, wanted: Sequence[str], known: Collection[str], seed: int) -> list[str]:
    """Return the cautions a trainee is to choose from before a step: those of it he has not named yet, among some of other steps."""
    rng = Random(seed)  # noqa: S311
    new = [c for c in wanted if c not in known][:MOST_CAUTIONS]
    if not new:
        return []
    others = decoys(base, wanted, known)
    mixed = [*new, *rng.sample(others, min(MOST_DECOYS, len(others)))]
    rng.shuffle(mixed)
    return mixed


def suspects(first: Assessment, now: Assessment) -> list[str]:
    """Return the families to mark, by name: what was likely at the squawk or is now."""
    share = {f: max(first.finding.families.get(f, 0.0), now.finding.families[f]) for f in now.finding.families}
    likely = sorted((f for f in share if share[f] >= SEEN), key=lambda f: (-round(share[f], 9), f))
    return sorted(likely[:MOST_SUSPECTS])
