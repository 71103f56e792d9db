"""The kinds of field an entry can have: how each is read, and what an editor is told to accept."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

from diagnose.places import RELATIONS, SIDES
from diagnose.problems import did_you_mean
from diagnose.rulebase.entry import Levels
from diagnose.rulebase.fields import WORDS, Fields, count
from diagnose.rulebase.nodes import Node
from diagnose.rulebase.records import REGIMES, Never, Ref, Show

Json = Mapping[str, Any]
_REF = re.compile(r"([a-z][a-z0-9_]*)(?:\.([a-z_]+))?@([a-z_]+)")
ID = "^[a-z][a-z0-9_]*$"


@dataclass(frozen=True)
class Kind:
    """How a field is read (from its map, by its key, told whether it is required) and the JSON schema of its value."""

    read: Callable[[Fields, str, bool], Any]
    schema: Json


@dataclass(frozen=True)
class Field:
    """One key of an entry, declared once: reading it, the schema and an editor's help follow from here.

    `into` is the record's own name for it where that differs.
    """

    name: str
    kind: Kind
    help: str
    required: bool = False
    into: str = ""


def read_fields(f: Fields, declared: Sequence[Field]) -> dict[str, Any]:
    """Return what a map holds under the declared keys, by the names of the record; any other key is a problem."""
    values = {field.into or field.name: field.kind.read(f, field.name, field.required) for field in declared}
    f.done()
    return values


def known_to(record: type, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the values a record keeps: a `note:` may stand for the reader of the file alone."""
    names = {field.name for field in fields(record)}
    return {name: value for name, value in values.items() if name in names}


def shape(declared: Sequence[Field], help_text: str = "") -> Json:
    """Return the schema of a map with the declared keys."""
    return {
        "type": "object",
        **({"description": help_text} if help_text else {}),
        "properties": {field.name: {"description": field.help, **field.kind.schema} for field in declared},
        "required": [field.name for field in declared if field.required],
        "additionalProperties": False,
    }


def map_of(value: Json, keys: str = "") -> Json:
    """Return the schema of a map whose keys match the pattern `keys`."""
    return {"type": "object", **({"propertyNames": {"pattern": keys}} if keys else {}), "additionalProperties": value}


def list_of(value: Json) -> Json:
    """Return the schema of a list."""
    return {"type": "array", "items": value}


_TEXT: Json = {"type": "string"}
_CITATION: Json = {"anyOf": [{"enum": list(WORDS)}, {"type": "string"}]}
_CHANCE: Json = {"anyOf": [{"type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 1}, {"type": "string", "pattern": ID}]}
_AMOUNT: Json = {"type": "number", "exclusiveMinimum": 0}
_LEVELS: Json = {
    "anyOf": [_CHANCE, {"type": "object", "properties": {"numbers": _CITATION}, "additionalProperties": _CHANCE}],
}
_REF_TEXT = rf"^[a-z][a-z0-9_]*(\.({'|'.join(REGIMES)}))?@({'|'.join(RELATIONS)})$"


def word(allowed: Collection[str], default: str = "") -> Kind:
    """Return the kind of a text that is one of `allowed`."""
    return Kind(lambda f, key, required: f.word(key, allowed, required, default), {"enum": list(allowed)})


def words(allowed: Collection[str]) -> Kind:
    """Return the kind of a list of texts, each one of `allowed`."""
    return Kind(lambda f, key, required: f.words(key, allowed, required), list_of({"enum": list(allowed)}))


def whole(least: int, default: int) -> Kind:
    """Return the kind of a whole number of at least `least`."""
    return Kind(lambda f, key, required: f.whole(key, required, default, least), {"type": "integer", "minimum": least})


def records(declared: Sequence[Field], what: str, make: Callable[[Fields, Mapping[str, Any]], Any]) -> Kind:
    """Return the kind of a list of maps with the declared keys, each made into a record."""

    def read(f: Fields, key: str, required: bool) -> tuple[Any, ...]:
        inner = [Fields(f.context, node, f"{what} of {f.what}", f.numbers) for node in f.items(key, required)]
        return tuple(make(each, read_fields(each, declared)) for each in inner)

    return Kind(read, list_of(shape(declared)))


def read_ref(f: Fields, node: Node) -> Ref | None:
    """Return the reference written at a node, or None with a problem."""
    found = _REF.fullmatch(node.text or "")
    if not found:
        f.context.refuse(node, "reference", f"'{node.text}' is no symptom at a place", "write symptom[.regime]@relation")
        return None
    symptom, regime, relation = found.groups()
    if relation not in RELATIONS:
        f.context.refuse(node, "relation", f"'{relation}' is no relation", did_you_mean(relation, RELATIONS))
        return None
    if regime and regime not in REGIMES:
        f.context.refuse(node, "regime", f"'{regime}' is no regime", did_you_mean(regime, REGIMES))
        return None
    return Ref(symptom, regime or "", relation, node.mark)


def _refs(f: Fields, key: str, required: bool) -> tuple[Ref, ...]:
    found = (read_ref(f, node) for node in f.nodes(key, required))
    return tuple(ref for ref in found if ref is not None)


def _shows(f: Fields, key: str, required: bool) -> tuple[Show, ...]:
    found = ((read_ref(f, name), value) for name, value in f.submap(key, required))
    return tuple(Show(ref, f.levels(value)) for ref, value in found if ref is not None)


def _never(f: Fields, key: str, required: bool) -> tuple[Never, ...]:
    found = ((read_ref(f, name), value) for name, value in f.submap(key, required))
    return tuple(Never(ref, value.text or "") for ref, value in found if ref is not None)


def _levels(f: Fields, key: str, required: bool) -> Levels:
    node = f.take(key, required)
    return f.levels(node) if node is not None else {}


def _by_key(f: Fields, key: str, required: bool, read: Callable[[Node], Any]) -> dict[str, Any]:
    return {name.text or "": read(value) for name, value in f.submap(key, required)}


def _factors(f: Fields, key: str, required: bool) -> Mapping[str, Levels]:
    def row(node: Node) -> Levels:
        pairs = [(answer.text or "", factor) for answer, factor in node.pairs or () if answer.text != "numbers"]
        return {answer: f.number_at(factor, lambda v: v > 0, "above 0") for answer, factor in pairs}

    return _by_key(f, key, required, row)


def _rows(f: Fields, key: str, required: bool) -> dict[int, float]:
    found = {}
    for name, value in f.submap(key, required):
        if count(name):
            found[count(name)] = f.chance(value).value
        else:
            f.context.refuse(name, "number", f"'{name.text}' in {f.what} is no cylinder count", "write {4: .2, 6: .3}")
    return found


def _cylinders(f: Fields, key: str, required: bool) -> tuple[int, ...]:
    def numbers() -> Iterator[int]:
        for node in f.nodes(key, required):
            if re.fullmatch(r"\d{1,3}", node.text or "", re.ASCII):
                yield int(node.text or "")
            else:
                f.context.refuse(node, "number", f"'{node.text}' in '{key}' is no cylinder", "write whole numbers: [1, 3, 2, 4]")

    return tuple(numbers())


def by_side(declared: Sequence[Field]) -> Kind:
    """Return the kind of a map from side to a map with the declared keys: side -> field -> value."""

    def read(f: Fields, key: str, required: bool) -> dict[str, dict[str, Any]]:
        made = {name.text or "": Fields(f.context, value, f"magneto '{name.text}'", f.numbers) for name, value in f.submap(key, required)}
        return {side: read_fields(each, declared) for side, each in made.items()}

    return Kind(read, {"type": "object", "properties": {side: shape(declared) for side in SIDES}, "additionalProperties": False})


def _fires(f: Fields, key: str, required: bool) -> dict[str, tuple[str, ...]]:
    return _by_key(f, key, required, lambda node: tuple(item.text or "" for item in node.items or ()))


TEXT = Kind(lambda f, key, required: f.text(key, required), _TEXT)
TEXTS = Kind(lambda f, key, required: f.texts(key, required), list_of(_TEXT))
TEXT_MAP = Kind(lambda f, key, required: _by_key(f, key, required, lambda node: node.text or ""), map_of(_TEXT))
YES = Kind(lambda f, key, _: f.yes(key), {"enum": ["yes", "no", True, False]})
JASC = Kind(lambda f, key, required: _code(f.text(key, required)), {"type": ["integer", "null"]})
CITATION = Kind(lambda f, _key, _required: f.numbers, _CITATION)
CITATIONS = Kind(lambda f, _key, _required: f.citations(), list_of(_TEXT))
REGIME_LIST = Kind(
    lambda f, key, _: f.regimes(key), {"anyOf": [{"type": "string", "pattern": ID}, list_of({"anyOf": [{"enum": list(REGIMES)}, _TEXT]})]}
)
AMOUNT = Kind(lambda f, key, required: f.amount(key, required), {"anyOf": [_AMOUNT, map_of(_AMOUNT, r"^\d+$")]})
CHANCE = Kind(lambda f, key, required: f.probability(key, required), _CHANCE)
PRIOR = Kind(lambda f, key, _: f.probability(key, required="prior_by" not in f.map), _CHANCE)
CHANCES = Kind(lambda f, key, required: _by_key(f, key, required, f.chance), map_of(_CHANCE))
ROWS = Kind(_rows, map_of(_CHANCE, r"^\d+$"))
LEVELS = Kind(_levels, _LEVELS)
LEVELS_BY_REGIME = Kind(lambda f, key, required: _by_key(f, key, required, f.levels), map_of(_LEVELS, f"^({'|'.join(REGIMES)})$"))
FACTORS = Kind(_factors, map_of({"type": "object", "properties": {"numbers": _CITATION}, "additionalProperties": _AMOUNT}, ID))
REFS = Kind(_refs, list_of({"type": "string", "pattern": _REF_TEXT}))
NEVER = Kind(_never, map_of(_TEXT, _REF_TEXT))
CHANCE_LIST = Kind(lambda f, key, required: tuple(f.chance(node) for node in f.nodes(key, required)), list_of(_CHANCE))
SHOWS = Kind(_shows, map_of(_LEVELS, _REF_TEXT))
CYLINDERS = Kind(_cylinders, list_of({"type": "integer", "minimum": 1}))
FIRES = Kind(_fires, {"type": "object", "properties": {side: list_of(_TEXT) for side in SIDES}, "additionalProperties": False})


def _code(text: str) -> str | None:
    return None if text in ("null", "~", "") else text
