"""The loader: every problem at its place, in one run, and nothing read as what it is not."""

from __future__ import annotations

import pytest

from diagnose.loaded import network_of, rulebase
from diagnose.places import SIDES
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.reader import read_rulebase

# Each line of a broken file, the code it must give, and the line it must name.
BROKEN = [
    ("format: 1\ncauses: {a: 1}\n", "shape", 2),
    ("format: 2\n", "format", 1),
    ("format: 1\ncuases: {}\n", "section", 2),
    ("format: 1\nlimits:\n  x: {label: a}\n  x: {label: b}\n", "duplicate-key", 4),
    ("format: 1\nlimits: {x: &a {label: b}, y: *a}\n", "alias", 2),
    ("format: 1\nlimits: {x: !!python/object:os.system {label: b}}\n", "tag", 2),
    ("format: 1\nlimits:\n  <<: {a: b}\n", "merge-key", 3),
    ("format: 1\nlimits:\n  x: [\n", "yaml", 4),
    ("format: 1\nnumbers: estimate\nlimits:\n  x: {label: a, value: 1:30, unit: u, document: d, revision: r}\n", "number", 4),
    ("format: 1\nnumbers: estimate\nlimits:\n  x: {label: a, value: yes, unit: u, document: d, revision: r}\n", "number", 4),
    ("format: 1\nlimits:\n  x: {label: a, value: 3, unit: u, document: d, revision: r}\n", "no-source", 4 - 1),
    ("format: 1\nnumbers: estimate\nlimits:\n  x: {label: a, value: 3, unit: u, document: d, revision: r, colour: z}\n", "unknown-key", 4),
    (
        "format: 1\nnumbers: nobody p3\nlimits:\n  x: {label: a, value: 3, unit: u, document: d, revision: r, source: [nobody p3]}\n",
        "source",
        4,
    ),
]


def read(tmp_path, text):
    """Return the rule base and problems of one file laid over the shipped ones."""
    (tmp_path / "mine.yaml").write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_rulebase([shipped("rulebase"), tmp_path])


@pytest.mark.parametrize(("text", "code", "line"), BROKEN)
def test_broken_files(tmp_path, text, code, line):
    """The problem names its code, file and line."""
    _, problems = read(tmp_path, text)
    assert (code, line) in {(p.code, p.line) for p in problems if p.file.endswith("mine.yaml")}


def test_every_problem_in_one_run_with_a_hint(tmp_path):
    """Two wrong ids in one cause are both reported, each with the nearest right one."""
    text = (
        "format: 1\nnumbers: estimate\ncauses:\n  mine:\n    label: a\n    family: coil\n    jasc: null\n    at: circuit\n    prior: 1e-3\n"
        "    remedies: [clean_plugg]\n    effects:\n      - {strength: .5, shows: {plug_leed@here: .5}}\n"
    )
    base, problems = read(tmp_path, text)
    assert len(problems) == 2
    assert any("clean_plug" in str(p) for p in problems)
    assert any("plug_lead" in str(p) and p.line == 12 for p in problems)
    assert base.causes["mine"].prior.value == 0.001


def test_numbers_are_read_as_people_write_them(tmp_path):
    """`010` is ten and `1e-3` a thousandth; an overlay wins key by key and says its layer."""
    _, problems = read(tmp_path, "format: 1\nnumbers: estimate\nchecks:\n  look_at_plug: {minutes: 010}\n")
    assert problems == []
    base, _ = read(tmp_path, "format: 1\nnumbers: estimate\nchecks:\n  look_at_plug: {minutes: 010}\n")
    assert base.checks["look_at_plug"].minutes.value == 10
    assert base.checks["look_at_plug"].layer == tmp_path.name
    assert base.checks["look_at_plug"].gives


@pytest.mark.parametrize("text", [b"\xff\xfe\x00", b"", b"format: 1\n" + b"#" * 1_100_000, b"[" * 5_000])
def test_hostile_files_are_refused(tmp_path, text):
    """Not text, nothing, too much, too deep: one problem each, no trace."""
    _, problems = read(tmp_path, text)
    assert problems


def test_a_layout_that_contradicts_itself_is_refused_at_its_line(tmp_path):
    """A cylinder that fires twice and a plug that nobody fires."""
    text = (shipped("rulebase") / "layouts" / "opposed-4.yaml").read_text()
    text = text.replace("id: opposed-4", "id: mine").replace("[1, 3, 2, 4]", "[1, 3, 3, 4]").replace("2-top, 4-top]", "2-top]")
    line = 1 + text[: text.index("firing_order")].count("\n")
    _, problems = read(tmp_path, text)
    assert any(p.code == "layout" and p.line == line and "fires 2 times" in p.message for p in problems)
    assert any("4-top is fired by no magneto" in p.message for p in problems)


FAMILIES = [
    "plug_fouled_lead",
    "plug_fouled_soot",
    "plug_fouled_oil",
    "plug_insulator",
    "plug_resistor",
    "plug_worn",
    "lead_insulation",
    "lead_open",
    "lead_terminal",
    "leads_crossed",
    "points",
    "capacitor",
    "coil",
    "distributor",
    "magneto_drive_gear",
    "magneto_internal_timing",
    "timing_to_engine",
    "impulse_coupling",
    "starting_vibrator",
    "p_lead_open",
    "p_lead_grounded",
    "ignition_switch",
    "mixture_rich",
    "injector",
    "induction_leak",
    "valve",
    "rings_oil",
    "compression",
    "other",
    "mixture_lean",
    "fuel_supply",
    "primer",
    "carburettor",
    "plug_wet",
    "plug_installation",
    "heat_range",
    "drive_shared",
    "moisture",
    "propeller_mount",
    "instrument",
    "check_technique",
]


def test_the_shipped_rule_base_is_whole():
    """No problem; every family, enough causes, symptoms, checks; every cause with links, remedy, note and source."""
    base = rulebase()
    assert set(FAMILIES) <= {c.family for c in base.causes.values()}
    assert len(base.causes) >= 45
    assert len(base.symptoms) >= 60
    assert len(base.checks) >= 35
    for cause in base.causes.values():
        assert cause.remedies, cause.id
        assert cause.note, cause.id
        assert cause.source, cause.id
    given = {r.symptom for c in base.checks.values() for r in c.gives}
    assert [s.id for s in base.symptoms.values() if s.kind == "test" and s.id not in given] == []


def test_every_cause_shows_itself_in_four_ways_and_two_regimes():
    """Counted on every layout: different symptoms, and regimes."""
    seen: dict[str, set[tuple[str, str]]] = {}
    for name in rulebase().layouts:
        network = network_of((), name)
        for ident, located in network.causes.items():
            links = {
                (s.symptom.id, s.regime)
                for e in network.graph.successors(ident)
                for n in network.graph.successors(e)
                for s in [network.symptoms[n]]
            }
            seen.setdefault(located.cause.id, set()).update(links)
    thin = [c for c, links in seen.items() if len(links) < 4 or len({r for _, r in links}) < 2]
    assert thin == []
    assert set(rulebase().causes) == set(seen)


def test_every_plug_has_a_side():
    """On every layout both magnetos together fire each plug once."""
    for layout in rulebase().layouts.values():
        assert sorted(c for s in SIDES for c in layout.fires[s]) == sorted(layout.circuits)
