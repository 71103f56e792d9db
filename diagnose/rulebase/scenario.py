"""The built-in demo: an invented trouble answered from a list of what can be seen, following the tool's own advice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from diagnose.problems import BadInput, Problem
from diagnose.rulebase.fields import Context, Fields
from diagnose.rulebase.nodes import read_nodes


@dataclass(frozen=True)
class DemoLook:
    """What looks abnormal once a remedy has been done at `after` (`start`: before any)."""

    after: str
    abnormal: tuple[str, ...]
    readings: tuple[str, ...] = ()


@dataclass(frozen=True)
class DemoRepair:
    """What the record tells of one repair."""

    found: str
    left: str
    off: tuple[str, ...]
    on: tuple[str, ...]


@dataclass(frozen=True)
class Demo:
    """An invented scenario."""

    title: str
    layout: str
    nickname: str
    words: str
    hidden: str
    history: tuple[str, ...]
    complaint: tuple[str, ...]
    looks: tuple[DemoLook, ...]
    path: tuple[str, ...]
    repairs: tuple[DemoRepair, ...] = ()
    units: tuple[str, ...] = ()
    run: tuple[str, ...] = ()


def read_demo(path: Path) -> Demo:
    """Return a scenario; BadInput lists what is wrong with its file."""
    root, problems = read_nodes(path.name, path.read_bytes())
    context = Context(problems=list(problems))
    found = list(_read(context, root)) if root is not None else []
    if context.problems or not found:
        raise BadInput("\n".join(str(p) for p in context.problems) or str(Problem(path.name, 1, 1, "demo", "no demo", "")))
    return found[0]


def _read(context: Context, root: object) -> Iterator[Demo]:
    top = Fields(context, root, "the file")  # type: ignore[arg-type]
    top.text("format", required=True)
    node = top.take("demo", required=True)
    top.done()
    if node is None:
        return
    fields = Fields(context, node, "the demo")
    looks = []
    listed = fields.take("looks", required=True)
    for item in (listed.items or ()) if listed is not None else ():
        inner = Fields(context, item, "a look")
        looks.append(DemoLook(inner.text("after", required=True), inner.texts("abnormal", required=True), inner.texts("readings")))
        inner.done()
    repairs = []
    listed = fields.take("repairs")
    for item in (listed.items or ()) if listed is not None else ():
        inner = Fields(context, item, "a repair")
        found, left = inner.text("found", required=True), inner.text("left", required=True)
        repairs.append(DemoRepair(found, left, inner.texts("off"), inner.texts("on")))
        inner.done()
    yield Demo(
        title=fields.text("title", required=True),
        layout=fields.text("layout", required=True),
        nickname=fields.text("nickname", required=True),
        words=fields.text("words", required=True),
        hidden=fields.text("hidden", required=True),
        history=fields.texts("history"),
        complaint=fields.texts("complaint", required=True),
        looks=tuple(looks),
        path=fields.texts("path", required=True),
        repairs=tuple(repairs),
        units=fields.texts("units"),
        run=fields.texts("run"),
    )
    fields.done()


def reading(demo: Demo, repaired: list[str], node: str) -> str:
    """Return the raw numbers read at a located symptom after repairs at these places; empty where none are told."""
    told = ""
    for look in demo.looks:
        if look.after == "start" or look.after in repaired:
            told = next((text.split(": ", 1)[1] for text in look.readings if text.split(": ", 1)[0] == node), "")
    return told


def answer(demo: Demo, repaired: list[str], node: str, normal: str) -> str:
    """Return the grade that can be seen at a located symptom after repairs at these places."""
    seen = demo.looks[0].abnormal
    for look in demo.looks[1:]:
        if look.after in repaired:
            seen = look.abnormal
    for text in seen:
        subject, _, grade = text.rpartition("=")
        name, _, place = subject.partition("@")
        if node in (subject, f"{name}.static@{place}"):
            return grade
    return normal
