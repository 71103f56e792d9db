"""Two steps ahead: what to do now - a check, a remedy, or a call for help - counting with one more check after it.

The second check is taken to be independent of the first once the responsible group is known. That is
true on a model with one fault and independent results; on the shipped network it is an estimate, so it
orders and times the steps and never stands for a belief.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from diagnose.plan.repair_cost import Option, Prices, costs_after, repair_cost

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

SHORTLIST = 8  # checks looked at two steps ahead: so many of the cheapest, and half as many that save most in a minute
SECOND = 12  # checks that may follow, chosen likewise
REPAIRS = 3  # remedies tried at once, then one check
NEAR = 0.9  # gains this close are a tie, and so is what two checks tell (estimate, kept because it costs nothing on small problems)
LIKE, AT_MOST = 0.05, 15.0  # a gentler or more telling step may cost this share, and these minutes, more in all (estimate)
MOST_OF_IT = 0.6  # and must still gain this much of what the best one gains (estimate)
TELLS = 0.05  # bits a check must tell, or else change the repair: below, it is never next whatever access it opens (estimate)
CHANGES = 1.0  # minutes of repair, and its own, that its results must be worth to count as changing it (estimate)
ASKED = 3.0  # times its own minutes a question must save by changing the next step, else it can wait: memories are not tests (estimate)
ROWS = 24  # groups kept while looking ahead; the others count as "none of these"


@dataclass(frozen=True)
class Choice:
    """What to do now: `kind` is "check", "repair" or "help"; `index` of option or group; expected minutes in all.

    `saved` are the minutes a check alone saves on the repairs, its own not counted; `tells`: whether it tells enough to be next.
    """

    kind: str
    index: int
    cost: float
    saved: float = 0.0
    tells: bool = True


def steps(
    now: Array,
    options: Sequence[Option],
    prices: Prices,
    base: float | None = None,
    after: Callable[[int], Prices] | None = None,
    told: Sequence[float] | None = None,
) -> list[Choice]:
    """Return every step, cheapest first: each check, the few remedies worth trying at once, and help.

    `now` holds the shares of the groups and "none"; `base` is the cost with no further check (default: at `prices`, as if
    every remedy had to open its access anew); `after(group)` gives the prices once a remedy's access is open; `told` are the
    bits each check tells (default: enough). A check that tells next to nothing stands last, and so does a question whose
    answers would not change the step that follows: it can wait.
    A tie goes to help, then to a remedy, then to a check.
    """
    base = float(repair_cost(now[:, None], prices)[0]) if base is None else base
    left = costs_after(options).tolist()
    worth = _worth(options, left)
    open_ = {id(o.prices): float(repair_cost(now[:, None], o.prices)[0]) for o in options}
    alone = [option.minutes + open_[id(option.prices)] - gain for option, gain in zip(options, worth, strict=True)]
    telling = [i for i in range(len(options)) if told is None or told[i] >= TELLS or worth[i] >= max(CHANGES, options[i].minutes)]
    order = sorted(telling, key=lambda i: (round(alone[i], 9), i))  # what adds up in another order differs in its last digits
    hands = [i for i in order if not options[i].question]
    view = _View(now, options, _shortlist(order, options, worth, SECOND))
    telling = [i for i in telling if not options[i].question or view.turns(i, hands[:SECOND]) > ASKED * options[i].minutes]
    short = _shortlist([i for i in order if i in telling], options, worth, SHORTLIST)
    found = [Choice("help", -1, prices.expert * float(now.sum()))]
    found += _repairs(now, options, prices, view, after or (lambda _: prices))
    found += [Choice("check", i, alone[i] - (view.gain_after(i) if i in short else 0.0), base - left[i]) for i in telling]
    silent = [Choice("check", i, alone[i], base - left[i], tells=False) for i in range(len(options)) if i not in telling]
    return [*_gentle_first(sorted(found, key=_cost), options, base, told or worth), *sorted(silent, key=_cost)]


def _shortlist(order: Sequence[int], options: Sequence[Option], worth: Sequence[float], count: int) -> list[int]:
    """Return the checks worth a longer look: the cheapest by themselves, and those that save most in a minute."""
    by_minute = sorted(order, key=lambda i: (-round(worth[i] / options[i].minutes, 9), i))
    return list(dict.fromkeys((*order[:count], *by_minute[: count // 2])))


def _cost(choice: Choice) -> float:
    return round(choice.cost, 9)


def _worth(options: Sequence[Option], left: Sequence[float]) -> list[float]:
    """Return the minutes of repair that the results of each check save, with and without priced in the same world.

    That is with the same access open and the same shares: groups can be responsible together and share in proportion, so a
    check's outcomes do not quite average to the shares now, and the difference is nothing the check saves.
    """
    ahead = costs_after([replace(option, table=option.table.sum(axis=1, keepdims=True)) for option in options])
    return [cost - after for cost, after in zip(ahead.tolist(), left, strict=True)]


def _gentle_first(found: list[Choice], options: Sequence[Option], base: float, tells: Sequence[float]) -> list[Choice]:
    """Put the gentlest check first among those of like worth, and of these one that tells most.

    Looking one check ahead cannot tell near ties apart, nor a twentieth of a check's own minutes; what is known stays known, whatever
    turns out to be done next. Where some tell nearly the same, alone goes before with a second person, then what costs least.
    """
    first = next((s for s in found if s.kind == "check"), None)
    if first is None or first.cost >= base:
        return found
    checks = [s for s in found if s.kind == "check"]
    dearest = first.cost + min(LIKE * first.cost, AT_MOST)
    like = [s for s in checks if s.cost <= dearest and base - s.cost >= MOST_OF_IT * (base - first.cost)]
    gentle = min(options[s.index].harm for s in like)
    like = [s for s in like if options[s.index].harm == gentle]
    slack = LIKE * options[like[0].index].minutes
    like = [s for s in like if base - s.cost >= NEAR * (base - like[0].cost) or s.cost <= like[0].cost + slack]
    most = max(tells[s.index] for s in like)
    near = [s for s in like if tells[s.index] >= NEAR * most]
    best = min(near, key=lambda s: (options[s.index].people, _cost(s), s.index))
    at = found.index(first)
    return [*found[:at], best, *(s for s in found[at:] if s is not best)]


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

    def turns(self, index: int, others: Sequence[int]) -> float:
        """Return the minutes a question saves by changing what is done next: one of `others`, or the repairs at once."""
        import numpy as np

        option = self.options[index]
        cut, few = self._cut(option.table), Prices(option.prices.remedies[self.rows], option.prices.expert)
        weight = cut.sum(axis=0)
        ways = [repair_cost(cut, few)]
        for j in (j for j in others if j in self.spread):
            split = (cut[:, :, None] * self.spread[j][:, None, :]).reshape(len(cut), -1)
            ways.append(option.then(j) * weight + repair_cost(split, few).reshape(len(weight), -1).sum(axis=1))
        costs = np.array(ways)
        return float(costs.sum(axis=1).min() - costs.min(axis=0).sum())

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
