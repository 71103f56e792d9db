"""The schema for editors: generated from the loader's declarations, true of every shipped file, and not true of everything."""

from __future__ import annotations

import json
import re

import pytest
import yaml

from diagnose.__main__ import main
from diagnose.places import Layout
from diagnose.rulebase.kinds import known_to
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.records import Cause, Check, History, Limit, Remedy, Symptom
from diagnose.rulebase.schema import schema
from diagnose.rulebase.sections import SECTIONS
from tests.present import present

FOLDER = shipped("rulebase")
FILES = sorted(FOLDER.rglob("*.yaml"))
TYPES: dict[str, type | tuple[type, ...]] = {
    "object": dict,
    "array": list,
    "string": str,
    "integer": int,
    "number": (int, float),
    "null": type(None),
}


class Core(yaml.SafeLoader):
    """Plain values as YAML 1.2 and so an editor reads them: `yes`, `no` and dates are texts, `.5` and `1e-3` numbers."""


Core.yaml_implicit_resolvers = {}
for tag, pattern, first in (
    ("null", r"~|null|", "~n"),
    ("bool", r"true|false", "tf"),
    ("int", r"[-+]?[0-9]+", "-+0123456789"),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?", "-+.0123456789"),
):
    Core.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(f"^(?:{pattern})$"), list(first))


def _float(loader: Core, node: yaml.ScalarNode) -> float:
    return float(loader.construct_scalar(node))


def _int(loader: Core, node: yaml.ScalarNode) -> int:
    return int(loader.construct_scalar(node))


Core.add_constructor("tag:yaml.org,2002:float", _float)
Core.add_constructor("tag:yaml.org,2002:int", _int)


def wrong(value, rule, at="file"):
    """Return where a value breaks a schema: a reading of the JSON Schema words used here (draft 7), apart from the generator."""
    if "anyOf" in rule:
        found = [wrong(value, option, at) for option in rule["anyOf"]]
        return [] if [] in found else min(found, key=len)
    if "const" in rule and value != rule["const"]:
        return [f"{at}: {value!r} is not {rule['const']!r}"]
    if "enum" in rule:
        return [] if value in rule["enum"] else [f"{at}: {value!r} is none of {rule['enum']}"]
    names = rule.get("type", [])
    if names and not any(isinstance(value, TYPES[name]) for name in ([names] if isinstance(names, str) else names)):
        return [f"{at}: {value!r} is no {names}"]
    return [*_of_map(value, rule, at), *_of_list(value, rule, at), *_of_text_or_number(value, rule, at)]


def _of_map(value, rule, at):
    if not isinstance(value, dict):
        return
    known, others = rule.get("properties", {}), rule.get("additionalProperties", {})
    for key, inner in value.items():
        if not re.search(rule.get("propertyNames", {}).get("pattern", ""), str(key)):
            yield f"{at}: {key!r} cannot be a key"
        if key in known or others is not False:
            yield from wrong(inner, known.get(key, others), f"{at}.{key}")
        else:
            yield f"{at}: unknown key {key!r}"
    yield from (f"{at}: no {key!r}" for key in rule.get("required", ()) if key not in value)


def _of_list(value, rule, at):
    if isinstance(value, list) and "items" in rule:
        for number, item in enumerate(value):
            yield from wrong(item, rule["items"], f"{at}[{number}]")


def _of_text_or_number(value, rule, at):
    if "pattern" in rule and not re.search(rule["pattern"], value):
        yield f"{at}: {value!r} has not the form {rule['pattern']}"
    too_small = value <= rule["exclusiveMinimum"] if "exclusiveMinimum" in rule else "minimum" in rule and value < rule["minimum"]
    if too_small or ("exclusiveMaximum" in rule and value >= rule["exclusiveMaximum"]):
        yield f"{at}: {value} is too {'small' if too_small else 'large'}"


def test_the_schema_that_stands_there_is_the_loaders(capsys):
    """`diagnose check --schema > rulebase/schema.json` mends it."""
    assert main(["check", "--schema"]) == 0
    told = capsys.readouterr().out
    assert json.loads(told) == schema()
    assert told == (FOLDER / "schema.json").read_text("utf-8"), "diagnose check --schema > rulebase/schema.json"


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_every_shipped_file_is_as_the_schema_says(path):
    """An editor marks nothing red in them, and finds the schema by their first line."""
    text = path.read_text("utf-8")
    assert wrong(yaml.load(text, Loader=Core), schema()) == []
    name = present(re.fullmatch(r"# yaml-language-server: \$schema=(\S+)", text.splitlines()[0]))[1]
    assert (path.parent / name).resolve() == (FOLDER / "schema.json").resolve()


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("format: 1", "format: 2", "file.format: 2 is not 1"),
        ("    label: Coil weak, turns shorted\n", "", "file.causes.coil_weak: no 'label'"),
        ("    family: coil\n", "    famili: coil\n", "file.causes.coil_weak: unknown key 'famili'"),
        ("at: side", "at: wing", "file.causes.coil_weak.at: 'wing' is none of"),
        ("prior: .0009", "prior: 1", "file.causes.coil_weak.prior: 1 is too large"),
        ("coil_fail@here: .93", "coil_fail@there: .93", "cannot be a key"),
        ("spark_weak@here: {weak: .88, none: .05}", "spark_weak.flying@here: .5", "cannot be a key"),
        ("strength: .65", "strength: 0", "is too small"),
        ("people: 1", "people: one", "people: 'one' is no integer"),
        ("access: [cowl_off, leads_off]", "access: [cowl_of]", "access[0]: 'cowl_of' is none of"),
        ("causes:", "Causes:", "file: unknown key 'Causes'"),
        ("jasc: 7414", "jasc: seven", "jasc: 'seven' is no"),
    ],
)
def test_what_the_loader_refuses_an_editor_marks(old, new, told):
    """One change each in a sound file."""
    text = (FOLDER / "coil.yaml").read_text("utf-8")
    assert old in text
    found = wrong(yaml.load(text.replace(old, new, 1), Loader=Core), schema())
    assert any(told in problem for problem in found), found


def test_every_field_has_its_help_and_a_place_in_its_record():
    """What no record keeps would be read and lost; `note:` may be for the reader of the file, `magnetos:` is taken apart."""
    for name, section in SECTIONS.items():
        for field in section.fields:
            assert field.help.endswith((".", ").")), (name, field.name)
    record = {
        "checks": Check,
        "remedies": Remedy,
        "causes": Cause,
        "history": History,
        "limits": Limit,
        "symptoms": Symptom,
        "layout": Layout,
    }
    for name, kept in record.items():
        declared = {field.into or field.name for field in SECTIONS[name].fields}
        assert declared - set(known_to(kept, dict.fromkeys(declared))) <= {"note", "magnetos"}, name
