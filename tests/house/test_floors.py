"""The house has floors, and imports go down: read off every import of the source, held against the table of the guide."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.house.floors import arrows, circles, floors, room, wrong_ways

TOP = Path(__file__).parents[2]
GUIDE = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
SMALL = "| 2 | `upper/` | |\n| 1 | `lower/`, `beside/` | |\n"


def test_every_import_goes_down():
    found = arrows(TOP / "diagnose")
    floor = floors(GUIDE)
    rooms = {room(a.source) for a in found} - {"__init__"}
    between = {(room(a.source), room(a.target)) for a in found if room(a.source) != room(a.target)}
    wrong, round_ = wrong_ways(found, floor), circles(found)
    print(f"{len(rooms)} rooms, {len(set(floor.values()))} floors, {len(between)} arrows, {len(wrong)} wrong ways, {len(round_)} circles")
    assert len(found) > 500
    assert not wrong, "\n".join(wrong)
    assert not round_, "\n".join(round_)


def test_every_room_stands_in_the_table_and_says_what_it_knows():
    floor = floors(GUIDE)
    for entry in sorted((TOP / "diagnose").iterdir()):
        if entry.is_dir() and entry.name not in ("__pycache__", "_data"):
            assert entry.name in floor, f"diagnose/{entry.name} stands in no floor of DEVELOPERS.md"
            text = (entry / "__init__.py").read_text(encoding="utf-8")
            assert "must not" in text, f"diagnose/{entry.name}/__init__.py does not say what the room must not know"


def undocumented(root: Path) -> list[str]:
    """Return every module and every public class and function of a program that has no docstring, as FILE:LINE: what is missing."""
    found = []
    for file in sorted(root.rglob("*.py")):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        public = [n for n in tree.body if isinstance(n, ast.FunctionDef | ast.ClassDef)]
        found += [f"{file}:1: the module"] * (ast.get_docstring(tree) is None)
        found += [f"{file}:{n.lineno}: {n.name}" for n in public if not n.name.startswith("_") and ast.get_docstring(n) is None]
    return found


def test_every_public_thing_says_what_it_is(tmp_path):
    """A module, class or function without a docstring is named with its line."""
    assert not undocumented(TOP / "diagnose")
    (tmp_path / "m.py").write_text("def f():\n    return 1\n\n\ndef _g():\n    return 2\n")
    assert undocumented(tmp_path) == [f"{tmp_path / 'm.py'}:1: the module", f"{tmp_path / 'm.py'}:1: f"]


@pytest.fixture
def house(tmp_path):
    """Return a function that writes a small program and returns what is wrong with its imports."""

    def build(**files: str):
        root = tmp_path / "program"
        for name, text in files.items():
            path = root / f"{name.replace('__', '/')}.py"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text)
            (path.parent / "__init__.py").touch()
        found = arrows(root)
        return wrong_ways(found, floors(SMALL)), circles(found)

    return build


def test_an_import_down_is_right(house):
    assert house(upper__a="from program.lower import b\n", lower__b="") == ([], [])


@pytest.mark.parametrize(
    "text",
    [
        "from program.upper.a import thing\n",
        "import program.upper.a\n",
        "def f():\n    from program.upper import a\n",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from program.upper.a import T\n",
        "from ..upper import a\n",
    ],
)
def test_an_import_up_is_named_with_file_line_and_mend(house, text):
    wrong, _ = house(upper__a="thing = T = 1\n", lower__b=text)
    assert len(wrong) == 1
    line = next(i for i, t in enumerate(text.splitlines(), 1) if "program.upper" in t or "..upper" in t)
    assert f"b.py:{line}: program.lower.b imports program.upper" in wrong[0]
    assert "goes up" in wrong[0]
    assert "move what is needed" in wrong[0]


def test_an_import_across_a_floor_and_a_room_without_floor_are_named(house):
    wrong, _ = house(lower__a="import program.beside.b\nimport program.attic.c\n", beside__b="", attic__c="")
    assert ["goes across its floor" in w or "has no floor" in w for w in wrong] == [True, True]


def test_a_circle_inside_a_room_is_named(house):
    wrong, round_ = house(lower__a="def f():\n    from program.lower.b import g\n", lower__b="from program.lower.a import f\n")
    assert not wrong
    assert len(round_) == 1
    assert "a.py:2" in round_[0]
    assert "b.py:1" in round_[0]
