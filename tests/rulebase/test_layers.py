"""One folder laid over another: key by key, with its own source and layer; and numbers read as people write them."""

from __future__ import annotations

import pytest

from diagnose.rulebase.locate import shipped
from diagnose.rulebase.reader import read_rulebase


def over(tmp_path, text, name="shop"):
    """Return the rule base and problems of one text laid over the shipped rule base."""
    folder = tmp_path / name
    folder.mkdir(exist_ok=True)
    (folder / "mine.yaml").write_text(text)
    return read_rulebase([shipped("rulebase"), folder])


LIMIT = "format: 1\nnumbers: estimate\nlimits:\n  mag_drop_max: {value: %s}\n"


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("1e-3", 0.001),
        ("010", 10),
        (".5", 0.5),
        ("5.", 5),
        ("1E3", 1000),
        ("+7", 7),
        ("0.1e2", 10),
        ("'125'", 125),
        ("0x7", None),
        ("0o7", None),
        ("'1,5'", None),
        ("1 000", None),
        ("", None),
        ("~", None),
        ("0", None),
        ("-0.0", None),
        ("\u0663", None),
    ],
)
def test_numbers_mean_what_they_look_like(tmp_path, written, value):
    """YAML 1.1 would read 010 as eight and leave 1e-3 a text; here both are numbers, and doubtful ones are refused."""
    base, problems = over(tmp_path, LIMIT % written)
    if value is None:
        assert [(p.code, p.line) for p in problems] == [("number", 4)]
    else:
        assert problems == []
        assert base.limits["mag_drop_max"].value.value == value


def test_an_overlay_replaces_the_keys_it_names_and_keeps_the_rest(tmp_path):
    """The label, unit and source of the shipped limit stay; the entry says which layer it came from."""
    below, _ = read_rulebase([shipped("rulebase")])
    base, problems = over(tmp_path, LIMIT % 125)
    assert problems == []
    mine, theirs = base.limits["mag_drop_max"], below.limits["mag_drop_max"]
    assert (mine.value.value, mine.layer) == (125, "shop")
    assert (theirs.value.value, theirs.layer) == (150, "shipped")
    assert (mine.label, mine.unit, mine.document) == (theirs.label, theirs.unit, theirs.document)
    assert base.limits["idle_rise"].layer == "shipped"
    assert base.sha256 != below.sha256


def test_a_number_laid_over_carries_the_source_of_its_own_layer(tmp_path):
    """The shop's 125 rpm does not cite the article that the shipped 150 came from, and the rest keeps its own."""
    base, _ = over(tmp_path, LIMIT % 125)
    assert base.limits["mag_drop_max"].value.source == "estimate"
    text = "format: 1\nnumbers: from memory\ncauses:\n  coil_weak: {prior: .002}\n"
    base, problems = over(tmp_path, text)
    below, _ = read_rulebase([shipped("rulebase")])
    assert problems == []
    assert base.causes["coil_weak"].prior.source == "from memory"
    # The words of the scale keep theirs as well.
    strengths = [e.strength for e in base.causes["coil_weak"].effects]
    assert strengths == [e.strength for e in below.causes["coil_weak"].effects]


def test_three_layers_the_last_wins(tmp_path):
    """Shipped, shop, one aircraft."""
    over(tmp_path, LIMIT % 125)
    (tmp_path / "one").mkdir()
    (tmp_path / "one" / "x.yaml").write_text("format: 1\nlimits:\n  mag_drop_max: {document: its manual}\n")
    base, problems = read_rulebase([shipped("rulebase"), tmp_path / "shop", tmp_path / "one"])
    limit = base.limits["mag_drop_max"]
    assert problems == []
    assert (limit.value.value, limit.document, limit.layer) == (125, "its manual", "one")


def test_the_same_id_in_two_files_of_one_layer_is_refused(tmp_path):
    """Both places are named; in another layer it is an overlay, in another section another thing."""
    folder = tmp_path / "shop"
    folder.mkdir()
    (folder / "a.yaml").write_text("format: 1\nlimits:\n  e_gap: {unit: deg}\n")
    (folder / "b.yaml").write_text("format: 1\n\nlimits:\n  e_gap: {unit: deg}\nchecks: {}\n")
    _, problems = read_rulebase([shipped("rulebase"), folder])
    assert [(p.code, p.line, p.column, p.file.endswith("b.yaml")) for p in problems] == [("duplicate-id", 4, 3, True)]
    assert "a.yaml:3" in problems[0].message


def test_two_layouts_of_one_id_in_one_layer_are_refused(tmp_path):
    """Otherwise the one whose file name sorts last would win unseen."""
    text = (shipped("rulebase") / "layouts" / "opposed-4.yaml").read_text()
    folder = tmp_path / "shop"
    folder.mkdir()
    for name in ("a", "b"):
        (folder / f"{name}.yaml").write_text(text)
    _, problems = read_rulebase([shipped("rulebase"), folder])
    assert [(p.code, p.file.endswith("b.yaml")) for p in problems] == [("duplicate-id", True)]


def test_a_number_laid_over_without_a_source_is_refused(tmp_path):
    """It must not inherit the citation of the number it replaces."""
    _, problems = over(tmp_path, "format: 1\nlimits:\n  mag_drop_max: {value: 125}\n")
    assert [(p.code, p.line, p.column) for p in problems] == [("no-source", 3, 25)]
    base, problems = over(tmp_path, "format: 1\nlimits:\n  mag_drop_max: {value: 125, numbers: h32b p4-31}\n")
    assert (problems, base.limits["mag_drop_max"].value.source) == ([], "h32b p4-31")
