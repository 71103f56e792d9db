"""What the results of all looks ask, in bits: which bit a source sets, which sets of bits are true, who is blamed.

One bit stands for every clause ("met directly") and for every hidden finding of a look that a pair told of names. A set of bits
is accepted where every clause has its own bit or a pair of it, and every finding told to be normal has no pair.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import product
from typing import TYPE_CHECKING, Any, NamedTuple

from diagnose.belief.model import Evidence, Model, Pair

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, Any]

NONE = 99  # no bound: above every level
LEVELS = 16  # more than any finding has


class Demand(NamedTuple):
    """One result: the ways to meet it, each a mask of bits, and whether one must be met or none may be."""

    met: bool
    ways: tuple[int, ...]


class Block(NamedTuple):
    """Results that share bits: the bits, rising, and for every set of them whether it is accepted (1 or 0)."""

    bits: tuple[int, ...]
    accept: Array


class Told:
    """The bits of one evidence on one model; `repeated`: looks that tell the same, whose clauses have bits in common."""

    def __init__(self, model: Model, evidence: Evidence, repeated: Sequence[int] = ()) -> None:
        self.model, self.evidence, self.looks = model, evidence, evidence.looks
        self.repeated = tuple(repeated)
        self.common: list[int] = []
        self.now = len(evidence.looks) - 1
        self.complaint = evidence.complaint_findings(model)
        self.width = 0
        self.options: dict[tuple[int, str], list[tuple[int, int, bool]]] = {}  # (look, finding) -> (least, bit, alone)
        self.hidden: dict[tuple[int, str], int] = {}
        self.choices: dict[frozenset[tuple[str, int]], dict[int, int]] = {}  # several options -> look -> mask
        self.demands: list[Demand] = []
        self.blamed_directly, self.blamed_pairs = 0, list[int]()
        for t in range(len(self.looks)):
            self._look(t)

    def _bit(self) -> int:
        self.width += 1
        return 1 << (self.width - 1)

    def _look(self, t: int) -> None:
        again = t in self.repeated[1:]
        for number, clause in enumerate(self.looks[t].clauses):
            bit = self.common[number] if again else self._bit()
            if t in self.repeated[:1]:
                self.common.append(bit)
            for finding, least in clause.options:
                self.options.setdefault((t, finding), []).append((least, bit, len(clause.options) == 1))
            if len(clause.options) > 1:
                by_look = self.choices.setdefault(frozenset(clause.options), {})
                by_look[t] = by_look.get(t, 0) | bit
            pairs = self._pairs(t, self.model.pairs_of(clause))
            if not again:
                self.demands.append(Demand(True, (bit, *pairs)))
            if (t, number) in self.evidence.blamed:
                self.blamed_directly |= bit
                self.blamed_pairs += [p for p in pairs if p not in self.blamed_pairs]
        for finding, bound in self.looks[t].bounds.items():
            if bound == 0 and finding in self.model.pairs:
                self.demands.append(Demand(False, self._pairs(t, self.model.pairs[finding])))

    def _pairs(self, t: int, pairs: Iterable[Pair]) -> tuple[int, ...]:
        return tuple(sum(self._hidden(t, member) for member in dict.fromkeys(pair)) for pair in pairs)

    def _hidden(self, t: int, member: str) -> int:
        if (t, member) not in self.hidden:
            self.hidden[t, member] = self._bit()
        return self.hidden[t, member]

    @cached_property
    def findings(self) -> tuple[str, ...]:
        """Return every finding told of in any look, hidden ones included, in the order told."""
        bounded = (f for look in self.looks for f in look.bounds)
        return tuple(dict.fromkeys((*(f for _, f in (*self.options, *self.hidden)), *bounded)))

    def masks(self, t: int, finding: str, alone: bool = False) -> list[int]:
        """Return for every level the bits that adding it to a finding sets in a look; `alone`: without those of several options."""
        found = [0, *(LEVELS - 1) * [self.hidden.get((t, finding), 0)]]
        for least, bit, single in self.options.get((t, finding), ()):
            for level in range(least, LEVELS) if single or not alone else ():
                found[level] |= bit
        return found

    @cached_property
    def blocks(self) -> tuple[Block, ...]:
        """Return the results, those that share bits together."""
        return tuple(Block(bits, _accept(bits, demands)) for bits, demands in self._shared().items())

    def _shared(self) -> dict[tuple[int, ...], list[Demand]]:
        blocks: list[tuple[int, list[Demand]]] = []
        for demand in self.demands:
            mask, mine = 0, [demand]
            for way in demand.ways:
                mask |= way
            rest = []
            for other, demands in blocks:
                if other & mask:
                    mask, mine = mask | other, [*demands, *mine]
                else:
                    rest.append((other, demands))
            blocks = [*rest, (mask, mine)]
        return {bits_of(mask): demands for mask, demands in blocks}

    @cached_property
    def cases(self) -> tuple[tuple[int, tuple[Block, ...]], ...]:
        """Return the disjoint cases "just these blamed pairs hold": the blamed bits, and what is then accepted."""
        options = [list(self._cases_of(block).items()) for block in self.blocks]
        return tuple(
            (
                sum((guilty for guilty, _ in chosen), self.blamed_directly),
                tuple(Block(b.bits, accept) for b, (_, accept) in zip(self.blocks, chosen, strict=True)),
            )
            for chosen in product(*options)
        )

    def _cases_of(self, block: Block) -> dict[int, Array]:
        """Return, by the bits of blamed pairs that hold, which sets of one block are accepted."""
        import numpy as np

        own = sum(1 << b for b in block.bits)
        pairs = [pair for pair in self.blamed_pairs if pair & own]
        found: dict[int, Array] = {}
        for number, mask in enumerate(_sets(block.bits)):
            guilty = 0
            for pair in pairs:
                guilty |= pair if mask & pair == pair else 0
            guilty &= ~self.blamed_directly
            if block.accept[number]:
                found.setdefault(guilty, np.zeros(len(block.accept)))[number] = block.accept[number]
        return found or {0: block.accept}


def accepted(blocks: Sequence[Block], width: int) -> Array:
    """Return for every set of all bits whether every block accepts it."""
    import numpy as np

    sets = np.arange(1 << width)
    found = np.ones(1 << width)
    for bits, accept in blocks:
        place = np.zeros(1 << width, dtype=int)
        for number, bit in enumerate(bits):
            place |= (sets >> bit & 1) << number
        found *= accept[place]
    return found


def bits_of(mask: int) -> tuple[int, ...]:
    """Return the bits of a mask by number, rising."""
    return tuple(b for b in range(mask.bit_length()) if mask >> b & 1)


def _sets(bits: tuple[int, ...]) -> Iterator[int]:
    """Yield the mask of every set of some bits, in the order of a table over them."""
    for number in range(1 << len(bits)):
        yield sum(1 << b for i, b in enumerate(bits) if number >> i & 1)


def _accept(bits: tuple[int, ...], demands: list[Demand]) -> Array:
    import numpy as np

    return np.array([float(all(any(s & w == w for w in d.ways) == d.met for d in demands)) for s in _sets(bits)])


def squeezed(mask: int, bits: Mapping[int, int]) -> int:
    """Return a mask numbered anew: `bits` gives the place of each bit."""
    return sum(1 << bits[b] for b in bits_of(mask))
