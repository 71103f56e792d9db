"""Cases with what a good answer to them says, and how we know: read from `cases/`, judged by the tests and the audit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from diagnose.problems import Problem
from diagnose.rulebase.fields import Context, Fields, as_float
from diagnose.rulebase.nodes import Mark, Node, read_nodes

KINDS = ("table", "look_alike", "healthy", "incomplete", "contradictory", "double", "worked", "regression")
STATES = ("unsettled", "isolated", "ambiguous", "unexplained", "confirmed")


@dataclass(frozen=True)
class Expect:
    """What must hold. A name is `cause@place`, a cause (at any of its places), or `remedy@place` (its repair group).

    `first`: one of these leads. `rises`: likelier than before any result. `falls`: the findings halve it, at least, against
    the complaint alone. `kept`: not cleared at any place. `within`: n -> names among the first n repair groups.
    `alarm`: `none` for a sound engine. Of one result alone: `usual` causes show it about as often as not or oftener,
    `at_times` ones in some of their cases, `seldom` ones rarely, yet oftener than a sound engine, `hardly` ones as good as never.
    """

    first: tuple[str, ...] = ()
    rises: tuple[str, ...] = ()
    falls: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    usual: tuple[str, ...] = ()
    at_times: tuple[str, ...] = ()
    seldom: tuple[str, ...] = ()
    hardly: tuple[str, ...] = ()
    within: Mapping[int, tuple[str, ...]] = field(default_factory=dict, hash=False)
    state: tuple[str, ...] = ()
    alarm: str = ""
    unexplained_at_least: float | None = None


@dataclass(frozen=True)
class CaseSheet:
    """One case: what was told and found on a layout, what to expect, and the basis of that expectation.

    `known_gap` says why the rule base does not meet it yet; empty where it does.
    """

    id: str
    mark: Mark
    title: str
    kind: str
    layout: str
    history: tuple[str, ...]
    complaint: tuple[str, ...]
    results: tuple[str, ...]
    expect: Expect
    basis: str
    known_gap: str = ""

    @property
    def name(self) -> str:
        """Return `file:id`, unique in a folder."""
        return f"{self.mark.file}:{self.id}"


def read_cases(path: Path) -> tuple[tuple[CaseSheet, ...], tuple[Problem, ...]]:
    """Return the cases of a file, or of every `*.yaml` of a folder and its folders (`demo` and `drills` apart), and every problem."""
    cases: list[CaseSheet] = []
    problems: list[Problem] = []
    root = path if path.is_dir() else path.parent
    files = sorted(path.rglob("*.yaml")) if path.is_dir() else [path]
    for file in files:
        name = file.relative_to(root).as_posix()
        if name.startswith(("demo/", "drills/")):
            continue
        try:
            data = file.read_bytes()
        except OSError as error:
            problems.append(Problem(name, 0, 0, "file", f"cannot be read: {error.strerror}", "check path and rights"))
            continue
        found, wrong = read_case_file(name, data)
        cases += found
        problems += wrong
    return tuple(cases), tuple(problems)


def read_case_file(name: str, data: bytes) -> tuple[tuple[CaseSheet, ...], tuple[Problem, ...]]:
    """Return the cases of one file's bytes and every problem met in it."""
    root, met = read_nodes(name, data)
    context = Context(problems=list(met))
    cases = tuple(_cases(context, root)) if root is not None else ()
    return cases, tuple(context.problems)


def _cases(context: Context, root: Node) -> Iterator[CaseSheet]:
    top = Fields(context, root, "the file")
    if top.text("format", required=True) not in ("", "1"):
        context.refuse(top.map["format"], "format", "this format of cases is not known", "write `format: 1`")
    entries = top.submap("cases", required=True)
    top.done()
    for key, node in entries:
        before = len(context.problems)
        sheet = _case(context, key, node)
        if len(context.problems) == before:
            yield sheet


def _case(context: Context, key: Node, node: Node) -> CaseSheet:
    fields = Fields(context, node, f"case '{key.text}'")
    expect = fields.take("expect", required=True)
    sheet = CaseSheet(
        id=key.text or "",
        mark=key.mark,
        title=fields.text("title", required=True),
        kind=fields.word("kind", KINDS, required=True),
        layout=fields.text("layout", required=True),
        history=fields.texts("history"),
        complaint=fields.texts("complaint"),
        results=fields.texts("results"),
        expect=_expect(context, expect, fields.what) if expect is not None else Expect(),
        basis=fields.text("basis", required=True),
        known_gap=fields.text("known_gap"),
    )
    if not sheet.complaint and not sheet.results:
        context.refuse(node, "missing", f"{fields.what} has no result", "add `complaint:` or `results:`")
    fields.done()
    return sheet


def _expect(context: Context, node: Node, what: str) -> Expect:
    fields = Fields(context, node, f"what {what} expects")
    state = fields.take("state")
    found = Expect(
        first=fields.texts("first"),
        rises=fields.texts("rises"),
        falls=fields.texts("falls"),
        kept=fields.texts("kept"),
        usual=fields.texts("usual"),
        at_times=fields.texts("at_times"),
        seldom=fields.texts("seldom"),
        hardly=fields.texts("hardly"),
        within=dict(_within(context, fields)),
        state=_states(context, state) if state is not None else (),
        alarm=fields.word("alarm", ("none",)),
        unexplained_at_least=_share(context, fields.take("unexplained_at_least")),
    )
    fields.done()
    if found == Expect():
        context.refuse(node, "missing", f"{what} expects nothing", "add `first:`, `rises:`, `alarm: none` or another")
    return found


def _within(context: Context, fields: Fields) -> Iterator[tuple[int, tuple[str, ...]]]:
    for key, value in fields.submap("within"):
        if not (key.text or "").isascii() or not (key.text or "").isdigit() or key.text == "0":
            context.refuse(key, "number", f"'{key.text}' is no count of repair groups", "write a whole number of 1 or more")
        elif value.items is None or any(item.text is None for item in value.items):
            context.refuse(value, "shape", f"'within' holds {value.kind}", "write a list of names: [a, b]")
        else:
            yield int(key.text or "1"), tuple(item.text or "" for item in value.items)


def _states(context: Context, node: Node) -> tuple[str, ...]:
    named = [node] if node.items is None else list(node.items)
    for one in named:
        if one.text not in STATES:
            context.refuse(one, "word", f"'{one.text}' is no state", f"known: {', '.join(STATES)}")
    return tuple(one.text or "" for one in named)


def _share(context: Context, node: Node | None) -> float | None:
    if node is None:
        return None
    value = as_float(node.text or "")
    if value is None or not 0 < value < 1:
        context.refuse(node, "number", f"'{node.text}' is no share", "write a number above 0 and below 1")
    return value
