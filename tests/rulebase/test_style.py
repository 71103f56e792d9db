"""How the rule base is written: lines and files of a length to read, keys and sections in the order a mechanic thinks."""

from __future__ import annotations

import re

import pytest
import yaml

from diagnose.loaded import rulebase
from diagnose.places import KINDS, RELATIONS
from diagnose.rulebase.effects import EFFECT, WAY
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.reader import read_rulebase
from diagnose.rulebase.records import ACCESS, FEATURES, REGIMES, ROLES
from diagnose.rulebase.sections import MAGNETO, NUMBERS, SECTIONS
from tests.present import present

FOLDER = shipped("rulebase")
FILES = sorted(FOLDER.rglob("*.yaml"))
README = (FOLDER / "README.md").read_text("utf-8")
NAMED = [set(names) for path in FILES for names in yaml.load(path.read_text("utf-8"), Loader=yaml.CBaseLoader).get("regimes", {}).values()]
LONGEST_LINE, LONGEST_FILE = 120, 600


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_no_line_and_no_file_is_too_long(path):
    """A long text is folded (`>-`), a long map gets a line for each key, a long file is split by part."""
    lines = path.read_text("utf-8").splitlines()
    assert [(number, len(line)) for number, line in enumerate(lines, 1) if len(line) > LONGEST_LINE] == []
    assert len(lines) <= LONGEST_FILE


def in_order(keys, wanted):
    """Return whether the keys stand in the order of `wanted`, `numbers` anywhere."""
    found = [wanted.index(key) for key in keys if key != NUMBERS.name]
    return found == sorted(found)


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_keys_and_sections_stand_in_the_order_they_are_declared_in(path):
    """What it is, how it shows, how it is found, how it is mended."""
    document = yaml.load(path.read_text("utf-8"), Loader=yaml.CBaseLoader)
    assert in_order(document, ["format", *SECTIONS])
    for name in set(document) & set(SECTIONS):
        section = SECTIONS[name]
        wanted = [field.name for field in section.fields]
        entries = document[name] if section.named else {name: document[name]}
        for ident, entry in entries.items() if wanted else ():
            declared = [key for key in entry if section.rest is None or key in (*wanted, NUMBERS.name)]
            assert in_order(declared, wanted), (name, ident)
            for effect in entry["effects"] if name == "causes" else ():
                assert in_order(effect, [field.name for field in EFFECT]), (ident, effect)


def test_what_goes_without_saying_is_not_said():
    """`static` is the default regime, a lone regime its own default, and a list that has a name is called by it."""
    assert NAMED
    for path in FILES:
        document = yaml.load(path.read_text("utf-8"), Loader=yaml.CBaseLoader)
        for ident, symptom in document.get("symptoms", {}).items():
            assert symptom.get("regimes") != ["static"], ident
            assert len(symptom.get("regimes", ())) != 1 or "default" not in symptom, ident
            assert set(symptom.get("regimes", ())) not in NAMED, ident
        for ident, cause in document.get("causes", {}).items():
            for effect in cause["effects"]:
                assert set(effect.get("in", ())) not in NAMED, ident


def test_the_readme_of_the_rule_base_names_every_section_field_and_word():
    """Each in backticks: what the loader knows and the page does not is found here."""
    named = set(re.findall(r"`([a-z_]+)", README))
    fields = [field.name for section in SECTIONS.values() for field in section.fields]
    inner = [field.name for declared in (EFFECT, WAY, MAGNETO) for field in declared]
    wanted = {*SECTIONS, *fields, *inner, *KINDS, *RELATIONS, *REGIMES, *ACCESS, *FEATURES, *ROLES}
    assert sorted(wanted - named) == []


def test_the_fixed_ids_of_the_readme_exist():
    """Symptoms and layouts that other programs may name, with their kind and places."""
    base = rulebase()
    part = README.split("## Fixed ids")[1]
    ids = set(re.findall(r"`([a-z][a-z0-9_-]+)`", part))
    known = {*base.symptoms, *base.history, *base.layouts, "squawk", "test", *KINDS}
    assert sorted(ids - known) == []
    assert len(ids & set(base.symptoms)) > 40
    squawks = set(re.findall(r"`([a-z_]+)`", present(re.search(r"Of kind `squawk`: (.*?)\.\s", part, re.DOTALL))[1]))
    assert all(base.symptoms[ident].kind == "squawk" for ident in squawks)


def test_the_example_of_the_readme_loads(tmp_path):
    """With ids of its own laid over the shipped rule base, it must not have a problem."""
    (text,) = re.findall(r"```yaml\n(format: 1\n.*?)```", README, re.DOTALL)
    (tmp_path / "example.yaml").write_text(text)
    base, problems = read_rulebase([FOLDER, tmp_path])
    assert problems == []
    assert {entry.layer for entry in (base.causes["plug_lead_fouled"], base.checks["look_at_plug"])} == {tmp_path.name}
