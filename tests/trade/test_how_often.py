"""The numbers of the rule base against how often somebody of the trade expects each sign of each fault."""

from __future__ import annotations

import pytest

from diagnose import loaded
from tests.trade.how_often import WORDS, failing, rows, rows_of, shown

BASE = loaded.rulebase()
OFTEN = WORDS["often"][0]


@pytest.mark.parametrize("cause", BASE.causes)
def test_how_often_each_sign_shows(cause):
    """Common practice, no source: every row of a fault holds, but those `settled` only guard against change."""
    failed = [failing(loaded.network_of((), row.layout), row) for row in told_of(cause)]
    assert not [f for f in failed if f]


def test_the_plain_signs_of_faults_have_rows():
    """Of what a fault shows often or more, nine in ten are told of: a row written after its number proves nothing, so some wait."""
    told, plain = 0, 0
    for cause in BASE.causes:
        found = told_of(cause)
        network = loaded.network_of((), found[0].layout)
        rows = {(network.symptoms[row.finding].symptom.id, row.grade) for row in found}
        often = {kind for kind, result in shown_by(network, found[0].cause) if shown(network, found[0].cause, *result.split("=")) >= OFTEN}
        told, plain = told + len(often & rows), plain + len(often)
    assert plain > 1000
    assert told > 0.9 * plain


def told_of(cause):
    """Return the rows about a cause; the test fails with what to write where there are none."""
    found = rows_of(cause)
    unplaced = [r for r in found if r.cause not in loaded.network_of((), r.layout).causes]
    assert found, f"nothing in tests/trade/how_often tells of {cause}: add `{cause}@PLACE:` under a layout, with a row for each sign"
    assert not unplaced, f"{unplaced[0].layout} has no {unplaced[0].cause}: give its rows in tests/trade/how_often a place where it can be"
    unseen = [r for r in found if r.finding not in loaded.network_of((), r.layout).symptoms]
    assert not unseen, f"{unseen[0].layout} has no {unseen[0].finding}, of which a row of {unseen[0].cause} in tests/trade/how_often tells"
    return found


def shown_by(network, cause):
    """Yield what a located cause shows: (symptom, grade), and the result as a row writes it."""
    for effect in network.cause_nodes[cause].effects:
        for link in (x for x in effect.links if x.finding in network.symptoms):
            symptom = network.symptoms[link.finding].symptom
            if symptom.kind == "course":  # its numbers stand once, in the templates, with the reason of each
                continue
            for grade, share in zip(symptom.names[1:], link.levels[1:], strict=True):
                if share:
                    yield (symptom.id, grade), f"{link.finding}={grade}"


def test_most_rows_held_at_the_first_reading():
    """Seven rows in ten: they were right, or the number moved to them. A base that only fits rows settled after it shows nothing."""
    read = [row for row in rows() if not row.alike]
    assert len(read) > 2500
    assert sum(row.settled for row in read) < 0.3 * len(read)
    assert {row.word for row in rows()} == set(WORDS)
