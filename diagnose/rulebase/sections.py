"""One builder for each section of a rule base file: a map of YAML fields becomes a frozen record."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from diagnose.places import KINDS, RELATIONS, SIDES, Layout
from diagnose.problems import did_you_mean
from diagnose.rulebase.fields import Context, Fields
from diagnose.rulebase.nodes import Node
from diagnose.rulebase.records import (
    ACCESS,
    FEATURES,
    REGIMES,
    ROLES,
    Access,
    Cause,
    Caution,
    Check,
    EffectRule,
    History,
    Levels,
    Limit,
    Number,
    Ref,
    Remedy,
    Show,
    Source,
    Symptom,
)

_REF = re.compile(r"([a-z][a-z0-9_]*)(?:\.([a-z_]+))?@([a-z_]+)")
EACH = (*(r for r in RELATIONS if r.startswith("each_")), "start")


def common(f: Fields, ident: str, layer: str, label_key: str = "label") -> dict[str, Any]:
    """Return the fields every entry has."""
    label = f.text(label_key, required=True)
    marks = {key: node.mark for key, node in f.map.items()}
    return {"id": ident, "mark": f.node.mark, "marks": marks, "layer": layer, "label": label, "source": f.citations()}


def texts_of(pairs: tuple[tuple[Node, Node], ...]) -> Mapping[str, str]:
    """Return key -> text of a map of plain texts."""
    return {key.text or "": value.text or "" for key, value in pairs}


def levels_of(f: Fields, key: str, required: bool = False) -> Levels:
    """Return grade -> number of the map under `key`."""
    node = f.take(key, required)
    return f.levels(node) if node is not None else {}


def read_ref(context: Context, node: Node) -> Ref | None:
    """Return the reference written at a node, or None with a problem."""
    found = _REF.fullmatch(node.text or "")
    if not found:
        context.refuse(node, "reference", f"'{node.text}' is no symptom at a place", "write symptom[.regime]@relation")
        return None
    symptom, regime, relation = found.groups()
    if relation not in RELATIONS:
        context.refuse(node, "relation", f"'{relation}' is no relation", did_you_mean(relation, RELATIONS))
        return None
    if regime and regime not in REGIMES:
        context.refuse(node, "regime", f"'{regime}' is no regime", did_you_mean(regime, REGIMES))
        return None
    return Ref(symptom, regime or "", relation, node.mark)


def symptom(f: Fields, ident: str, layer: str) -> Symptom:
    """Build a symptom."""
    leak_in = {(key.text or ""): f.levels(value) for key, value in f.submap("leak_in")}
    return Symptom(
        **common(f, ident, layer),
        kind=f.word("kind", ("squawk", "test"), required=True, default="test"),
        at=f.words("at", KINDS, required=True),
        regimes=f.words("regimes", REGIMES, required=True),
        default=f.word("default", REGIMES, required=True),
        grades=texts_of(f.submap("grades", required=True)),
        leak=levels_of(f, "leak", required=True),
        leak_in=leak_in,
        some=f.words("some", KINDS),
        role=f.word("role", ROLES),
        ask=f.text("ask"),
        synonyms=f.texts("synonyms"),
    )


def shows_of(f: Fields, from_template: bool = False) -> tuple[Show, ...]:
    """Return the `shows` map as links."""
    found = []
    for key, value in f.submap("shows"):
        ref = read_ref(f.context, key)
        if ref is not None:
            found.append(Show(ref, f.levels(value), from_template))
    return tuple(found)


def template(f: Fields) -> tuple[Show, ...]:
    """Build an effect template."""
    f.text("note")
    f.citations()
    return shows_of(f, from_template=True)


def effect(f: Fields, templates: Mapping[str, tuple[Show, ...]]) -> EffectRule:
    """Build one effect of a cause, its template filled in; its own `shows` win over the template's."""
    name = f.word("use", templates.keys())
    without = set(f.texts("without"))
    base = tuple(s for s in templates.get(name, ()) if str(s.ref) not in without)
    for gone in sorted(without - {str(s.ref) for s in templates.get(name, ())}):
        f.context.refuse(
            f.map["without"], "without", f"the template has no '{gone}'", did_you_mean(gone, (str(s.ref) for s in templates.get(name, ())))
        )
    own = shows_of(f)
    mine = {str(s.ref) for s in own}
    shows = tuple(s for s in base if str(s.ref) not in mine) + own
    if not shows and (name or "use" not in f.map):  # a template that does not exist has been told already
        f.context.refuse(f.node, "empty-effect", "this effect shows nothing", "name a template with `use:` or add `shows:`")
    strength = f.probability("strength", required=True) or Number(0.5, f.numbers)
    f.text("note")
    f.citations()
    return EffectRule(strength, f.words("in", REGIMES), f.word("for", EACH), name, shows, f.node.mark, f.words("needs", FEATURES))


def cause(f: Fields, ident: str, layer: str, templates: Mapping[str, tuple[Show, ...]]) -> Cause:
    """Build a cause with its effects."""
    effects = []
    node = f.take("effects", required=True)
    for item in (node.items or ()) if node is not None else ():
        inner = Fields(f.context, item, f"an effect of '{ident}'", f.numbers)
        effects.append(effect(inner, templates))
        inner.done()
    jasc = f.text("jasc", required=True)
    by = {(key.text or ""): f.chance(value) for key, value in f.submap("prior_by")}
    return Cause(
        **common(f, ident, layer),
        family=f.text("family", required=True),
        jasc=None if jasc in ("null", "~", "") else jasc,
        at=f.word("at", KINDS, required=True, default="engine"),
        prior=f.probability("prior", required=not by),
        prior_by=by,
        needs=f.words("needs", FEATURES),
        remedies=f.texts("remedies", required=True),
        note=f.text("note"),
        effects=tuple(effects),
    )


def history(f: Fields, ident: str, layer: str) -> History:
    """Build a history question; its factors are any number above 0."""
    acts = {}
    for key, value in f.submap("acts_on", required=True):
        pairs = value.pairs or ()
        acts[key.text or ""] = {
            (answer.text or ""): f.number_at(factor, lambda v: v > 0, "above 0") for answer, factor in pairs if answer.text != "numbers"
        }
    return History(
        **common(f, ident, layer),
        ask=f.text("ask", required=True),
        at=f.word("at", KINDS, required=True, default="engine"),
        answers=texts_of(f.submap("answers", required=True)),
        probability=levels_of(f, "probability", required=True),
        acts_on=acts,
        part_of=f.text("part_of"),
    )


def check(f: Fields, ident: str, layer: str) -> Check:
    """Build a check."""
    refs = [read_ref(f.context, node) for node in f.nodes("gives", required=True)]
    return Check(
        **common(f, ident, layer),
        at=f.word("at", KINDS, required=True, default="engine"),
        gives=tuple(ref for ref in refs if ref is not None),
        minutes=f.amount("minutes"),
        access=f.words("access", ACCESS),
        people=f.whole("people", default=1, least=1),
        tools=f.texts("tools"),
        cautions=f.texts("cautions"),
        how=f.text("how", required=True),
        not_here=f.text("not_here"),
        refit=f.text("refit"),
        part=f.text("part"),
        moves=f.text("moves"),
    )


def remedy(f: Fields, ident: str, layer: str) -> Remedy:
    """Build a remedy."""
    return Remedy(
        **common(f, ident, layer),
        at=f.word("at", KINDS, required=True, default="engine"),
        minutes=f.amount("minutes"),
        access=f.words("access", ACCESS),
        people=f.whole("people", default=1, least=1),
        tools=f.texts("tools"),
        parts=f.yes("parts"),
        cautions=f.texts("cautions"),
        how=f.text("how", required=True),
        may_quiet=f.texts("may_quiet"),
        needs=f.words("needs", FEATURES),
    )


def access(f: Fields, ident: str, layer: str) -> Access:
    """Build an access state."""
    if ident not in ACCESS:
        f.context.refuse(f.node, "access", f"'{ident}' is no access state", did_you_mean(ident, ACCESS))
    return Access(**common(f, ident, layer), minutes=f.amount("minutes"), ends=f.words("ends", ACCESS), cautions=f.texts("cautions"))


def caution(f: Fields, ident: str, layer: str) -> Caution:
    """Build a caution."""
    return Caution(**common(f, ident, layer, label_key="text"))


def source(f: Fields, ident: str, layer: str) -> Source:
    """Build a source."""
    kinds = ("regulator", "standard", "handbook", "trade", "note")
    return Source(**common(f, ident, layer, label_key="title"), kind=f.word("kind", kinds, required=True))


def limit(f: Fields, ident: str, layer: str) -> Limit:
    """Build a limit."""
    f.text("note")
    return Limit(
        **common(f, ident, layer),
        value=f.amount("value"),
        unit=f.text("unit", required=True),
        document=f.text("document", required=True),
        revision=f.text("revision", required=True),
    )


def cylinders_of(f: Fields, key: str, required: bool = False) -> tuple[int, ...]:
    """Return a list of cylinder numbers; anything else in it is a problem."""
    found = []
    for node in f.nodes(key, required):
        if re.fullmatch(r"\d{1,3}", node.text or "", re.ASCII):
            found.append(int(node.text or ""))
        else:
            f.context.refuse(node, "number", f"'{node.text}' in '{key}' is no cylinder", "write whole numbers: [1, 3, 2, 4]")
    return tuple(found)


def layout(f: Fields) -> Layout:
    """Build a layout; `layouts.layout_problems` judges whether it holds together."""
    fires = {}
    for key, value in f.submap("fires", required=True):
        fires[key.text or ""] = tuple(item.text or "" for item in value.items or ())
    magnetos: dict[str, Fields] = {}
    for key, value in f.submap("magnetos", required=True):
        magnetos[key.text or ""] = Fields(f.context, value, f"magneto '{key.text}'", f.numbers)
    aids = ("none", "impulse", "vibrator")
    start_aid = {side: m.word("start_aid", aids, required=True, default="none") for side, m in magnetos.items()}
    poles = {side: m.whole("poles", required=True, default=2, least=2) for side, m in magnetos.items()}
    for each in magnetos.values():
        each.done()
    f.text("note")
    return Layout(
        id=f.text("id", required=True),
        label=f.text("label", required=True),
        kind=f.word("kind", ("opposed", "radial"), required=True, default="opposed"),
        cylinders=f.whole("cylinders", required=True, default=1, least=1),
        firing_order=cylinders_of(f, "firing_order", required=True),
        positions=f.texts("positions", required=True),
        fouls_first=f.text("fouls_first", required=True),
        fires={side: fires.get(side, ()) for side in SIDES},
        start_aid={side: start_aid.get(side, "none") for side in SIDES},
        poles={side: poles.get(side, 2) for side in SIDES},
        drive=f.word("drive", ("separate", "single"), required=True, default="separate"),
        pressurised=f.yes("pressurised"),
        seen_right=cylinders_of(f, "seen_right"),
        source=f.citations(),
    )


Builder = Callable[[Fields, str, str], Any]
BUILDERS: Mapping[str, Builder] = {
    "symptoms": symptom,
    "history": history,
    "checks": check,
    "remedies": remedy,
    "access": access,
    "cautions": caution,
    "limits": limit,
}
