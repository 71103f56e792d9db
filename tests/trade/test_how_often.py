"""The numbers of the rule base against how often somebody of the trade expects each sign of each fault."""

from __future__ import annotations

import pytest

from diagnose import session
from tests.trade.how_often import WORDS, failing, rows, rows_of

BASE = session.rulebase()


@pytest.mark.parametrize("cause", BASE.causes)
def test_how_often_each_sign_shows(cause):
    """Common practice, no source: every row of a fault holds, but those `settled` only guard against change."""
    assert rows_of(cause), f"no row of tests/trade/how_often tells of {cause}"
    failed = [failing(session.network_of((), row.layout), row) for row in rows_of(cause)]
    assert not [f for f in failed if f]


@pytest.mark.parametrize("cause", BASE.causes)
def test_every_link_has_a_row(cause):
    """Each symptom and grade a fault shows on the layout of its rows is told of, at one place at least."""
    network = session.network_of((), rows_of(cause)[0].layout)
    told = {(network.symptoms[row.finding].symptom.id, row.grade) for row in rows_of(cause)}
    for effect in next(c for c in network.model.causes if c.id == rows_of(cause)[0].cause).effects:
        for link in effect.links:
            symptom = network.symptoms[link.finding].symptom
            shown = {(symptom.id, grade) for grade, share in zip(symptom.names[1:], link.levels[1:], strict=True) if share}
            assert shown <= told


def test_most_rows_held_at_the_first_reading():
    """Seven rows in ten: they were right, or the number moved to them. A base that only fits rows settled after it shows nothing."""
    read = [row for row in rows() if not row.alike]
    assert len(read) > 2500
    assert sum(row.settled for row in read) < 0.3 * len(read)
    assert {row.word for row in rows()} == set(WORDS)
