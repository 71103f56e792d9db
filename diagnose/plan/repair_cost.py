"""What knowing is worth in minutes: entropy, expected cost of repair, and one or two steps of looking ahead.

Everything here works on plain tables and knows no network. A table has one row per repair group and a
last row "none of these"; each column is one way things can come out, its entries the joint
probabilities. All costs are linear in the weight of a column, so columns need not sum to one.

Expected cost of repair after Heckerman, Breese & Rommelse 1995: remedies in falling share per minute
(the order proven for exclusive faults by Kadane & Simon 1977), with help called as soon as that is cheaper.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]


AT_ONCE = 512  # columns worked at once: what fits the processor's own memory goes twice as fast


@dataclass(frozen=True)
class Prices:
    """Minutes of every remedy with its retest (one per group), and of calling for help."""

    remedies: Array
    expert: float


@dataclass(frozen=True)
class Option:
    """A check as the decision sees it.

    `minutes` are marginal (access not yet there included), `table` is groups and "none" by outcomes, `prices` hold
    once its access is there, and `then(j)` gives the marginal minutes of option j after this one. `harm` orders steps of like
    worth: the lower goes first. A `question` needs no hands and tells how the trouble goes.
    """

    minutes: float
    table: Array
    prices: Prices
    then: Callable[[int], float]
    harm: tuple[int, ...] = ()
    people: int = 1
    question: bool = False


def bits(table: Array) -> float:
    """Return the entropy of the groups that is left on average over the columns, weighted by them (Shannon 1948)."""
    return float(bits_left([table])[0])


def repair_cost(table: Array, prices: Prices) -> Array:
    """Return, per column, weight times expected minutes to a fixed engine with no further check.

    Remedies are tried in falling share per minute up to the best moment to call for help.
    """
    import numpy as np

    columns = table.shape[1]
    if columns <= AT_ONCE:
        return _repair_cost(table, prices)
    return np.concatenate([_repair_cost(table[:, i : i + AT_ONCE], prices) for i in range(0, columns, AT_ONCE)])


def _repair_cost(table: Array, prices: Prices) -> Array:
    """Return `repair_cost` of a few columns: worked with a column's groups side by side in memory."""
    import numpy as np

    weights = np.ascontiguousarray(table.T)
    parts, none = weights[:, :-1], weights[:, -1:]
    order = np.argsort(parts * (-1.0 / prices.remedies), axis=1)
    left = np.empty_like(weights)  # still open before each try, and after all
    left[:, -1:] = none
    left[:, :-1] = none + np.cumsum(np.take_along_axis(parts, order, axis=1)[:, ::-1], axis=1)[:, ::-1]
    tried = np.cumsum(prices.remedies[order] * left[:, :-1], axis=1)
    stopping = prices.expert * left
    stopping[:, 1:] += tried
    cheapest: Array = stopping.min(axis=1)
    return cheapest


def costs_after(options: Sequence[Option]) -> Array:
    """Return the expected minutes of the repairs after each check, at the prices its access leaves."""
    import numpy as np

    left = np.zeros(len(options))
    by_prices: dict[int, list[int]] = {}
    for number, option in enumerate(options):
        by_prices.setdefault(id(option.prices), []).append(number)
    for numbers in by_prices.values():  # one call for all that share their prices: most do
        tables = [options[n].table for n in numbers]
        costs = repair_cost(np.hstack(tables), options[numbers[0]].prices)
        left[numbers] = np.add.reduceat(costs, _starts(tables))
    return left


def bits_left(tables: Sequence[Array]) -> Array:
    """Return `bits` of every table."""
    import numpy as np

    if not tables:
        return np.zeros(0)
    joined = np.hstack(tables)
    total = joined.sum(axis=0)
    inner = (joined * np.log2(np.where(joined > 0, joined, 1.0))).sum(axis=0)
    found: Array = np.add.reduceat(total * np.log2(np.where(total > 0, total, 1.0)) - inner, _starts(tables))
    return found


def _starts(tables: Sequence[Array]) -> list[int]:
    """Return where each table begins once they stand side by side."""
    return [0, *accumulate(t.shape[1] for t in tables[:-1])]
