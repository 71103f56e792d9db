"""Links that set no bit, taken as one factor, against the same links summed over level by level."""

import pytest

from diagnose.belief import shown, somehow
from diagnose.belief.exact import ask
from diagnose.belief.hearing import NOTHING
from diagnose.belief.links import Parts, parted
from diagnose.belief.setting import Row, Setting
from diagnose.loaded import network_of
from diagnose.trouble.evidence import prepare
from diagnose.trouble.looks import LookResults, Repair
from diagnose.trouble.results import read_results

NETWORK = network_of((), "opposed-4")
BEFORE = ["rough.runup@left=yes", "drop.runup@left=excessive", "drop.runup@right=normal", "rough.runup@right=no", "egt_low.runup@1-top=no"]
AFTER = ["rough.runup@left=yes", "drop.runup@right=normal", "egt_low.runup@1-top=no"]
REPAIR = Repair("clean_plug", "3-bottom")


def looks():
    first, again = (tuple(read_results(told, NETWORK.base, NETWORK.layout)) for told in (BEFORE, AFTER))
    return [LookResults(first, first[:1]), LookResults(again, again[:1], (REPAIR,))]


@pytest.fixture
def level_by_level(monkeypatch):
    """Return a switch to the sum over levels: every link as if it set bits."""

    def switch():
        for module in (shown, somehow):
            monkeypatch.setattr(module, "parted", lambda links: Parts(list(links), [], []))

    return switch


def test_one_factor_is_the_sum_over_levels(level_by_level):
    """Two looks with a repair between, normal results in both, questions about what was seen before and what was not."""
    evidence = prepare(NETWORK, looks()).evidence
    told = [f for f in evidence.looks[0].bounds if f not in evidence.looks[1].bounds]
    assert told
    others = [f for f in NETWORK.symptoms if f.startswith(("egt_low.", "electrodes_", "rough."))][:12]
    rows = [Row(), *(Row({f: 0}) for f in (*told, *others)), Row(dict.fromkeys((*told, *others[:4]), 0))]
    quick = ask(NETWORK.model, evidence, rows)
    level_by_level()
    slow = ask(NETWORK.model, evidence, rows)
    assert quick.likelihood == pytest.approx(slow.likelihood, rel=1e-12)
    assert quick.nobody == pytest.approx(slow.nobody, rel=1e-12)
    for cause in quick.responsible:
        assert quick.responsible[cause] == pytest.approx(slow.responsible[cause], rel=1e-9, abs=1e-15)
        assert quick.present[cause] == pytest.approx(slow.present[cause], rel=1e-9, abs=1e-15)


def test_the_shorter_sum_is_taken():
    """Links heard again go by looks where an effect has more of them than there are looks, by levels where it has fewer."""
    evidence = prepare(NETWORK, looks()).evidence
    links = list(Setting(NETWORK.model, evidence, [Row({"rough.runup@right": 0})]).hearing.links(range(2), NOTHING).values())
    parts = parted(links)
    again = [one for one in links if one.silent and one.lasting]
    assert again
    assert parts.shared in ([], [0, 1])
    assert len(parts.loud) + len(parts.silent) == len(links)
    took = parts.silent if parts.shared else parts.loud
    assert {id(one) for one in again} <= {id(one) for one in took}
    assert not any(one.reach for one in parts.silent)
