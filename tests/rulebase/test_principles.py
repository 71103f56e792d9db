"""What a trainee should understand: every link leads somewhere, every check and cause has one, every text is of a length to read."""

from __future__ import annotations

import pytest

from diagnose.audit import entries
from diagnose.loaded import rulebase
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.principles import principles_of
from diagnose.rulebase.reader import read_rulebase
from diagnose.rulebase.records import DRAWINGS

BASE = rulebase()
# What the issue of the day asked for, by the words of the trade.
ASKED = {
    "drop",
    "e_gap",
    "impulse",
    "retard_points",
    "lead_fouling",
    "resistor",
    "p_lead",
    "synchronization",
    "plug_rotation",
    "run_up_order",
    "lean_check",
    "egt",
    "coil_heat",
    "compression",
    "reading_plugs",
}
KILLS = {"prop_live", "turn_by_hand", "run_area", "compression_air", "timing_prop", "p_lead_off_live", "cranking", "high_voltage"}


def test_the_topics_asked_for_are_there():
    assert set(BASE.principles) >= ASKED
    assert sum(bool(p.drawing) for p in BASE.principles.values()) >= 8
    assert {p.drawing for p in BASE.principles.values()} - {""} == set(DRAWINGS)


@pytest.mark.parametrize("topic", BASE.principles)
def test_a_topic_is_short_enough_to_be_read_and_long_enough_to_say_why(topic):
    one = BASE.principles[topic]
    words = sum(len(text.split()) for text in one.plain)
    assert 150 <= words <= 250, words
    assert 25 <= len(one.isolates.split()) <= 90
    assert len(one.short) <= 170
    assert not one.short.endswith(".")
    assert one.short[0].islower() or one.short.startswith(("E-gap", "P-lead"))
    assert one.source
    assert any(c in one.cautions for c in KILLS) or topic in ("lead_fouling", "reading_plugs")


def test_every_check_and_every_cause_is_explained():
    """The audit says so too, by its own way through the entries."""
    assert [e.id for e in (*BASE.checks.values(), *BASE.causes.values()) if not principles_of(BASE, e)] == []
    assert [f for f in entries.findings(BASE) if f.id == "no-principle"] == []


@pytest.mark.parametrize(
    ("kind", "ident", "first"),
    [
        ("checks", "swap_plug", "resistor"),
        ("checks", "look_at_plug", "reading_plugs"),
        ("checks", "off_check", "p_lead"),
        ("checks", "measure_coil_hot", "coil_heat"),
        ("causes", "impulse_magnetised", "impulse"),
        ("causes", "retard_points_open", "retard_points"),
        ("causes", "follower_worn", "e_gap"),
        ("causes", "plug_resistor_high", "resistor"),
        ("causes", "plug_lead_fouled", "lead_fouling"),
        ("causes", "probe_wrong", "egt"),  # by itself, not by its family
        ("causes", "tach_on_p_lead", "p_lead"),
    ],
)
def test_a_check_or_cause_leads_to_the_right_topic(kind, ident, first):
    assert principles_of(BASE, getattr(BASE, kind)[ident])[0].id == first


def _read(tmp_path, text):
    (tmp_path / "mine.yaml").write_text("format: 1\nprinciples:\n  mine:\n" + text)
    return read_rulebase([shipped("rulebase"), tmp_path])[1]


WHOLE = "    label: Mine\n    short: it is so\n    plain: [Because.]\n    isolates: This.\n    source: [logic]\n"


@pytest.mark.parametrize(
    ("extra", "code", "told"),
    [
        ("    checks: [swap_plugg]\n", "id", "swap_plug"),
        ("    causes: [coill]\n", "id", "coil"),
        ("    cautions: [prop_life]\n", "id", "prop_live"),
        ("    drawing: fluxx\n", "word", "flux"),
    ],
)
def test_a_link_that_leads_nowhere_is_named_with_the_nearest(tmp_path, extra, code, told):
    assert _read(tmp_path, WHOLE) == []
    found = _read(tmp_path, WHOLE + extra)
    assert [p.code for p in found] == [code]
    assert told in str(found[0])


def test_a_topic_without_its_text_is_refused(tmp_path):
    assert [p.code for p in _read(tmp_path, WHOLE.replace("plain: [Because.]", "plain: []"))] == ["missing"]
    assert "source" in str(_read(tmp_path, WHOLE.replace("    source: [logic]\n", ""))[0])
