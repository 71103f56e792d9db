"""The stand knows places and problems only: read off every import, and off what its import brings into memory."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

STAND = Path(__file__).parents[2] / "diagnose" / "stand"
ALLOWED = ("diagnose.places", "diagnose.problems", "diagnose.calc", "diagnose.stand")
READS_FILES = {"open", "read_text", "read_bytes", "import_module", "__import__"}


def imported(tree):
    """Yield every module a tree imports, inside functions too."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "write imports of the stand in full"
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def test_no_module_of_the_stand_imports_more_of_the_program():
    files = sorted(STAND.rglob("*.py"))
    assert len(files) > 20
    for file in files:
        for name in imported(ast.parse(file.read_text("utf-8"))):
            if name.split(".")[0] == "diagnose":
                assert any(name == a or name.startswith(f"{a}.") for a in ALLOWED), f"{file.name} imports {name}"


def test_no_module_of_the_stand_reads_files_or_imports_by_name():
    for file in STAND.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Call):
                called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
                assert called not in READS_FILES, f"{file.name}:{node.lineno} calls {called}"


def test_nothing_else_of_the_program_is_in_memory_after_importing_the_stand():
    names = ", ".join(f"diagnose.stand.{file.stem}" for file in sorted(STAND.glob("*.py")) if file.stem != "__init__")
    told = subprocess.run(
        [sys.executable, "-c", f"import sys, {names}; print(*sorted(m for m in sys.modules if m.startswith('diagnose.')))"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    assert [m for m in told if not any(m == a or m.startswith(f"{a}.") for a in ALLOWED)] == []
