"""Typed fields of one YAML entry: each reader says what it wanted, where, and how to mend it."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field

from diagnose.problems import Problem, did_you_mean
from diagnose.rulebase.entry import Number
from diagnose.rulebase.nodes import Mark, Node, problem
from diagnose.rulebase.records import REGIMES, Mechanism, Template

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_ID = re.compile(r"[a-z][a-z0-9_]*")
WORDS = ("estimate", "common practice", "from memory")


@dataclass
class Context:
    """What reading needs to know beside the node at hand, and the problems found so far."""

    problems: list[Problem] = field(default_factory=list)
    words: dict[str, Number] = field(default_factory=dict)
    tables: dict[str, Number] = field(default_factory=dict)
    regimes: dict[str, tuple[str, ...]] = field(default_factory=dict)  # lists of regimes by name
    templates: dict[str, Template] = field(default_factory=dict)
    mechanisms: dict[str, Mechanism] = field(default_factory=dict)
    sources: set[str] = field(default_factory=set)
    damaged: set[Mark] = field(default_factory=set)  # where entries stand that have a problem of their own
    lost: bool = False  # text was refused that other entries may lean on

    def refuse(self, node: Node, code: str, message: str, fix: str) -> None:
        """Record a problem at a node."""
        self.problems.append(problem(node.mark, code, message, fix))

    def check_citation(self, node: Node, text: str) -> None:
        """Record a problem unless `text` starts with a known source id or is a plain word for none."""
        if text in WORDS or text.split(" ")[0].rstrip(",") in self.sources:
            return
        self.refuse(
            node,
            "source",
            f"no source is called '{text.split(' ')[0]}'",
            f"{did_you_mean(text.split(' ')[0], self.sources)} Or write: {', '.join(WORDS)}",
        )


def as_float(text: str) -> float | None:
    """Return a finite number read from text as written by people (`.5`, `1e-3`, `010` = 10), or None."""
    if not _NUMBER.fullmatch(text):
        return None
    value = float(text)
    return value if math.isfinite(value) else None


def count(key: Node) -> int:
    """Return a cylinder count written as a key, 0 where it is none (`²` is a digit to Python, and no number)."""
    return int(key.text) if re.fullmatch(r"[0-9]{1,3}", key.text or "") and key.text else 0


class Fields:
    """The pairs of one map, taken one by one; `done` reports what nobody asked for."""

    def __init__(self, context: Context, node: Node, what: str, numbers: str = "") -> None:
        self.context = context
        self.node = node
        self.what = what
        self.map: dict[str, Node] = {}
        self.asked: set[str] = set()
        if node.pairs is None:
            context.refuse(node, "shape", f"{what} is {node.kind}", "write `key: value` lines")
        else:
            self.map = {key.text or "": value for key, value in node.pairs}
            self.keys = {key.text or "": key for key, _ in node.pairs}
        self.numbers = self.text("numbers", default=numbers)
        if self.numbers and "numbers" in self.map:
            context.check_citation(self.map["numbers"], self.numbers)

    def take(self, key: str, required: bool = False) -> Node | None:
        """Return the node under `key`, or None (a problem where it is required)."""
        self.asked.add(key)
        node = self.map.get(key)
        if node is None and required:
            self.context.refuse(self.node, "missing", f"{self.what} has no '{key}'", f"add `{key}:`")
        return node

    def text(self, key: str, required: bool = False, default: str = "") -> str:
        """Return a text."""
        node = self.take(key, required)
        if node is None:
            return default
        if node.text is None:
            self.context.refuse(node, "shape", f"'{key}' of {self.what} is {node.kind}", "write one line of text")
            return default
        return node.text

    def word(self, key: str, allowed: Collection[str], required: bool = False, default: str = "") -> str:
        """Return a text that is one of `allowed`."""
        text = self.text(key, required, default)
        if key in self.map and text not in allowed:
            self.context.refuse(self.map[key], "word", f"'{text}' is no {key} ", did_you_mean(text, allowed))
            return default
        return text

    def texts(self, key: str, required: bool = False) -> tuple[str, ...]:
        """Return a list of texts."""
        return tuple(node.text or "" for node in self.nodes(key, required))

    def items(self, key: str, required: bool = False) -> tuple[Node, ...]:
        """Return the nodes of a list."""
        node = self.take(key, required)
        if node is None:
            return ()
        if node.items is None:
            self.context.refuse(node, "shape", f"'{key}' of {self.what} is {node.kind}", "write a list: [a, b]")
            return ()
        return node.items

    def nodes(self, key: str, required: bool = False) -> tuple[Node, ...]:
        """Return the text nodes of a list."""
        items = self.items(key, required)
        for item in items:
            if item.text is None:
                self.context.refuse(item, "shape", f"an item of '{key}' is {item.kind}", "write a plain word")
        return tuple(item for item in items if item.text is not None)

    def words(self, key: str, allowed: Collection[str], required: bool = False) -> tuple[str, ...]:
        """Return a list of texts, each one of `allowed`."""
        return self._allowed(key, self.nodes(key, required), allowed)

    def regimes(self, key: str) -> tuple[str, ...]:
        """Return a list of regimes; the name of a list of the `regimes` section stands for all of that list."""
        lists = self.context.regimes
        node = self.take(key)
        nodes = (node,) if node is not None and node.text is not None else self.nodes(key)
        found = self._allowed(key, nodes, (*REGIMES, *lists))
        return tuple(dict.fromkeys(regime for text in found for regime in lists.get(text, (text,))))

    def _allowed(self, key: str, nodes: Iterable[Node], allowed: Collection[str]) -> tuple[str, ...]:
        found = []
        for node in nodes:
            if node.text in allowed:
                found.append(node.text or "")
            else:
                self.context.refuse(node, "word", f"'{node.text}' is not allowed in '{key}'", did_you_mean(node.text or "", allowed))
        return tuple(found)

    def yes(self, key: str, default: bool = False) -> bool:
        """Return a yes/no field."""
        return self.word(key, ("yes", "no", "true", "false"), default="yes" if default else "no") in ("yes", "true")

    def whole(self, key: str, required: bool = False, default: int = 0, least: int = 0) -> int:
        """Return a whole number of at least `least`."""
        text = self.text(key, required, str(default))
        if re.fullmatch(r"\d{1,9}", text) and int(text, 10) >= least:
            return int(text, 10)
        self.context.refuse(self.map.get(key, self.node), "number", f"'{key}' is '{text}'", f"write a whole number of {least} or more")
        return default

    def amount(self, key: str, required: bool = True, default: float = 1.0) -> Number:
        """Return a number above 0 (minutes, a limit) with its source; a map gives it by cylinder count."""
        node = self.take(key, required)
        if node is None:
            return Number(default, self.numbers)
        if node.pairs is None:
            return self.number_at(node, lambda v: v > 0, "above 0")
        table = {count(k): self.number_at(v, lambda v: v > 0, "above 0") for k, v in node.pairs if count(k)}
        if not table or len(table) < len(node.pairs):
            self.context.refuse(node, "number", f"{key} of {self.what} is no map of cylinder count to number", "write {4: 90, 6: 130}")
            return Number(default, self.numbers)
        return Number(table[min(table)].value, table[min(table)].source, table={n: number.value for n, number in table.items()})

    def probability(self, key: str, required: bool = True) -> Number | None:
        """Return a number strictly between 0 and 1 with its source."""
        node = self.take(key, required)
        return None if node is None else self.chance(node)

    def chance(self, node: Node) -> Number:
        """Return the probability written at a node: a number, a scale word or a table name."""
        text = node.text or ""
        for known in (self.context.words, self.context.tables):
            if text in known:
                return known[text]
        if node.text is not None and as_float(text) is None and _ID.fullmatch(text):
            known_names = [*self.context.words, *self.context.tables]
            self.context.refuse(node, "number", f"'{text}' is no number, scale word or table", did_you_mean(text, known_names))
            return Number(0.5, self.numbers)
        return self.number_at(node, lambda v: 0 < v < 1, "above 0 and below 1")

    def number_at(self, node: Node, accept: Callable[[float], bool], wanted: str) -> Number:
        """Return the number written at a node if `accept` takes it; otherwise record a problem."""
        value = as_float(node.text) if node.text is not None else None
        if value is None or not accept(value):
            self.context.refuse(
                node, "number", f"'{node.text if node.text is not None else node.kind}' is not usable", f"write a number {wanted}"
            )
            value = 0.5
        source = self.numbers if node.numbers is None else node.numbers
        if not source:
            self.context.refuse(
                node,
                "no-source",
                f"a number of {self.what} has no source",
                "add `numbers:` to the entry or the file (a citation or `estimate`)",
            )
        return Number(value, source)

    def levels(self, node: Node, only: str = "") -> Mapping[str, Number]:
        """Return grade -> probability from a map, or from one value standing for grade `only`.

        A map may carry its own `numbers:`.
        """
        if node.pairs is None:
            return {only: self.chance(node)}
        inner = Fields(self.context, node, self.what, self.numbers)
        inner.asked.update(inner.map)
        return {key: inner.chance(value) for key, value in inner.map.items() if key != "numbers"}

    def submap(self, key: str, required: bool = False) -> tuple[tuple[Node, Node], ...]:
        """Return the pairs of a map under `key`."""
        node = self.take(key, required)
        if node is None:
            return ()
        if node.pairs is None:
            self.context.refuse(node, "shape", f"'{key}' of {self.what} is {node.kind}", "write `key: value` lines")
            return ()
        return node.pairs

    def citations(self) -> tuple[str, ...]:
        """Return the `source` list, each checked against the sources section."""
        nodes = self.nodes("source")
        for node in nodes:
            self.context.check_citation(node, node.text or "")
        return tuple(node.text or "" for node in nodes)

    def done(self) -> None:
        """Report every key that no reader asked for."""
        for key in self.map:
            if key not in self.asked:
                self.context.refuse(self.keys[key], "unknown-key", f"{self.what} has an unknown key '{key}'", did_you_mean(key, self.asked))


def valid_id(text: str) -> bool:
    """Return whether a text can be an id."""
    return bool(_ID.fullmatch(text))
