"""What a repair ends, what it only quiets, and in whose words it speaks."""

from __future__ import annotations

import re

import pytest

from diagnose import loaded
from diagnose.rulebase.records import Check, Remedy

BASE = loaded.rulebase()
CAUSES = BASE.causes
STEPS: list[Check | Remedy] = [*BASE.checks.values(), *BASE.remedies.values()]


def causes_with(remedy):
    return {c.id: set(c.remedies) for c in CAUSES.values() if remedy in c.remedies}


@pytest.mark.parametrize(
    ("narrow", "wider"),
    [
        ("replace_plug", ["change_cylinder_plugs", "replace_plug_set"]),
        ("replace_lead", ["change_cylinder_leads", "replace_harness", "replace_both_harnesses"]),
        ("replace_harness", ["replace_both_harnesses"]),
        ("replace_points", ["replace_magneto", "overhaul_magneto", "overhaul_both_magnetos"]),
        ("replace_coil", ["replace_magneto", "overhaul_magneto", "overhaul_both_magnetos"]),
        ("replace_capacitor", ["replace_magneto", "overhaul_magneto", "overhaul_both_magnetos", "replace_dual_magneto"]),
        ("replace_block", ["replace_magneto", "overhaul_magneto", "overhaul_both_magnetos"]),
        ("repair_cylinder", ["overhaul_engine"]),
    ],
)
def test_a_wider_repair_ends_what_the_narrow_one_ends(narrow, wider):
    """A part renewed with the whole is renewed: common practice, no source."""
    found = causes_with(narrow)
    assert found
    assert {c: sorted(set(wider) - have) for c, have in found.items() if not set(wider) <= have} == {}


@pytest.mark.parametrize(
    ("narrow", "wider"),
    [
        ("replace_plug", "change_cylinder_plugs"),
        ("replace_lead", "change_cylinder_leads"),
        ("replace_points", "replace_magneto"),
        ("mend_p_lead", "mend_both_p_leads"),
    ],
)
def test_the_wider_repair_is_the_longer_one(narrow, wider):
    """So that the plan never proposes two parts where one will do."""
    assert BASE.remedies[narrow].minutes.value < BASE.remedies[wider].minutes.value


@pytest.mark.parametrize(
    ("cause", "remedy"), [("mixture_rich_idle", "clean_all_plugs"), ("rings_worn", "clean_plug"), ("heat_range_cold", "clean_all_plugs")]
)
def test_clean_plugs_quiet_what_fouls_them_and_do_not_end_it(cause, remedy):
    """FAA-H-8083-32B p4-33, p4-34: soot and oil come back while their source stays."""
    assert remedy not in CAUSES[cause].remedies
    assert cause in BASE.remedies[remedy].may_quiet


def test_a_lean_engine_is_not_sent_to_the_idle_screw():
    """The idle setting does nothing at power: how the carburettor works, FAA-H-8083-32B p10-28."""
    assert "adjust_idle_mixture" not in CAUSES["mixture_lean"].remedies


@pytest.mark.parametrize("ident", BASE.remedies)
def test_every_repair_defers_to_the_manual(ident):
    """Each says whose instructions decide: manual, maker, book or licensed people."""
    remedy = BASE.remedies[ident]
    assert re.search(r"manual|maker|licensed|book|manufacturer|run-in sheet", f"{remedy.label}. {remedy.how}".lower())


def test_nothing_is_called_approved():
    """The rule base passes no judgement that belongs to an authority, a maker or an inspector."""
    texts = [
        *(t for c in CAUSES.values() for t in (c.label, c.note)),
        *(t for e in STEPS for t in (e.label, e.how, *e.tools)),
        *(t for s in BASE.symptoms.values() for t in (s.label, s.ask, *s.grades.values())),
        *(c.label for c in BASE.cautions.values()),
    ]
    assert len(texts) > 1000
    assert [t for t in texts if re.search(r"\bapprov|airworth|return(ed)? to service|certif", t.lower())] == []


def test_a_run_with_a_p_lead_off_begins_with_the_engine_stopped():
    """The lead comes off a magneto at rest and its end is made safe: common practice, no source."""
    for ident in ("try_p_lead_off", "try_start_p_lead_off"):
        how = BASE.checks[ident].how
        assert how.lower().index("lead off") < how.index("insulated") < how.index("Stop by mixture")
