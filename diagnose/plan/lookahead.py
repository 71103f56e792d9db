"""Two steps ahead: what to do now - a check, a remedy, or a call for help - counting with one more check after it.

The second check is taken to be independent of the first once the responsible group is known. That is
true on a model with one fault and independent results; on the shipped network it is an estimate, so it
orders and times the steps and never stands for a belief.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from diagnose.plan.repair_cost import Option, Prices, costs_after, repair_cost

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

SHORTLIST = 5  # checks looked at two steps ahead
SECOND = 14  # checks that may follow
REPAIRS = 3  # remedies tried at once, then one check
NEAR = 0.9  # gains this close are a tie: an estimate, kept because it costs nothing on small problems
ROWS = 24  # groups kept while looking ahead; the others count as "none of these"


@dataclass(frozen=True)
class Choice:
    """What to do now: `kind` is "check", "repair" or "help"; `index` of option or group; expected minutes in all.

    `saved` are the minutes a check alone saves on the repairs, its own not counted.
    """

    kind: str
    index: int
    cost: float
    saved: float = 0.0


def steps(
    now: Array, options: Sequence[Option], prices: Prices, base: float | None = None, after: Callable[[int], Prices] | None = None
) -> list[Choice]:
    """Return every step, cheapest first: each check, the few remedies worth trying at once, and help.

    `now` holds the shares of the groups and "none"; `base` is the cost with no further check (default: at `prices`, as if
    every remedy had to open its access anew); `after(group)` gives the prices once a remedy's access is open. A tie goes to
    help, then to a remedy, then to a check.
    """
    base = float(repair_cost(now[:, None], prices)[0]) if base is None else base
    left = costs_after(options).tolist()
    alone = [option.minutes + cost for option, cost in zip(options, left, strict=True)]
    order = sorted(range(len(options)), key=lambda i: (round(alone[i], 9), i))  # what adds up in another order differs in its last digits
    short = order[:SHORTLIST]
    view = _View(now, options, order[:SECOND])
    found = [Choice("help", -1, prices.expert * float(now.sum()))]
    found += _repairs(now, options, prices, view, after or (lambda _: prices))
    found += [Choice("check", i, alone[i] - (view.gain_after(i) if i in short else 0.0), base - left[i]) for i in range(len(options))]
    return _small_first(sorted(found, key=lambda s: round(s.cost, 9)), options, base)


def _small_first(found: list[Choice], options: Sequence[Option], base: float) -> list[Choice]:
    """Put the check that gains most per minute first among those that gain nearly as much as the best one.

    Looking one check ahead cannot tell such near ties apart, and it leaves out that a short check leaves room to plan anew.
    """
    first = found[0]
    if first.kind != "check" or first.cost >= base:
        return found
    near = [s for s in found if s.kind == "check" and base - s.cost >= NEAR * (base - first.cost)]
    best = max(near, key=lambda s: (round((base - s.cost) / options[s.index].minutes, 9), -round(s.cost, 9), -s.index))
    return [best, *(s for s in found if s is not best)]


def _repairs(now: Array, options: Sequence[Option], prices: Prices, view: _View, after: Callable[[int], Prices]) -> list[Choice]:
    """Return the remedies in falling share per minute, each with one check at most if it fails."""
    import numpy as np

    found = []
    for group in np.argsort(-np.round(now[:-1] / prices.remedies, 12), kind="stable")[:REPAIRS]:
        left = now.copy()
        left[group] = 0.0
        then = after(int(group))
        cost = prices.remedies[group] * now.sum() + float(repair_cost(left[:, None], then)[0])
        cost -= view.gain(left[:, None], then, [(j, options[j].minutes) for j in view.short])
        found.append(Choice("repair", int(group), float(cost)))
    return found


class _View:
    """The options of a shortlist, cut down to the groups that matter."""

    def __init__(self, now: Array, options: Sequence[Option], short: Sequence[int]) -> None:
        import numpy as np

        self.options, self.short = options, short
        order = np.argsort(-now[:-1].round(12), kind="stable")[:ROWS]  # equal shares in file order, whatever the rounding
        self.rows = np.sort(order)
        safe = np.where(now > 0, now, 1.0)[:, None]
        self.chances = {j: options[j].table / safe for j in short}
        self.spread = {j: self._cut_chances(j) for j in short}

    def gain_after(self, index: int) -> float:
        """Return the minutes one more check saves after this one, over all of its outcomes."""
        option = self.options[index]
        others = [(j, option.then(j)) for j in self.short if j != index]
        return self.gain(option.table, option.prices, others)

    def gain(self, table: Array, prices: Prices, others: Sequence[tuple[int, float]]) -> float:
        """Return the minutes saved by the best one of `others` (option, minutes), chosen per column.

        It is done at once, or after the first remedy has been tried and has failed.
        """
        import numpy as np

        cut = self._cut(table)
        few = Prices(prices.remedies[self.rows], prices.expert)
        first = (cut[:-1] / few.remedies[:, None]).argmax(axis=0)
        failed = cut.copy()
        failed[first, np.arange(cut.shape[1])] = 0.0
        tried = few.remedies[first] * cut.sum(axis=0)
        without = repair_cost(cut, few)
        best = np.minimum(self._with_one(cut, few, others, without), tried + self._with_one(failed, few, others, repair_cost(failed, few)))
        return float((without - np.minimum(best, without)).sum())

    def _with_one(self, cut: Array, few: Prices, others: Sequence[tuple[int, float]], without: Array) -> Array:
        """Return, per column, the expected minutes with at most one of the others first."""
        import numpy as np

        best, weight = without.copy(), cut.sum(axis=0)
        knowing = np.minimum(few.remedies, few.expert) @ cut[:-1] + few.expert * cut[-1]  # were the group known: no check does better
        for j, minutes in others:
            open_ = minutes * weight + knowing < best
            if not open_.any():
                continue
            split = (cut[:, open_, None] * self.spread[j][:, None, :]).reshape(len(cut), -1)
            costs = minutes * weight[open_] + repair_cost(split, few).reshape(int(open_.sum()), -1).sum(axis=1)
            best[open_] = np.minimum(best[open_], costs)
        return best

    def _cut(self, table: Array) -> Array:
        """Return the rows kept and a last row with all the others."""
        import numpy as np

        kept = table[self.rows]
        return np.vstack([kept, np.clip(table.sum(axis=0) - kept.sum(axis=0), 0.0, None)])

    def _cut_chances(self, index: int) -> Array:
        """Return P(outcome | group) for the rows kept; the others together come out as they do on average."""
        import numpy as np

        kept = self.chances[index][self.rows]
        rest = self._cut(self.options[index].table)[-1]
        total = rest.sum()
        last = rest / total if total > 0 else self.options[index].table.sum(axis=0)
        return np.vstack([kept, last])
