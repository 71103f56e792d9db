"""Versions rise when numbers or behaviour change, and the lists of changes say what changed."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from diagnose import loaded
from tests.versions import digests
from tests.versions.released import LISTS, Version, entries, lacking, numbers, released, versions

BEFORE = Version("1.2.0", "a")
LIST = "# Changes\n\n## 1.3.0\n- A cause more.\n\n## 1.2.0\n- First.\n"


@pytest.mark.slow
def test_rule_base_version():
    """Every number on every layout is digested anew here where the version is the released one, so nobody has to think of it."""
    assert _lacking("rulebase", digests.rulebase) == ""


def test_program_version(tmp_path):
    """Likewise what the program takes and gives."""
    assert _lacking("program", lambda: digests.program(tmp_path)) == ""


def _lacking(what, digest):
    return lacking(what, versions()[what], released()[what], LISTS[what].read_text(encoding="utf-8"), digest)


@pytest.mark.parametrize("what", LISTS)
def test_a_list_of_changes_goes_down_to_the_release(what):
    """Newest first, each version once, the released one among them."""
    told = list(entries(LISTS[what].read_text(encoding="utf-8")))
    assert all(numbers(one) > numbers(other) for one, other in pairwise(told))
    assert released()[what].version in told


@pytest.mark.parametrize(
    ("now", "changes", "told"),
    [
        (BEFORE, LIST.replace("## 1.3.0\n- A cause more.\n", ""), ""),
        (Version("1.3.0", "b"), LIST, ""),
        (Version("1.3.0", "a"), LIST, ""),
        (Version("1.2.0", "b"), LIST, "raise `version` in rulebase/common.yaml"),
        (Version("1.1.9", "b"), LIST, "raise `version`"),
        (Version("1.4.0", "b"), LIST, "does not begin with `## 1.4.0`"),
        (Version("1.3.0", "b"), LIST.replace("- A cause more.\n", ""), "does not begin with `## 1.3.0` and what changed"),
        (Version("1.10.0", "b"), LIST.replace("1.3.0", "1.10.0"), ""),
    ],
)
def test_what_is_asked_for(now, changes, told):
    """Worked out by hand: a change without a version, without an entry, with an empty entry; ten comes after nine."""
    line = lacking("rulebase", now.version, BEFORE, changes, lambda: now.digest)
    assert told in line
    assert bool(told) == bool(line)


def test_a_number_changes_the_digest_and_words_or_order_do_not():
    """One prior, one label, one order of causes."""
    base = loaded.rulebase()
    layout = base.layouts["opposed-4"]
    first, *rest = base.causes.values()

    def made(*causes):
        return digests.network(replace(base, causes={c.id: c for c in causes}), layout)

    same = digests.digest(made(first, *rest))
    assert digests.digest(made(*rest, replace(first, label="x", note="y"))) == same
    assert first.prior is not None
    more = replace(first.prior, value=first.prior.value * 1.001)
    assert digests.digest(made(replace(first, prior=more), *rest)) != same
