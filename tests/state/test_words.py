"""What is said of an aircraft, read into things and states: nothing guessed, nothing lost."""

from __future__ import annotations

import pytest

from diagnose.problems import BadInput
from diagnose.trouble.aircraft_words import kept, recalled, said


@pytest.mark.parametrize(
    ("text", "states"),
    [
        ("P-lead left=off, propeller tagged", {"P-lead left": "off", "propeller": "tagged"}),
        ("P-lead left=off, tagged", {"P-lead left": "off", "propeller": "tagged"}),
        ("left P-lead off at the magneto; cowl open", {"P-lead left": "off", "cowl": "off"}),
        ("P-leads=on", {"P-lead left": "on", "P-lead right": "on"}),
        ("P-lead right=not connected", {"P-lead right": "off"}),
        ("P-lead right=not known", {"P-lead right": "unknown"}),
        ("plugs=out 3-bottom, 1-top", {"plugs": "some out"}),
        ("plugs out of every cylinder", {"plugs": "out of every cylinder"}),
        ("magnetos grounded", {"magneto left": "grounded", "magneto right": "grounded"}),
        ("switch=OFF, key out", {"switch": "off"}),
        ("chocks in, fuel off, leads off", {"chocks": "in", "fuel": "off", "leads": "off"}),
        ("parts off=left magneto, gasket", {"parts off": "some"}),
        ("propeller tag=tag on", {"propeller": "tagged"}),
    ],
)
def test_the_trades_ways_of_saying_it(text, states):
    assert {thing: now for thing, (now, _) in said([text]).items()} == states


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("P-lead left=hm", "known: off, on, unknown"),
        ("P-lead left=connected, I am not sure", "says nothing known of P-lead left"),
        ("P-lead left=on, P-lead left=off", "given as 'on' and as 'off'"),
        ("cowl=ajar", "known: off, on, unknown"),
        ("wing=off", "'wing' is nothing that is kept; known: cowl, plugs, leads, P-lead left"),
        ("", "such as 'P-lead left=off, propeller tagged'"),
    ],
)
def test_a_bad_word_is_refused_with_one_line_that_names_the_known_ones(text, told):
    with pytest.raises(BadInput) as error:
        said([text])
    assert told in str(error.value)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    ("words", "now"),
    [
        ("off", "off"),
        ("Disconnected", "off"),
        ("off, safe", "off"),
        ("back on", "on"),
        ("connected", "on"),
        ("connected, I am not sure", "unclear"),
        ("on the bench, removed", "unclear"),
        ("should be on", "unclear"),
        ("on or off", "unclear"),
        ("", "unclear"),
    ],
)
def test_older_prose_that_cannot_be_read_counts_as_unclear(words, now):
    """Never as on: a lead is on only where that was written."""
    assert recalled("P-lead left", words) == {"P-lead left": (now, words)}


def test_a_p_lead_of_no_known_side_is_both():
    """Which one is meant cannot be read: it may be either."""
    assert set(recalled("the p lead", "off")) == {"P-lead left", "P-lead right"}
    assert recalled("wheel", "flat") == {"wheel": ("unclear", "flat")}


def test_what_is_kept_reads_back_the_same():
    """A state is written as its own word, or in the person's words where they say more."""
    for text in ("P-lead left=off, propeller tagged", "plugs=out 3-bottom, 1-top", "parts off=left magneto", "P-lead left=not known"):
        found = said([text])
        again = {t: recalled(t, words)[t][0] for t, words in kept(found).items()}
        assert again == {t: now for t, (now, _) in found.items()}
    assert kept(said(["P-lead left=taken off"])) == {"P-lead left": "off"}
    assert kept(said(["P-lead left=off, insulated"])) == {"P-lead left": "off, insulated"}
