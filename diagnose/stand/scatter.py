"""Scatter that is the same for one engine however often it is asked, and fresh for each reading.

A hash of the seed and a name gives the number, so no order of questions changes another answer.
"""

import hashlib
from statistics import NormalDist

_NORMAL = NormalDist()
_STEPS = 2**53


def share(seed: int, name: str) -> float:
    """Return a number above 0 and under 1 that belongs to this seed and name for ever."""
    digest = hashlib.blake2b(f"{seed}/{name}".encode(), digest_size=8).digest()
    return (int.from_bytes(digest, "big") // 2**11 + 0.5) / _STEPS


def deviate(seed: int, name: str, sigma: float = 1.0) -> float:
    """Return a normal deviate of mean 0 that belongs to this seed and name for ever."""
    return sigma * _NORMAL.inv_cdf(share(seed, name))


class Scatter:
    """Scatter of one engine: `fixed` never changes, `fresh` is new on every question of the same name."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self._asked: dict[str, int] = {}

    def fixed(self, name: str, sigma: float = 1.0) -> float:
        """Return this engine's own deviate for `name`."""
        return deviate(self.seed, name, sigma)

    def chance(self, name: str) -> float:
        """Return this engine's own share between 0 and 1 for `name`."""
        return share(self.seed, name)

    def fresh(self, name: str, sigma: float = 1.0) -> float:
        """Return a new deviate on each call; the nth call of a name gives the same number on every run."""
        return deviate(self.seed, self._next(name), sigma)

    def toss(self, name: str) -> float:
        """Return a new share between 0 and 1 on each call."""
        return share(self.seed, self._next(name))

    def _next(self, name: str) -> str:
        count = self._asked.get(name, 0) + 1
        self._asked[name] = count
        return f"{name}#{count}"
