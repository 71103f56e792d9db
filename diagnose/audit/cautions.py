"""Steps whose words and cautions do not go together: a hazard without its caution, or cautions that contradict.

The audit knows no caution by name: it reads the texts. A new wording therefore needs a look at the tables below.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from itertools import combinations

from diagnose.audit.findings import NOTICE, PROBLEM, Found
from diagnose.plan.warnings import cautions_of
from diagnose.rulebase.records import Check, Remedy, RuleBase

# (what the step says, what one of its cautions must say, the hazard in words). Each is a usual caution of the trade:
# FAA-H-8083-32B pp. 4-31, 4-33, 4-35, 10-26, 10-39; the rest common practice, no source.
NEEDED = (
    (
        r"p-leads? off\b|p-lead (is |comes )?(off|disconnected)|disconnect\w* the p-lead|refit( the lead)?,? (and )?prove",
        r"p-lead is off is live",
        "a P-lead is off: the magneto is live",
    ),
    (
        r"true top centre|on top centre|by hand, in the running direction|turn(ed|ing)? the propeller|at every compression",
        r"propeller by hand|turns the propeller|swing the propeller",
        "the propeller is turned",
    ),
    (r"\bpsi\b|test air", r"test air", "air pressure can swing the propeller"),
    (
        r"\brun again\b|\brun it \d+ minutes|\bof running\b|run the same check|\bstart again\b|starts now|fault gone|hot start",
        r"^engine run\b",
        "the engine is run",
    ),
    (r"\bcrank(ing|ed)\b", r"starter turns|starter disabled|^engine run\b", "the starter turns the propeller"),
    (r"pre-?heat|\bheater\b", r"heater can start a fire", "a heater is used"),
    (r"(?<!no )\bsolvent\b|\bwashed\b", r"solvent", "a solvent is used"),
    (r"\bblast\b|before it is cleaned|lead out first", r"hold lead", "lead deposits are handled"),
    (
        r"high-voltage|tester's voltage|pressure test|test at the pressure|gap,? (and )?test|shaft by hand|play, drag|steady spark"
        r"|insulation by the tester|rated voltage",
        r"thousand volts",
        "high voltage is used",
    ),
    (r"in start\b|start as the manual", r"starter disabled", "START is selected"),
)
# (what one caution says, what another caution, `access:NAME` or the step's own words, `step: ...`, say) that cannot both be
# followed. What the text of a caution says must be true at every step that carries it: where a step turns the propeller with
# a P-lead off, "P-leads on" is false, so such steps carry a caution of their own.
OPPOSED = (
    (r"p-leads on\b", r"p-lead is off is live"),
    (r"switch off, (p-leads|a second)", r"access:engine_running"),
    (r"switch off, p-leads on", r"switch on both and the magneto live"),
    (r"switch off, p-leads on", r"step:.*usually both"),
    (r"starter disabled", r"access:engine_running"),
    (r"starter disabled", r"^engine run\b"),
    (r"no live electrics", r"access:engine_running"),
    (r"no live electrics", r"^engine run\b"),
    (r"no live electrics", r"step:.*(boost pump|pre-?heater|tester's voltage)"),
    (r"fuel is open", r"no fuel vapour about"),
)
# States that exclude each other whatever `ends:` says.
EXCLUDE = (
    frozenset({"engine_cold", "engine_hot"}),
    frozenset({"engine_running", "plugs_out"}),
    frozenset({"engine_running", "leads_off"}),
)
FROM_COLD = ("engine_cold", "engine_running")  # in this order: it starts cold and ends warm


def findings(base: RuleBase) -> list[Found]:
    """Return every finding about cautions and access of checks and remedies."""
    entries: list[Check | Remedy] = [*base.checks.values(), *base.remedies.values()]
    return [f for entry in entries for f in (*_access(base, entry), *_missing(base, entry), *_opposed(base, entry))]


def _access(base: RuleBase, entry: Check | Remedy) -> Iterator[Found]:
    for one, other in combinations(entry.access, 2):
        if (one, other) == FROM_COLD:
            continue
        ended = any(b in base.access[a].ends for a, b in ((one, other), (other, one)) if a in base.access)
        if ended or frozenset({one, other}) in EXCLUDE:
            yield Found(
                PROBLEM,
                "access-contradicts",
                entry.id,
                f"{entry.id} needs {one} and {other}, and one ends the other",
                "split it in two, or name only the state it starts from",
            )


def _missing(base: RuleBase, entry: Check | Remedy) -> Iterator[Found]:
    texts = _texts(base, entry)
    said = f"{entry.label}. {entry.how}".lower()
    for step, caution, hazard in NEEDED:
        met = re.search(step, said)
        if met and not any(re.search(caution, text) for text in texts):
            yield Found(
                PROBLEM,
                "caution-missing",
                entry.id,
                f'{entry.id} says "{met[0]}" and no caution that {hazard}',
                "add the caution, here or to the access state it needs",
            )
    if not texts:
        yield Found(
            NOTICE, "caution-missing", entry.id, f"{entry.id} carries no caution at all", "add one, or leave it where nothing can hurt"
        )


def _opposed(base: RuleBase, entry: Check | Remedy) -> Iterator[Found]:
    texts = _texts(base, entry)
    claims = (*texts, *(f"access:{name}" for name in entry.access), f"step: {entry.label}. {entry.how}".lower())
    for one, other in OPPOSED:
        first = next((c for c in texts if re.search(one, c)), "")
        second = next((c for c in claims if re.search(other, c) and c != first), "")
        if first and second:
            yield Found(
                PROBLEM,
                "caution-contradicts",
                entry.id,
                f'{entry.id} says both "{_short(first)}" and "{_short(second)}"',
                "keep the one that is true at this step, or split the step",
            )


def _texts(base: RuleBase, entry: Check | Remedy) -> tuple[str, ...]:
    return tuple(_lower(cautions_of(base, entry.cautions, entry.access)))


def _lower(texts: Iterable[str]) -> Iterable[str]:
    return (text.lower() for text in texts)


def _short(text: str) -> str:
    return text if len(text) <= 60 else text[:57] + "..."
