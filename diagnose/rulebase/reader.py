"""Rule base folders to a `RuleBase` and every problem in them, in one run."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from diagnose.places import Layout
from diagnose.problems import Problem, did_you_mean
from diagnose.rulebase.crosscheck import cross_problems
from diagnose.rulebase.entry import Number
from diagnose.rulebase.fields import Context, Fields, valid_id
from diagnose.rulebase.kinds import read_fields
from diagnose.rulebase.layouts import layout_problems
from diagnose.rulebase.nodes import MAX_BYTES, Node, read_nodes
from diagnose.rulebase.records import REGIMES, RuleBase, Settings
from diagnose.rulebase.sections import SECTIONS

FORMAT = "1"
MAX_FILES = 500
RECORDS = (
    "sources",
    "symptoms",
    "history",
    "checks",
    "remedies",
    "access",
    "cautions",
    "limits",
    "confirming",
    "replaced",
    "causes",
    "says",
    "words",
    "where",
    "when",
    "sentences",
    "principles",
)
KEYS = ("format", "numbers", *SECTIONS)


@dataclass
class _Raw:
    """One entry before it is built: its node, the layer and the file's own `numbers:`."""

    node: Node
    key: Node
    layer: str
    numbers: str


@dataclass
class _Pool:
    """Every entry of every file, by section and id; later layers lie over earlier ones."""

    entries: dict[str, dict[str, _Raw]] = field(default_factory=dict)
    layouts: list[_Raw] = field(default_factory=list)
    settings: list[_Raw] = field(default_factory=list)


def read_rulebase(folders: Sequence[Path]) -> tuple[RuleBase, list[Problem]]:
    """Read one rule base from its folders, the first at the bottom.

    An entry of a later folder lies over the entry of the same id key by key. Always returns what
    could be read, with every problem found, sorted by place.
    """
    context, pool, digest = Context(), _Pool(), hashlib.sha256()
    for number, folder in enumerate(folders):
        layer = "shipped" if number == 0 else folder.name
        _read_folder(folder, layer, context, pool, digest, number)
    base = _build(pool, context)
    base = replace(base, sha256=digest.hexdigest())
    if not context.lost:
        context.problems.extend(cross_problems(base, context.damaged))
    return base, sorted(set(context.problems))


def _read_folder(folder: Path, layer: str, context: Context, pool: _Pool, digest: Any, number: int) -> None:
    files = sorted(folder.rglob("*.yaml")) if folder.is_dir() else []
    if not files:
        context.problems.append(Problem(str(folder), 0, 0, "folder", "no rule base files (*.yaml) here", "give the folder that holds them"))
    if len(files) > MAX_FILES:
        context.problems.append(Problem(str(folder), 0, 0, "folder", f"{len(files)} files", f"{MAX_FILES} is the most"))
        return
    for path in files:
        try:
            data = _bytes_of(path)
        except OSError as error:
            context.problems.append(Problem(_shown(path), 0, 0, "file", f"cannot be read: {error.strerror}", "check it"))
            continue
        digest.update(f"{number}/{path.relative_to(folder).as_posix()}\0".encode() + data + b"\0")
        root, problems = read_nodes(_shown(path), data)
        context.problems.extend(problems)
        if root is not None:
            _gather(root, layer, context, pool)


def _bytes_of(path: Path) -> bytes:
    """Return the bytes of an ordinary file, at most one more than any file may have; a pipe or a device is never waited for."""
    if not path.is_file():
        raise OSError(0, "no ordinary file")
    with path.open("rb") as file:
        return file.read(MAX_BYTES + 1)


def _shown(path: Path) -> str:
    try:
        return path.relative_to(Path.cwd()).as_posix()
    except ValueError:
        return str(path)


def _gather(root: Node, layer: str, context: Context, pool: _Pool) -> None:
    if root.pairs is None:
        context.refuse(root, "shape", f"the file is {root.kind}", "write sections: `causes:`, `checks:` ...")
        return
    top = {key.text or "": value for key, value in root.pairs}
    form = top.get("format")
    if form is None or form.text != FORMAT:
        context.refuse(form or root, "format", "the file does not say which format it follows", f"start with `format: {FORMAT}`")
    numbers = (top["numbers"].text or "") if "numbers" in top else ""
    for key, value in root.pairs:
        name = key.text or ""
        if name not in KEYS:
            context.refuse(key, "section", f"'{name}' is no section", did_you_mean(name, KEYS))
        elif name == "layout":
            pool.layouts.append(_Raw(value, key, layer, numbers))
        elif name == "rulebase":
            pool.settings.append(_Raw(value, key, layer, numbers))
        elif name not in ("format", "numbers"):
            _gather_section(name, value, _Raw(value, key, layer, numbers), context, pool)


def _gather_section(name: str, value: Node, raw: _Raw, context: Context, pool: _Pool) -> None:
    if value.pairs is None:
        context.refuse(value, "shape", f"section '{name}' is {value.kind}", "write `id:` lines with their fields below")
        return
    section = pool.entries.setdefault(name, {})
    for key, node in value.pairs:
        ident = key.text or ""
        if not valid_id(ident.replace("-", "_") if name == "sources" else ident):
            context.refuse(key, "id", f"'{ident}' cannot be an id", "use lower-case letters, digits, underscores")
            continue
        before = section.get(ident)
        if before is not None and before.layer == raw.layer:
            mark = before.key.mark
            context.refuse(key, "duplicate-id", f"'{ident}' is in '{name}' twice (first {mark.file}:{mark.line})", "rename or remove one")
            continue
        mine = _Raw(node, key, raw.layer, raw.numbers)
        section[ident] = mine if before is None else _overlaid(before, mine)


def _overlaid(below: _Raw, above: _Raw) -> _Raw:
    """Lay one entry over another, key by key; each number keeps the source of its own layer."""
    low, high = _sourced(below.node, below.numbers), _sourced(above.node, above.numbers)
    if low.pairs is None or high.pairs is None:
        return above
    named = {key.text for key, _ in high.pairs}
    pairs = tuple(p for p in low.pairs if p[0].text not in named) + high.pairs
    return replace(above, node=Node(high.mark, pairs=pairs), numbers=above.numbers or below.numbers)


def _sourced(node: Node, numbers: str) -> Node:
    """Write the source of its numbers on a node and all in it, unless a layer further down did so."""
    if node.numbers is not None:
        return node
    if node.items is not None:
        return replace(node, items=tuple(_sourced(item, numbers) for item in node.items), numbers=numbers)
    if node.pairs is None:
        return replace(node, numbers=numbers)
    own = next((value.text for key, value in node.pairs if key.text == "numbers" and value.text), numbers)
    return replace(node, pairs=tuple((key, _sourced(value, own)) for key, value in node.pairs), numbers=numbers)


def _build(pool: _Pool, context: Context) -> RuleBase:
    context.sources.update(pool.entries.get("sources", {}))
    _read_words(pool, context)
    _read_regimes(pool, context)
    context.templates.update(_section(pool, context, "effects", "effect "))
    mechanisms = _section(pool, context, "mechanisms", "mechanism ")
    context.mechanisms.update(mechanisms)
    context.lost = bool(context.problems)  # ids that lead nowhere would be named for what was not read
    built: dict[str, Any] = {name: _section(pool, context, name) for name in RECORDS}
    templates, settings = dict(context.templates), _settings(pool, context)
    return RuleBase(**built, mechanisms=mechanisms, templates=templates, settings=settings, layouts=_layouts(pool, context))


def _section(pool: _Pool, context: Context, name: str, what: str = "") -> dict[str, Any]:
    found = {}
    for ident, raw in pool.entries.get(name, {}).items():
        fields = Fields(context, raw.node, f"{what}'{ident}'", raw.numbers)
        before = len(context.problems)
        if raw.node.pairs is None:
            context.lost = True
            continue
        found[ident] = SECTIONS[name].entry(fields, ident, raw.layer)
        if len(context.problems) > before:
            context.damaged.add(raw.node.mark)
    return found


def _read_words(pool: _Pool, context: Context) -> None:
    for ident, raw in pool.entries.get("scale", {}).items():
        fields = Fields(context, raw.node, f"'{ident}'", raw.numbers)
        number = SECTIONS["scale"].entry(fields, ident, raw.layer)["value"] or Number(0.5, "")
        context.words[ident] = replace(number, word=ident)
    for ident, raw in pool.entries.get("tables", {}).items():
        fields = Fields(context, raw.node, f"'{ident}'", raw.numbers)
        rows = SECTIONS["tables"].entry(fields, ident, raw.layer)["by_cylinders"]
        context.tables[ident] = Number(next(iter(rows.values()), 0.5), fields.numbers, ident, rows or {4: 0.5})


def _read_regimes(pool: _Pool, context: Context) -> None:
    for ident, raw in pool.entries.get("regimes", {}).items():
        if ident in REGIMES:
            context.refuse(raw.key, "id", f"'{ident}' is a regime itself", "give the list another name")
            continue
        fields = Fields(context, Node(raw.key.mark, pairs=((raw.key, raw.node),)), "a list of regimes")
        context.regimes[ident] = fields.words(ident, REGIMES)


def _settings(pool: _Pool, context: Context) -> Settings:
    chosen = Settings()
    for raw in pool.settings:
        fields = Fields(context, raw.node, "'rulebase'", raw.numbers)
        values = {key: value for key, value in read_fields(fields, SECTIONS["rulebase"].fields).items() if key in fields.map}
        plain: dict[str, Any] = {key: value.value if isinstance(value, Number) else value for key, value in values.items()}
        chosen = replace(chosen, **plain)
    return chosen


def _layouts(pool: _Pool, context: Context) -> Mapping[str, Layout]:
    found: dict[str, Layout] = {}
    layer_of: dict[str, str] = {}
    for raw in pool.layouts:
        fields = Fields(context, raw.node, "the layout", raw.numbers)
        if raw.node.pairs is None:
            continue
        before = len(context.problems)
        layout = SECTIONS["layout"].entry(fields, "", raw.layer)
        if len(context.problems) == before:
            context.problems.extend(layout_problems(layout, raw.node))
        if layer_of.get(layout.id) == raw.layer:
            context.refuse(raw.key, "duplicate-id", f"layout '{layout.id}' stands twice", "rename or remove one")
        layer_of[layout.id] = raw.layer
        found[layout.id] = layout
    return found
