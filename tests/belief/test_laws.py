"""The laws of belief on a sample of random small networks; `python -m tests.belief.laws` takes thousands."""

from __future__ import annotations

import pytest

from tests.belief import laws
from tests.fast import all_but_first_slow, slow

SEEDS = range(240)


@pytest.mark.parametrize("first", all_but_first_slow(SEEDS[::40]))
def test_the_reference_and_the_list_of_worlds_say_the_same(first):
    """Exactly the same fractions, and engines in floats within 1e-9."""
    for seed in range(first, first + 40):
        case = laws.draw(seed)
        assert laws.differs_from_worlds(case) == 0, f"network {seed}"
        for name, believe in laws.engines().items():
            assert laws.engine_differs(believe, case) < 1e-9, f"network {seed}, {name}"


@pytest.mark.parametrize("law", [*laws.LAWS[:3], *map(slow, laws.LAWS[3:])], ids=lambda law: law.__name__)
def test_laws_hold(law):
    """Each law on its own thirty networks."""
    for seed in range(30):
        law(laws.draw(seed))


@pytest.mark.slow
def test_the_sample_has_all_that_is_hard():
    """Each feature stands in at least a twentieth of the sample."""
    found = [name for seed in SEEDS for name in laws.features(laws.draw(seed))]
    wanted = {
        "pairs told of",
        "a pair said not to hold",
        "steps of reach",
        "somehow",
        "clause of several options",
        "several looks",
        "parts exchanged",
        "causes quieted",
        "causes removed",
        "blame in several looks",
    }
    assert {name for name in wanted if found.count(name) >= len(SEEDS) / 20} == wanted
