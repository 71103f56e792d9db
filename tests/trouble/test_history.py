"""History acts as a factor on prior odds: the innermost place alone counts, not knowing is a factor of 1."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.belief.exact import believe
from diagnose.trouble.evidence import prepare
from diagnose.trouble.looks import LookResults
from diagnose.trouble.results import read_results

LAYOUT = "opposed-4"


def odds(*looks):
    """Return located cause -> factor for the texts of each look."""
    network = loaded.network_of((), LAYOUT)
    read = [LookResults(read_results(texts, network.base, network.layout)) for texts in looks]
    return prepare(network, read).evidence.odds


def factor(target, answer, name="recent_ignition_work"):
    """Return the factor written in the rule base."""
    return loaded.rulebase().history[name].acts_on[target][answer].value


def test_an_answer_for_the_engine_acts_everywhere_and_only_on_what_is_listed():
    """Crossed leads become likelier on both sides; a cause not listed is not named."""
    found = odds(["recent_ignition_work@engine=yes"])
    listed = set(loaded.rulebase().history["recent_ignition_work"].acts_on)
    for ident, value in found.items():
        cause = loaded.network_of((), LAYOUT).causes[ident].cause
        target = cause.id if cause.id in listed else cause.family
        assert target in listed, ident
        assert value == pytest.approx(factor(target, "yes")), ident
    assert {"p_lead_open@left", "p_lead_open@right"} <= set(found)
    assert "coil_weak@left" not in found


def test_the_innermost_answer_alone_counts():
    """Not both multiplied: left says no, the engine says yes, so left is no and right is yes."""
    for texts in (
        ["recent_ignition_work@engine=yes", "recent_ignition_work@left=no"],
        ["recent_ignition_work@left=no", "recent_ignition_work@engine=yes"],
    ):
        found = odds(texts)
        assert found["p_lead_open@left"] == pytest.approx(factor("p_lead_open", "no"))
        assert found["p_lead_open@right"] == pytest.approx(factor("p_lead_open", "yes"))
        # a circuit lies inside the side whose magneto fires it
        assert found["lead_terminal_dirty@3-bottom"] == pytest.approx(factor("lead_terminal", "no"))
        assert found["lead_terminal_dirty@3-top"] == pytest.approx(factor("lead_terminal", "yes"))


def test_an_answer_for_one_side_acts_there_and_on_causes_of_the_whole_engine():
    """The other side, its circuits and the switch are left alone; what sits across the engine was touched with its side."""
    found = odds(["recent_ignition_work@left=yes"])
    network = loaded.network_of((), LAYOUT)
    places = {network.causes[ident].place for ident in found}
    assert places == {"left", "1-bottom", "3-bottom", "2-top", "4-top", "engine"}
    assert found["p_leads_crossed@engine"] == pytest.approx(factor("p_leads_crossed", "yes"))


def test_nothing_done_counts_for_the_engine_only_when_both_sides_say_so():
    """One side untouched says little of what sits across the engine; one side touched and one not is an engine touched."""
    assert "p_leads_crossed@engine" not in odds(["recent_ignition_work@left=no"])
    both = odds(["recent_ignition_work@left=no", "recent_ignition_work@right=no"])
    assert both["p_leads_crossed@engine"] == pytest.approx(factor("p_leads_crossed", "no"))
    mixed = odds(["recent_ignition_work@left=no", "recent_ignition_work@right=yes"])
    assert mixed["p_leads_crossed@engine"] == pytest.approx(factor("p_leads_crossed", "yes"))


@pytest.mark.parametrize("grade", ["unknown", "cannot"])
def test_not_knowing_is_a_factor_of_one(grade):
    """Not the mean of the answers, not `no`."""
    assert odds([f"recent_ignition_work@engine={grade}"]) == {}
    assert odds([]) == {}


def test_two_questions_multiply_and_a_later_answer_replaces_the_earlier():
    """Both act on lead-fouled plugs; asked again in the next look, the newer answer holds."""
    found = odds(["recent_ignition_work@engine=yes", "plug_hours_over_100@engine=yes"])
    wanted = factor("plug_fouled_lead", "yes") * factor("plug_fouled_lead", "yes", "plug_hours_over_100")
    assert found["plug_lead_fouled@3-bottom"] == pytest.approx(wanted)
    later = odds(["recent_ignition_work@left=yes"], ["recent_ignition_work@left=no"])
    assert later["p_lead_open@left"] == pytest.approx(factor("p_lead_open", "no"))


def test_a_factor_multiplies_the_odds_of_the_prior():
    """Against the arithmetic done here, with no other result: odds x factor, back to a probability."""
    network = loaded.network_of((), LAYOUT)
    looks = [LookResults(read_results(["recent_ignition_work@engine=yes"], network.base, network.layout))]
    present = believe(network.model, prepare(network, looks).evidence).present
    for ident in ("p_lead_open@left", "lead_terminal_dirty@3-bottom", "coil_weak@left"):
        prior = network.graph.nodes[ident]["prior"]
        wanted = prior / (1 - prior) * prepare(network, looks).evidence.odds.get(ident, 1.0)
        assert present[ident] == pytest.approx(wanted / (1 + wanted), rel=1e-9)


def test_the_mean_factor_is_about_one():
    """Asking must not make a cause likelier on average: P(yes) x f_yes + P(no) x f_no within .1 of 1."""
    for history in loaded.rulebase().history.values():
        assert sum(n.value for n in history.probability.values()) == pytest.approx(1)
        for target, factors in history.acts_on.items():
            mean = sum(history.probability[a].value * factors[a].value for a in history.answers)
            assert mean == pytest.approx(1, abs=0.1), (history.id, target)
            assert min(n.value for n in factors.values()) > 0


def test_begun_just_after_the_work_says_more_than_work_alone():
    """For what a hand sets wrong; once: the kind of work adds what the work as a whole does not say yet, its answer given along."""
    whole = odds(["recent_ignition_work@engine=just"])["leads_crossed@3-bottom"]
    assert whole == pytest.approx(factor("leads_crossed", "just"))
    assert whole > 3 * factor("leads_crossed", "yes")
    part = odds(["recent_plug_work@engine=just"])["leads_crossed@3-bottom"]
    assert part == pytest.approx(whole * factor("leads_crossed", "yes", "recent_plug_work"))
    assert factor("impulse_wrong", "just", "recent_magneto_work") > 2 * factor("impulse_wrong", "yes", "recent_magneto_work")


def test_nothing_touched_is_said_once():
    """That no ignition work was done implies that no plug and no magneto work was: the narrower "no" does not count again."""
    once = odds(["recent_ignition_work@engine=no"])
    again = odds(
        ["recent_ignition_work@engine=no", "recent_magneto_work@engine=no", "recent_switch_work@engine=no", "recent_plug_work@engine=no"]
    )
    for cause in ("p_lead_open@left", "leads_crossed@3-bottom", "p_leads_crossed@engine"):
        assert again[cause] == pytest.approx(once[cause])
    part = odds(["recent_magneto_work@engine=yes"])
    assert part["p_lead_open@left"] == pytest.approx(factor("p_lead_open", "yes") * factor("p_lead_open", "yes", "recent_magneto_work"))
    assert odds(["recent_ignition_work@engine=no", "recent_magneto_work@engine=yes"])["p_lead_open@left"] == pytest.approx(
        part["p_lead_open@left"]
    )
    touched = odds(["recent_ignition_work@engine=yes", "recent_magneto_work@engine=no"])
    assert touched["p_lead_open@left"] == pytest.approx(factor("p_lead_open", "yes") * factor("p_lead_open", "no", "recent_magneto_work"))
