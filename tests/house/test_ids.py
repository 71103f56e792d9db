"""The program knows no entry of the rule base by name: no id of a symptom, cause, check or remedy stands in its source.

What it must act on it finds by role, family or section; then a renamed entry, or another rule base, breaks nothing.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

from diagnose import loaded
from diagnose.rulebase.records import MEASURED, ROLES

TOP = Path(__file__).parents[2]
BASE = loaded.rulebase()
IDS = frozenset([*BASE.symptoms, *BASE.causes, *BASE.checks, *BASE.remedies])
# A role is a meaning the format declares; some shipped symptoms are called like their role, and roles may be named.
NAMED = IDS - set(ROLES)
# file, id -> why it may stand there
EXCUSED: Mapping[tuple[str, str], str] = {
    ("cli/calculations/__init__.py", "drop"): "the name of the command `calc drop`",
    ("calc/drop_table.py", "drop"): "an English word: the head of a column",
    **{
        ("cli/examples.py", word): "an example at the end of a help, of what a person types; a test reads it by the parser"
        for word in ("drop", "plug_lead", "look_at_plug", "swap_plug", "clean_plug", "drop_fast", "plug_lead_fouled")
    },
    ("report/screens.py", "drop"): "an example on a screen, of what a person types",
    ("trouble/results.py", "drop"): "an example in a message, of what a person types",
    ("cli/calculations/run_confirm.py", "drop"): "an example in the help, of what a person types",
    ("cli/welcome.py", "plug_lead_fouled"): "an example of what a person can look up",
}


def named(source: str, ids: frozenset[str]) -> Iterator[tuple[int, str]]:
    """Yield line and id wherever a text of a program, docstrings apart, is an id or speaks of one as a result does.

    An id with an underscore counts anywhere in a text; one that is a plain English word where it is the whole text or is followed
    by a place or a regime.
    """
    tree = ast.parse(source)
    told = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr) and isinstance(n.value, ast.Constant)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
            for found in re.finditer(r"[a-z][a-z0-9_]*", node.value):
                word, after = found[0], node.value[found.end() :]
                if word in ids and ("_" in word or word == node.value or re.match(r"(\.[a-z_]+)?@[a-z0-9]", after)):
                    yield node.lineno, word


def test_no_entry_of_the_rule_base_is_named_in_the_source():
    found: dict[tuple[str, str], list[int]] = {}
    for file in sorted((TOP / "diagnose").rglob("*.py")):
        for line, word in named(file.read_text(encoding="utf-8"), NAMED):
            found.setdefault((file.relative_to(TOP / "diagnose").as_posix(), word), []).append(line)
    wrong = [
        f"diagnose/{file}:{lines[0]}: names '{word}'; find it by its role"
        for (file, word), lines in found.items()
        if (file, word) not in EXCUSED
    ]
    assert not wrong, "\n".join(wrong)
    idle = [excuse for excuse in EXCUSED if excuse not in found]
    assert not idle, f"excuses nobody needs: {idle}"


@pytest.mark.parametrize(
    ("source", "seen"),
    [
        ('x = "plug_worn"', ["plug_worn"]),
        ('x = f"plug_worn.static@{place}=yes"', ["plug_worn"]),
        ('x = "drop"', ["drop"]),
        ('x = "write drop.runup@left=normal"', ["drop"]),
        ('x = "the drop is large"', []),
        ('def f():\n    """Grade of plug_worn."""\n', []),
    ],
)
def test_a_name_is_seen(source, seen):
    """Whole, inside a longer text, as a result; not as an English word, not in a docstring."""
    assert [word for _, word in named(source, frozenset({"plug_worn", "drop"}))] == seen


def test_every_role_a_calculation_gives_is_held_by_one_symptom():
    assert {role: len(BASE.with_role(role)) for role in MEASURED} == dict.fromkeys(MEASURED, 1)
