"""YAML text to plain nodes that remember where they stand; nothing is constructed, nothing is executed.

Scalars stay text, so that the field that wants them decides what they are: `1e-3`, `010`, `1:30`,
`yes` and `no` never turn into something else on the way.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import yaml

from diagnose.problems import Problem

MAX_BYTES = 1_000_000
MAX_DEPTH = 30
_PLAIN_TAGS = {"str", "int", "float", "bool", "null", "timestamp", "seq", "map"}
_Loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class Mark(NamedTuple):
    """A place in a file; line and column count from 1."""

    file: str
    line: int
    column: int


@dataclass(frozen=True)
class Node:
    """One YAML node: a text (`text`), a list (`items`) or a map (`pairs`); the other two are None.

    `numbers` is the source of its numbers where layers lie over each other, else None (the entry says it).
    """

    mark: Mark
    text: str | None = None
    items: tuple[Node, ...] | None = None
    pairs: tuple[tuple[Node, Node], ...] | None = None
    numbers: str | None = None

    @property
    def kind(self) -> str:
        """Return what a person would call this node."""
        if self.pairs is not None:
            return "a map"
        return "a list" if self.items is not None else "a text"


def problem(mark: Mark, code: str, message: str, fix: str) -> Problem:
    """Return a problem at `mark`."""
    return Problem(mark.file, mark.line, mark.column, code, message, fix)


def read_nodes(name: str, data: bytes) -> tuple[Node | None, list[Problem]]:
    """Return the root node of one YAML document (or None) and every problem met on the way.

    Refuses files over 1 MB, nesting over 30, aliases, merge keys, tags and duplicate keys; takes
    time linear in the size of the file.
    """
    start = Mark(name, 1, 1)
    if len(data) > MAX_BYTES:
        return None, [problem(start, "file-size", f"file has over {MAX_BYTES} bytes", "split it")]
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        return None, [problem(Mark(name, line, 1), "encoding", "this is not UTF-8 text", "save the file as UTF-8")]
    try:
        if _too_deep(text):
            return None, [problem(start, "nesting", "nested too deeply", f"{MAX_DEPTH} levels are the most")]
        root = yaml.compose(text, Loader=_Loader)
    except yaml.YAMLError as error:
        return None, [_syntax_problem(name, error)]
    except RecursionError:
        return None, [problem(start, "nesting", "nested too deeply", f"{MAX_DEPTH} levels are the most")]
    if root is None:
        return None, [problem(start, "empty", "the file is empty", "start it with `format: 1`, or delete it")]
    walker = _Walker(name)
    return walker.node(root, 0), walker.problems


def _too_deep(text: str) -> bool:
    """Return whether the text nests far past the limit; older parsers exhaust the stack and die on such text.

    Events come one by one without recursion, so this is safe at any depth; the walker holds the exact limit.
    """
    depth = 0
    for event in yaml.parse(text, Loader=_Loader):
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
            if depth > 2 * MAX_DEPTH:
                return True
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
    return False


def _syntax_problem(name: str, error: yaml.YAMLError) -> Problem:
    mark = getattr(error, "problem_mark", None)
    what = str(getattr(error, "problem", None) or error).replace("\n", " ")
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    return Problem(name, line, column, "yaml", f"not YAML: {what}", "check indentation, colons and quotes here")


class _Walker:
    """Turns composed YAML nodes into `Node`, once each, collecting problems."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.problems: list[Problem] = []
        self.seen: set[int] = set()

    def node(self, source: Any, depth: int) -> Node | None:
        mark = Mark(self.name, source.start_mark.line + 1, source.start_mark.column + 1)
        if not self._allowed(source, mark, depth):
            return None
        if isinstance(source, yaml.ScalarNode):
            return Node(mark, text=source.value)
        if isinstance(source, yaml.SequenceNode):
            found = (self.node(item, depth + 1) for item in source.value)
            return Node(mark, items=tuple(item for item in found if item is not None))
        return Node(mark, pairs=tuple(self._pairs(source, depth)))

    def _allowed(self, source: Any, mark: Mark, depth: int) -> bool:
        tag = source.tag.removeprefix("tag:yaml.org,2002:")
        if id(source) in self.seen:
            return self._refuse(mark, "alias", "what stands here (&name) is used again by an alias (*name)", "write the value out")
        self.seen.add(id(source))
        if depth > MAX_DEPTH:
            return self._refuse(mark, "nesting", "nested too deeply", f"{MAX_DEPTH} levels are the most")
        if tag == "merge":
            return self._refuse(mark, "merge-key", "a merge key (<<) stands here", "write the keys out")
        if tag == "value":
            return True
        if tag not in _PLAIN_TAGS:
            return self._refuse(mark, "tag", f"the tag {source.tag} stands here", "remove the tag")
        return True

    def _refuse(self, mark: Mark, code: str, message: str, fix: str) -> bool:
        self.problems.append(problem(mark, code, message, fix))
        return False

    def _pairs(self, source: Any, depth: int) -> list[tuple[Node, Node]]:
        pairs: list[tuple[Node, Node]] = []
        first: dict[str, Mark] = {}
        for key_source, value_source in source.value:
            key = self.node(key_source, depth + 1)
            value = self.node(value_source, depth + 1)
            if key is None or value is None:
                continue
            if key.text is None:
                self._refuse(key.mark, "key", f"{key.kind} stands where a key should", "use a plain word as key")
            elif key.text in first:
                where = first[key.text]
                self._refuse(
                    key.mark,
                    "duplicate-key",
                    f"key '{key.text}' stands twice (first on line {where.line})",
                    "remove or rename one of the two",
                )
            else:
                first[key.text] = key.mark
                pairs.append((key, value))
        return pairs
