"""A layout that contradicts itself is refused at the line of the key that is wrong."""

from __future__ import annotations

import pytest

from diagnose.rulebase.locate import shipped
from diagnose.rulebase.reader import read_rulebase

TEXT = """format: 1
numbers: estimate
layout:
  id: mine
  label: A twin of ours
  kind: opposed
  cylinders: 2
  firing_order: [1, 2]
  positions: [top, bottom]
  fouls_first: bottom
  fires:
    left: [1-top, 2-bottom]
    right: [1-bottom, 2-top]
  magnetos:
    left: {start_aid: impulse, poles: 2}
    right: {start_aid: none, poles: 2}
  drive: separate
  pressurised: no
  seen_right: [1]
  source: [common]
"""

# what to change, what it becomes, line of the problem, words of each problem
CONTRADICTIONS = [
    ("[1, 2]", "[1, 1]", 8, ["cylinder 1 fires 2 times", "cylinder 2 never fires"]),
    ("[1, 2]", "[1, 2, 3]", 8, ["there is no cylinder 3"]),
    ("[1, 2]", "[1]", 8, ["cylinder 2 never fires"]),
    ("seen_right: [1]", "seen_right: [5]", 19, ["there is no cylinder 5"]),
    ("fouls_first: bottom", "fouls_first: lower", 10, ["'lower' is none of the positions"]),
    ("[1-bottom, 2-top]", "[1-bottom]", 12, ["plug 2-top is fired by no magneto"]),
    ("[1-bottom, 2-top]", "[1-bottom, 2-top, 3-top]", 12, ["there is no plug 3-top"]),
    ("[1-bottom, 2-top]", "[1-top, 2-top]", 12, ["1-bottom is fired by no magneto", "1-top is fired 2 times"]),
    (
        "[1-top, 2-bottom]\n    right: [1-bottom, 2-top]",
        "[1-top, 1-bottom]\n    right: [2-bottom, 2-top]",
        12,
        ["left magneto fires both plugs of cylinder 1", "right magneto fires both plugs of cylinder 2"],
    ),
]


def read(tmp_path, text):
    """Return the rule base and problems with one layout laid over the shipped rule base."""
    (tmp_path / "mine.yaml").write_text(text)
    return read_rulebase([shipped("rulebase"), tmp_path])


def test_the_layout_used_here_is_sound(tmp_path):
    """Else every case below would prove nothing."""
    base, problems = read(tmp_path, TEXT)
    assert problems == []
    layout = base.layouts["mine"]
    assert (layout.circuits, layout.side_of["2-top"]) == (("1-top", "1-bottom", "2-top", "2-bottom"), "right")


@pytest.mark.parametrize(("old", "new", "line", "words"), CONTRADICTIONS)
def test_a_contradiction_is_told_at_its_line(tmp_path, old, new, line, words):
    """No more problems than contradictions."""
    assert TEXT.count(old) == 1
    _, problems = read(tmp_path, TEXT.replace(old, new))
    assert {(p.code, p.line) for p in problems} == {("layout", line)}
    assert len(problems) == len(words)
    for text in words:
        assert any(text in p.message for p in problems), text


def test_positions_must_be_two_plain_words(tmp_path):
    """`left` as a position could not be told from the side."""
    _, problems = read(tmp_path, TEXT.replace("[top, bottom]", "[left, bottom]"))
    assert any(p.line == 9 and "'left' cannot be a position" in p.message for p in problems)
    _, problems = read(tmp_path, TEXT.replace("positions: [top, bottom]", "positions: [top]"))
    assert any(p.line == 9 and "two plugs at two positions" in p.message for p in problems)


@pytest.mark.parametrize("bad", ["x", "1.5", "-1", "1-top"])
def test_a_firing_order_of_other_than_numbers_is_refused(tmp_path, bad):
    """A word in the order is not dropped in silence."""
    _, problems = read(tmp_path, TEXT.replace("[1, 2]", f"[1, 2, {bad}]"))
    assert [(p.line, bad in p.message) for p in problems] == [(8, True)]


@pytest.mark.parametrize(("old", "new"), [("poles: 2}\n    right", "poles: 1}\n    right"), ("cylinders: 2", "cylinders: two")])
def test_counts_are_whole_numbers(tmp_path, old, new):
    """A magnet has two poles or more."""
    _, problems = read(tmp_path, TEXT.replace(old, new))
    assert [p.code for p in problems] == ["number"]
