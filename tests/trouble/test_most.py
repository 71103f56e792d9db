"""`most`: more than half of the plugs, so at least one of each half; it never says more than the plugs counted one by one."""

from __future__ import annotations

from itertools import combinations

import pytest

from diagnose import loaded
from diagnose.belief.exact import believe
from diagnose.problems import BadInput
from diagnose.trouble.evidence import prepare
from diagnose.trouble.looks import LookResults
from diagnose.trouble.results import read_result, read_results

BASE = loaded.rulebase()


@pytest.mark.parametrize("name", ["opposed-4", "opposed-6", "radial-5"])
def test_every_choice_of_more_than_half_satisfies_each_part(name):
    """All such sets of plugs, counted: none leaves a half empty, so nothing untrue is taken in."""
    layout = BASE.layouts[name]
    parts = [set(r.places) for r in read_result("plug_soot@most=yes", BASE, layout)]
    assert len(parts) == 4
    for chosen in combinations(layout.circuits, len(layout.circuits) // 2 + 1):
        assert all(part & set(chosen) for part in parts)


def test_it_is_more_than_some_and_less_than_all():
    """What fouls every plug gains with each step."""
    network = loaded.network_of((), "opposed-4")

    def share(*texts):
        found = read_results(texts, BASE, network.layout)
        present = believe(network.model, prepare(network, [LookResults(found, found)]).evidence).present
        return present["mixture_rich_idle@engine"]

    some, most, every = share("plug_soot@some=yes"), share("plug_soot@most=yes"), share("plug_soot@all=yes")
    assert some < most < every


@pytest.mark.parametrize(
    ("text", "says"), [("cht_high@most=yes", "counts plugs and leads"), ("plug_soot@most=no", "takes an abnormal grade")]
)
def test_what_it_cannot_say_is_one_line(text, says):
    with pytest.raises(BadInput, match=says):
        read_result(text, BASE, BASE.layouts["opposed-4"])
