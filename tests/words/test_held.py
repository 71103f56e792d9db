"""A verdict on a number names its limit, on the page where it is confirmed."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from diagnose import loaded
from diagnose.cli.telling import show
from diagnose.words.held import held_against
from diagnose.words.reading import read_words

NETWORK = loaded.network_of((), "opposed-4")


@pytest.mark.parametrize(
    ("result", "words", "limit"),
    [
        ("drop.runup@left=excessive", "left mag drops 250", "150 rpm"),
        ("drop.runup@left=excessive", "left mag drops too much", ""),
        ("compression_low.static@3=yes", "no 3 58 over 80", "60 psi"),
        ("plug_oil.static@3-bottom=yes", "no 3 bottom plug wet with oil", ""),
        ("plug_resistance_high.static@3-bottom=yes", "no 3 bottom plug resistance", ""),
    ],
)
def test_a_number_names_the_limit_it_was_held_against(result, words, limit):
    """A number of a cylinder is no amount; without one nothing was held against anything."""
    told = held_against(NETWORK.base, result, words)
    assert limit in told if limit else told == ""


def test_limit_and_what_was_not_understood_stand_before_it_is_confirmed():
    """What was typed wrong behind a number is said beside the finding that is kept, and the limit with its source."""
    out = io.StringIO()
    show(Console(file=out, width=80), NETWORK, read_words("left mag drops 250 9k", NETWORK.base, NETWORK.layout))
    told = " ".join(out.getvalue().split())
    assert "1 left drop over the limit at run-up" in told
    assert "held against: largest drop on one magneto, 150 rpm (typical; enter your manual's; source: trade-2010-magcheck)" in told
    assert 'Not understood, kept as said: "9k"' in told
