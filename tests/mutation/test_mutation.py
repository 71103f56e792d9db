"""A small sample of wrong changes must be caught, and the sound rule base must not be."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.trouble.network import build
from tests.mutation.mutants import KINDS, changed, mutants
from tests.mutation.running import SEEN, mutated, noticed, run, sample

pytestmark = pytest.mark.slow


def test_every_kind_is_made_once_per_site():
    """Every kind occurs; a deletion for every link, two priors for every cause; each mutant differs from the sound cause."""
    base = loaded.rulebase()
    found = mutants(base)
    kinds = [m.kind for m in found]
    assert set(kinds) == set(KINDS)
    assert kinds.count("link deleted") == sum(len(e.shows) for c in base.causes.values() for e in c.effects)
    assert kinds.count("prior x10") == kinds.count("prior /10") == len(base.causes)
    assert all(m.causes[name] != base.causes[name] for m in found for name in m.causes)


@pytest.mark.parametrize("layout", ["opposed-4", "opposed-4-dual"])
def test_the_short_way_builds_the_same_numbers(layout):
    """Building only the changed causes anew gives the model that building everything anew gives."""
    base = loaded.rulebase()
    network = loaded.network_of((), layout)
    for mutant in sample(4, seed=3):
        whole = build(changed(base, mutant), base.layouts[layout]).model
        short = mutated(network, mutant).model
        assert {c.id: c for c in short.causes} == {c.id: c for c in whole.causes}
        assert short.leaks == whole.leaks


def test_a_sample_is_the_same_each_time():
    """One seed, one sample; another seed, another."""
    told = [[(m.kind, m.where, m.what) for m in sample(12, seed)] for seed in (1, 1, 2)]
    assert told[0] == told[1] != told[2]


@pytest.mark.slow
def test_four_in_ten_link_mutants_are_caught():
    """Ten that anybody could notice, by the cases and the rows of how often: four at least (5 when written, 6 of 12)."""
    outcomes = [run(m) for m in sample(10, seed=5, links_only=True)]
    assert sum(bool(o.by) for o in outcomes) >= 4, [(o.mutant.kind, o.mutant.where, o.mutant.what) for o in outcomes if not o.by]


def test_a_change_is_noticed_by_what_it_does_to_one_result():
    """A link deleted from an effect of its own takes strength times number away; half a percent of the engines is nobody's notice."""
    gone = next(
        m for m in mutants(loaded.rulebase()) if m.kind == "link deleted" and "points_pitted@" in m.what and "points_pitted" in m.causes
    )
    assert noticed(gone) == pytest.approx(0.97 * 0.96)
    assert any(m.link and noticed(m) < SEEN for m in mutants(loaded.rulebase()))
    assert all(noticed(m) >= SEEN for m in sample(20, seed=1, links_only=True))
