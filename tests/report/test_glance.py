"""The step on one screen: it always fits, and what must be on it is on it."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console

from diagnose import loaded
from diagnose.assessment.steps import next_step
from diagnose.audit.faults import draw
from diagnose.report import screens
from diagnose.report.brief import short_caution
from diagnose.report.documents import next_document, rank_document
from diagnose.report.glance import Glance, Row, composed
from diagnose.report.glances import glance_of
from diagnose.report.said import aircraft_words, cause_name
from diagnose.report.text import cut, size
from diagnose.trouble.aircraft import Aircraft, Stamp, recorded
from diagnose.trouble.looks import LookResults
from diagnose.trouble.results import read_results
from diagnose.trouble.trouble import Trouble
from tests.present import present

LAYOUTS = ("opposed-4", "opposed-4-dual", "opposed-6", "opposed-8", "radial-7")
TROUBLES = 3  # on each layout


@pytest.fixture(scope="module")
def network():
    """Return the network of the four-cylinder engine."""
    return loaded.network_of((), "opposed-4")


def troubles(network, count):
    """Yield drawn troubles as first told, and as they stand once what the first step looks at is known."""
    for drawn in draw(network, count, 19):
        if not drawn.complaint:
            continue
        told = read_results([_result(network, drawn, drawn.complaint)], network.base, network.layout)
        first = Trouble((LookResults(told, told),))
        yield first
        check = present(next_step(network, loaded.assessed(network, first))).check
        if check is not None:
            more = read_results([_result(network, drawn, n) for n in check.located.nodes], network.base, network.layout)
            fresh = tuple(r for r in more if r.subject != told[0].subject)
            yield Trouble((LookResults((*told, *fresh), told),))


def _result(network, drawn, node):
    return f"{node}={network.symptoms[node].symptom.names[drawn.levels.get(node, 0)]}"


@pytest.mark.slow
@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_step_fits_and_says_what_to_do(layout):
    """24 lines of 80: state, what to do and where, minutes and people, three suspects, what results lead to, the keys last."""
    network = loaded.network_of((), layout)
    seen = 0
    for trouble in troubles(network, TROUBLES):
        a = loaded.assessed(network, trouble)
        step = next_step(network, a)
        glance = glance_of(network, a, step, "step 1", "Kept: something")
        lines = composed(glance)
        text = " ".join(" ".join(lines).split())
        assert len(lines) <= 24
        assert max(map(len, lines)) <= 80
        assert glance.do[:40] in text
        if step is not None and step.kind != "help":
            assert "about " in text
            assert " min" in text
        for row in glance.suspects:
            shown = [line for line in lines if line.endswith(row.right)]
            assert any(line.split()[:2] == row.left.split()[:2] for line in shown), (row, lines)
        assert len(glance.suspects) >= min(3, len([r for r in a.finding.causes if r.share >= 0.05]) and 1)
        assert "q >" in lines[-1]
        assert "not known" not in text
        assert lines[0].startswith(glance.state)
        if step is not None and step.check is not None:
            assert "->" in text
            assert "ONE REPAIR" not in lines[0] or a.finding.state == "isolated"
        seen += 1
    assert seen >= TROUBLES


def full():
    """Return a screen on which everything is long."""
    long = "Look at this part and that part and say what was seen of them, in good light and without haste. " * 4
    rows = tuple(Row(f"No. {n} bottom plug: {long[:90]}", f"{n}0 % each") for n in range(1, 9))
    return Glance(
        state="NOT YET FOUND   step 12",
        do=long[:150],
        keys="d do  m numbers  n not here  o other  f repair  t tell  p past  w why  ? b q",
        about=long,
        noted=long,
        alarms=(long[:200], long[:100]),
        facts="about 20 min, 2 people; needs cowling off",
        how=long,
        cautions=tuple(f"Caution number {n} of many" for n in range(7)),
        first=(long[:120], "second"),
        suspects=rows[:3],
        more="31 more (l)",
        then="WHAT IT MAY SHOW",
        leads=rows,
    )


@pytest.mark.parametrize("width", [80, 100, 120])
@pytest.mark.parametrize("height", [10, 14, 24, 25, 40, 60])
def test_no_screen_is_ever_longer_or_wider(width, height):
    """Whatever is on it; the thing to do and the keys stay to the last."""
    lines = composed(full(), width, height)
    assert len(lines) <= height
    assert max(map(len, lines)) <= width
    assert any(line.startswith("DO NEXT") for line in lines)
    assert lines[-1].endswith(">")


def test_a_larger_screen_shows_more():
    """More lines show more of the same, in the same order; nothing is lost where there is room for all."""
    small, large = composed(full(), 80, 24), composed(full(), 120, 70)
    assert len(large) > len(small)
    assert all(any(row.left[:30] in line for line in large) for row in full().leads)
    assert "(h)" not in " ".join(large)
    assert "(h)" in " ".join(small)


def test_a_heading_never_stands_alone():
    """Where no result has room, its heading has none either."""
    for height in range(8, 24):
        lines = composed(full(), 80, height)
        at = [i for i, line in enumerate(lines) if line.startswith("WHAT IT MAY")]
        assert all(lines[i + 1].startswith("  No. 1") for i in at)


def test_what_is_cut_says_so_and_where_the_rest_is():
    """Cautions that do not fit are counted, and the key to them stands there; a text is cut at a word."""
    line = next(text for text in composed(full()) if text.startswith("CAUTION"))
    shown = line.count("! ")
    assert f"+{7 - shown} (c)" in line
    assert cut("one two three four", 16) == "one two three.."
    assert cut("short", 12) == "short"


def test_a_suspect_is_named_place_first_and_once(network):
    """As a mechanic says it; what has no place stands alone, an abbreviation keeps its capitals."""
    assert cause_name(network, "plug_lead_fouled@3-bottom") == "No. 3 bottom plug: fouled with lead"
    assert cause_name(network, "plug_lead_fouled@1-bottom", also=["3-bottom"]) == "No. 1 or 3 bottom plug: fouled with lead"
    assert cause_name(network, "p_lead_grounded@left") == "left magneto: P-lead grounded, magneto silenced"
    assert cause_name(network, "timing_late@left") == "left magneto: timed late to the engine"
    assert cause_name(network, "mixture_rich_idle@engine").startswith("Idle mixture")


def test_every_caution_has_a_short_form(network):
    """The first words of each, short enough for one line, and the beginning of the caution itself."""
    for caution in network.base.cautions.values():
        short = short_caution(caution.label)
        assert caution.label.startswith(short)
        assert len(short) > 8, short
        line = next(t for t in composed(replace(full(), cautions=(short, "second", "third"))) if t.startswith("CAUTION"))
        assert len(line) <= 80
        assert line.endswith("(c)")


def test_nothing_unknown_is_told_as_set_aside(network):
    """26 answers that nobody knows leave no line; one that does not count for a reason is counted."""
    unknown = [f"{h}@engine=unknown" for h in network.base.history]
    a = loaded.assessed(network, loaded.trouble_from(network.base, network.layout, ["rough@left=yes"], unknown, frozenset()))
    assert "set aside" not in " ".join(composed(glance_of(network, a)))
    assert len(a.prepared.ignored) >= len(unknown)


def test_the_state_never_speaks_against_the_step(network):
    """A repair that is tried as the quickest test is not called found; a run to be made is not called confirmed."""
    a = loaded.assessed(network, loaded.trouble_from(network.base, network.layout, ["rough@left=yes"], [], frozenset()))
    from diagnose.report.brief import state_words

    assert a.finding.state == "unsettled"
    assert state_words(a, "check") == "NOT YET FOUND"
    assert "repair" in state_words(a, "repair")
    assert "COMPLAINT GONE" not in state_words(a, "finish_run")
    gone = replace(a, finding=replace(a.finding, state="confirmed"))
    assert "not finished" in state_words(gone, "finish_run")


def test_the_size_is_that_of_the_terminal_or_as_told(monkeypatch):
    """80 by 24 where piped; COLUMNS and LINES are obeyed; no line over 120."""
    for name in ("COLUMNS", "LINES"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr("sys.stdout.isatty", lambda: False, raising=False)
    assert size() == (80, 24)
    monkeypatch.setenv("COLUMNS", "100")
    monkeypatch.setenv("LINES", "40")
    assert size() == (100, 40)
    monkeypatch.setenv("COLUMNS", "300")
    assert size() == (120, 40)


def test_a_line_of_danger_is_never_cut(network):
    """A stop in a name or in somebody's words ends nothing: who recorded it, that the switch cannot stop it, and what to do, all stand."""
    aircraft = recorded(
        Aircraft(), {"P-lead left": ("off", "off, see card no. 4. A. Alder"), "cowl": ("off", "off")}, Stamp("A. Alder", "", 7)
    )
    results = read_results(["drop@left=excessive"], network.base, network.layout)
    a = loaded.assessed(network, Trouble((LookResults(results, results),), aircraft=aircraft))
    lines = composed(glance_of(network, a), 80, 24)
    told = " ".join(" ".join(lines).split())
    assert len(lines) <= 24
    assert "(entry 7, A. Alder). The switch cannot stop it: tag the propeller, keep out of its arc; no run and no cranking until" in told
    assert aircraft_words(aircraft) in told, "its state stands on the step"
    for alarm in full().alarms:
        assert alarm.strip() in " ".join(" ".join(composed(full(), 80, 24)).split()), "on a full screen too"
    out = io.StringIO()
    screens.show_ranking(Console(file=out, width=80), network, a)
    assert aircraft_words(aircraft) in " ".join(out.getvalue().split()), "and under the ranking"
    assert rank_document(network, a)["aircraft"] == next_document(network, a)["aircraft"]
    assert rank_document(network, a)["aircraft"]["now"] == {"P-lead left": "off", "cowl": "off"}
