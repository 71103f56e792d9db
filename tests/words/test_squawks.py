"""Two hundred and forty squawks as people write them: hardly anything wrong, nothing dropped without a word."""

from collections import Counter

from diagnose import loaded
from tests.words.squawks import squawks


def test_squawks_are_read_right_or_asked_about_or_kept_as_said():
    """At most 3 % of what is read is wrong (the owner's limit); the other floors are what was reached when the rules were written."""
    rows = list(squawks(loaded.rulebase()))
    count = Counter(how for row in rows for _, how in row.found)
    wrong, read = sum(len(row.wrong) for row in rows), sum(row.read for row in rows)
    assert wrong <= 0.03 * read, [row.wrong for row in rows if row.wrong]
    assert count["right"] >= 0.62 * count.total()
    assert count["dropped"] <= 0.02 * count.total()
