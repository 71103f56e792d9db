"""Which questions about the past are worth asking: by what their answers tell about the repair, from factors on prior odds alone.

No new belief is worked out. An answer multiplies the odds of the causes it acts on, so the shares as they stand, times those factors,
show whom the answer would move. The shares are taken as if one cause alone were responsible: good enough to choose a question by.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import log2

from diagnose.rulebase.records import History
from diagnose.trouble.evidence import factors_on
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup

MOST = 4  # questions asked one after the other
LEAST = 0.02  # bit: below this an answer moves nothing worth a question (estimate)
SAFETY = "inspect_first"  # the role of a question that is asked always


@dataclass(frozen=True)
class Worth:
    """A question about the past: what its answer tells about the repair in bits, and whether it can put another repair first."""

    history: History
    information: float
    turns: bool

    @property
    def notable(self) -> bool:
        """Return whether its answer moves the suspects enough to be asked for."""
        return self.information >= (LEAST / 2 if self.turns else LEAST)


def safety_questions(network: Network) -> tuple[History, ...]:
    """Return the questions that are asked whatever they tell."""
    return tuple(h for h in network.base.history.values() if h.role == SAFETY)


def worth_asking(
    network: Network, groups: Mapping[str, RepairGroup], shares: Mapping[str, float], answered: Mapping[str, str]
) -> tuple[Worth, ...]:
    """Return the questions not answered yet, most telling first; `shares`: cause -> how likely responsible, `answered`: id -> answer.

    A question on a part waits until the whole is answered, and is none where nothing of the whole was touched.
    """
    open_ = [h for h in network.base.history.values() if h.id not in answered and h.role != SAFETY and _follows(network, h, answered)]
    found = [_worth(network, h, groups, shares) for h in open_]
    return tuple(sorted(found, key=lambda w: (-round(w.information, 9), w.history.id)))


def moved(network: Network, history: History, answer: str, shares: Mapping[str, float]) -> dict[str, float]:
    """Return the shares after an answer, their sum kept; as they were where the answer is not known."""
    if answer not in history.answers:
        return dict(shares)
    new = {c: share * _factor(network, history, answer, c) for c, share in shares.items()}
    whole, before = sum(new.values()), sum(shares.values())
    return {c: share * before / whole for c, share in new.items()} if whole > 0 else new


def _follows(network: Network, history: History, answered: Mapping[str, str]) -> bool:
    whole = network.base.history.get(history.part_of)
    return whole is None or answered.get(whole.id, whole.nothing) != whole.nothing


def _factor(network: Network, history: History, answer: str, cause: str) -> float:
    factors = factors_on(history, network.causes[cause])
    return factors[answer].value if answer in factors else 1.0


def _worth(network: Network, history: History, groups: Mapping[str, RepairGroup], shares: Mapping[str, float]) -> Worth:
    """Return the mutual information of an answer and the repair group, and whether some answer puts another group first."""
    now = _by_group(groups, shares)
    whole = sum(now.values())
    if whole <= 0:
        return Worth(history, 0.0, False)
    chances = {answer: number.value for answer, number in history.probability.items()}
    rows = {answer: _by_group(groups, _times(network, history, answer, shares)) for answer in chances}
    weight = {answer: chances[answer] * sum(row.values()) / whole for answer, row in rows.items()}
    total = sum(weight.values())
    after = sum(weight[answer] / total * _bits(row) for answer, row in rows.items())
    first = max(now, key=lambda k: (round(now[k], 12), k))
    turns = any(max(row, key=lambda k: (round(row[k], 12), k)) != first for answer, row in rows.items() if weight[answer] > 0.01 * total)
    return Worth(history, max(0.0, _bits(now) - after), turns)


def _times(network: Network, history: History, answer: str, shares: Mapping[str, float]) -> dict[str, float]:
    return {c: share * _factor(network, history, answer, c) for c, share in shares.items()}


def _by_group(groups: Mapping[str, RepairGroup], shares: Mapping[str, float]) -> dict[str, float]:
    return {key: sum(shares.get(c, 0.0) for c in group.causes) for key, group in groups.items()}


def _bits(weights: Mapping[str, float]) -> float:
    whole = sum(weights.values())
    return -sum(w / whole * log2(w / whole) for w in weights.values() if w > 0) if whole > 0 else 0.0
