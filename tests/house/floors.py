"""The house read off its guide and its source: rooms, floors, and every import that goes the wrong way.

The table of floors in DEVELOPERS.md is the only place where they are written.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

ROW = re.compile(r"^\| *(\d+) *\| *(.+?) *\|")
ROOM = re.compile(r"`([\w.]+)/?`")


@dataclass(frozen=True)
class Arrow:
    """One import of the program's own: from a module, at a line, to a module."""

    source: str
    file: Path
    line: int
    target: str


def floors(guide: str) -> Mapping[str, int]:
    """Return room -> floor, as the table of a guide has them; a room is a folder or a single file of the program."""
    found: dict[str, int] = {}
    for line in guide.splitlines():
        row = ROW.match(line)
        for room in ROOM.findall(row[2]) if row else ():
            found[room.removesuffix(".py")] = int(row[1]) if row else 0
    return found


def arrows(root: Path) -> list[Arrow]:
    """Return every import between modules of a program, those inside functions and under TYPE_CHECKING too."""
    modules = {_name(root, file): file for file in sorted(root.rglob("*.py"))}
    found = []
    for name, file in modules.items():
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            found += [Arrow(name, file, line, target) for target, line in _targets(node, name, file, modules)]
    return found


def _name(root: Path, file: Path) -> str:
    parts = file.relative_to(root.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _targets(node: ast.AST, name: str, file: Path, modules: Mapping[str, Path]) -> Iterator[tuple[str, int]]:
    if isinstance(node, ast.Import):
        yield from ((alias.name, node.lineno) for alias in node.names if alias.name in modules)
    elif isinstance(node, ast.ImportFrom):
        package = name if file.name == "__init__.py" else name.rpartition(".")[0]
        above = package.split(".")[: len(package.split(".")) - node.level + 1] if node.level else []
        base = ".".join([*above, *([node.module] if node.module else [])])
        for alias in node.names:
            whole = f"{base}.{alias.name}"
            if whole in modules or base in modules:
                yield (whole if whole in modules else base), node.lineno


def room(module: str) -> str:
    """Return the room a module stands in: the folder or file right under the program's own folder."""
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else "__init__"


def wrong_ways(found: list[Arrow], floor: Mapping[str, int]) -> list[str]:
    """Return a line for every import that goes up, to another room of the same floor, or to a room that has no floor."""
    said = []
    for arrow in found:
        here, there = room(arrow.source), room(arrow.target)
        if here == there or there == "__init__":
            continue
        homeless = next((r for r in (here, there) if r not in floor), None)
        where = f"{arrow.file}:{arrow.line}: {arrow.source} imports {arrow.target}"
        if homeless:
            said.append(f"{where}: `{homeless}` has no floor; give it one in the table of DEVELOPERS.md")
        elif floor[there] >= floor[here]:
            way = "goes up" if floor[there] > floor[here] else "goes across its floor"
            said.append(
                f"{where}: {way}, from {here} (floor {floor[here]}) to {there} (floor {floor[there]}); move what is needed to a room "
                f"below floor {floor[here]}, or hand it in as an argument"
            )
    return said


def circles(found: list[Arrow]) -> list[str]:
    """Return a line for every group of modules that import each other in a circle, with one import of it to take out."""
    import networkx as nx

    # A package's own __init__ speaks for its modules; importing a module runs it, which is no circle of anybody's making.
    graph = nx.DiGraph()
    graph.add_edges_from((a.source, a.target) for a in found if not a.source.startswith(f"{a.target}."))
    said = []
    for group in nx.strongly_connected_components(graph):
        inside = [a for a in found if a.source in group and a.target in group and a.source != a.target]
        if len(group) > 1:
            told = "; ".join(f"{a.file}:{a.line} {a.source} -> {a.target}" for a in inside)
            said.append(f"circle: {told}; move what both need to a module of its own")
    return said
