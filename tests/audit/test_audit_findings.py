"""Every kind of finding appears when the shipped rule base is spoilt in just that way, and only then about that entry."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from diagnose import loaded
from diagnose.audit import cautions, coverage, entries, findings, numbers, told_apart
from diagnose.audit.shows import alone, given, reported, zero_one
from diagnose.belief.exact import ask
from diagnose.belief.model import CauseNode, Evidence, Look, Model
from diagnose.belief.setting import Row
from diagnose.places import inside
from diagnose.rulebase.entry import Number
from diagnose.trouble.network import build
from diagnose.trouble.repair_groups import repair_groups

BASE = loaded.rulebase()
LAYOUT = BASE.layouts["opposed-4"]


def spoilt(section, name, **changes):
    """Return the rule base with some fields of one entry changed."""
    entries_ = dict(getattr(BASE, section))
    entries_[name] = replace(entries_[name], **changes)
    changed: dict[str, Any] = {section: entries_}
    return replace(BASE, **changed)


def static(base):
    """Return the findings that need no simulation and no cases."""
    networks = [build(base, base.layouts[name]) for name in ("opposed-4", "opposed-6-pressurised")]
    return [*entries.findings(base), *entries.sums(networks), *coverage.findings(networks), *cautions.findings(base)]


@pytest.fixture(scope="module")
def before():
    """Return the findings of the shipped base, as (id, about)."""
    return {(f.severity, f.id, f.about) for f in static(BASE)}


PLUG = BASE.causes["plug_lead_fouled"]
WORK = BASE.history["recent_ignition_work"]
SPOILT = {
    "prior of a whole engine": (
        "problem",
        "prior-scale",
        "coil_open",
        lambda: spoilt("causes", "coil_open", prior=Number(0.06, "estimate")),
    ),
    "prior far from its family": (
        "notice",
        "prior-scale",
        "coil_open",
        lambda: spoilt("causes", "coil_open", prior=Number(0.02, "estimate")),
    ),
    "many faults at once": (
        "problem",
        "prior-scale",
        "plug_lead_fouled",
        lambda: spoilt("causes", "plug_lead_fouled", prior_by={"bottom": Number(0.049, "estimate"), "top": Number(0.049, "estimate")}),
    ),
    "no remedy": ("problem", "remedy-missing", "coil_open", lambda: spoilt("causes", "coil_open", remedies=())),
    "remedy elsewhere": ("problem", "remedy-missing", "coil_open", lambda: spoilt("causes", "coil_open", remedies=("clean_plug",))),
    "quickest remedy elsewhere": (
        "problem",
        "remedy-place",
        "coil_open",
        lambda: spoilt("causes", "coil_open", remedies=("clean_plug", "replace_coil")),
    ),
    "remedy nobody names": (
        "problem",
        "remedy-unused",
        "extra",
        lambda: replace(BASE, remedies={**BASE.remedies, "extra": replace(BASE.remedies["clean_plug"], id="extra")}),
    ),
    "no source": ("problem", "link-without-source", "coil_open", lambda: spoilt("causes", "coil_open", source=())),
    "number without source": (
        "problem",
        "number-without-source",
        "plug_lead_fouled",
        lambda: spoilt(
            "causes",
            "plug_lead_fouled",
            effects=(*PLUG.effects, replace(PLUG.effects[0], shows=(replace(PLUG.effects[0].shows[0], levels={"": Number(0.5, "")}),))),
        ),
    ),
    "one effect only": (
        "problem",
        "few-links",
        "plug_lead_fouled",
        lambda: spoilt(
            "causes", "plug_lead_fouled", effects=tuple(replace(e, shows=e.shows[:1], regimes=("runup",)) for e in PLUG.effects[:1])
        ),
    ),
    "one regime only": (
        "problem",
        "few-regimes",
        "plug_lead_fouled",
        lambda: spoilt(
            "causes", "plug_lead_fouled", effects=tuple(replace(e, shows=e.shows[:1], regimes=("runup",)) for e in PLUG.effects[:1])
        ),
    ),
    "no code": ("problem", "jasc-missing", "coil_open", lambda: spoilt("causes", "coil_open", jasc=None)),
    "unbalanced history": (
        "problem",
        "history-mean",
        "recent_ignition_work leads_crossed",
        lambda: spoilt(
            "history",
            "recent_ignition_work",
            acts_on={**WORK.acts_on, "leads_crossed": {"yes": Number(6.2, "estimate"), "no": Number(1.0, "estimate")}},
        ),
    ),
    "cold and hot": (
        "problem",
        "access-contradicts",
        "off_check",
        lambda: spoilt("checks", "off_check", access=("engine_cold", "engine_hot")),
    ),
    "running, then cold": (
        "problem",
        "access-contradicts",
        "off_check",
        lambda: spoilt("checks", "off_check", access=("engine_running", "engine_cold")),
    ),
    "running without plugs": (
        "problem",
        "access-contradicts",
        "off_check",
        lambda: spoilt("checks", "off_check", access=("engine_running", "plugs_out")),
    ),
    "live magneto untold": (
        "problem",
        "caution-missing",
        "try_p_lead_off",
        lambda: spoilt("checks", "try_p_lead_off", cautions=("run_area",)),
    ),
    "propeller turned untold": (
        "problem",
        "caution-missing",
        "check_timing",
        lambda: spoilt("checks", "check_timing", cautions=("prop_live",)),
    ),
    "P-leads both on and off": (
        "problem",
        "caution-contradicts",
        "try_p_lead_off",
        lambda: spoilt("checks", "try_p_lead_off", cautions=("p_lead_off_live", "turn_by_hand")),
    ),
    "switch off, engine running": (
        "problem",
        "caution-contradicts",
        "mag_check",
        lambda: spoilt("checks", "mag_check", cautions=("turn_by_hand",)),
    ),
    "electrics near open fuel, engine run": (
        "problem",
        "caution-contradicts",
        "mag_check",
        lambda: spoilt("checks", "mag_check", cautions=("run_area", "fuel")),
    ),
    "boost pump near open fuel": (
        "problem",
        "caution-contradicts",
        "compare_nozzles",
        lambda: spoilt("checks", "compare_nozzles", cautions=("fuel", "prop_live")),
    ),
    "high voltage at open fuel": (
        "problem",
        "caution-contradicts",
        "lead_voltage_test",
        lambda: spoilt("checks", "lead_voltage_test", cautions=("prop_live", "high_voltage", "fuel")),
    ),
    "magneto off, P-leads on": (
        "problem",
        "caution-contradicts",
        "bench_magneto",
        lambda: spoilt("checks", "bench_magneto", cautions=("turn_by_hand", "turn_lead_off")),
    ),
    "switch OFF at a timing step": (
        "problem",
        "caution-contradicts",
        "check_timing",
        lambda: spoilt("checks", "check_timing", cautions=("timing_prop", "turn_by_hand")),
    ),
    "cranked untold": (
        "problem",
        "caution-missing",
        "measure_start_supply",
        lambda: spoilt("checks", "measure_start_supply", cautions=("prop_live",)),
    ),
    "heater untold": ("problem", "caution-missing", "preheat_engine", lambda: spoilt("remedies", "preheat_engine", cautions=("run_area",))),
    "idle caution": (
        "notice",
        "caution-unused",
        "spare",
        lambda: replace(BASE, cautions={**BASE.cautions, "spare": replace(BASE.cautions["torque"], id="spare")}),
    ),
    "check of nothing": ("problem", "check-gives-nothing", "mag_check", lambda: spoilt("checks", "mag_check", gives=())),
    "symptom of nothing": (
        "problem",
        "symptom-never-shown",
        "ghost",
        lambda: replace(BASE, symptoms={**BASE.symptoms, "ghost": replace(BASE.symptoms["plug_lead"], id="ghost")}),
    ),
    "symptom nobody looks for": (
        "problem",
        "symptom-no-check",
        "ghost",
        lambda: replace(BASE, symptoms={**BASE.symptoms, "ghost": replace(BASE.symptoms["plug_lead"], id="ghost")}),
    ),
}


@pytest.mark.slow
@pytest.mark.parametrize("how", SPOILT)
def test_spoiling_is_found(how, before):
    """The finding comes with its severity, its entry and something to do; it does not stand in the sound base."""
    severity, ident, about, make = SPOILT[how]
    found = [f for f in static(make()) if (f.severity, f.id, f.about) == (severity, ident, about)]
    assert found
    assert all(f.words and f.fix for f in found)
    assert (severity, ident, about) not in before


@pytest.mark.parametrize(
    ("cause", "remedy"),
    [("plug_lead_fouled", "replace_plug_set"), ("distributor_tower_tracked", "replace_block"), ("cam_lobe_worn", "overhaul_engine")],
)
def test_a_remedy_of_a_larger_place_ends_what_is_inside_it(cause, remedy):
    """A circuit's cause with a side's or the engine's remedy is done at that side or engine, and is no finding."""
    base = spoilt("causes", cause, remedies=(remedy,))
    assert not [f for f in entries.findings(base) if f.about == cause and f.id.startswith("remedy-")]
    network = build(base, LAYOUT)
    assert {g.place for g in repair_groups(network).values() for c in g.causes if c.startswith(f"{cause}@")} <= set(
        LAYOUT.places(base.remedies[remedy].at)
    )


@pytest.mark.parametrize("layout", ["opposed-4", "radial-9"])
def test_one_layout_alone_hangs_nothing_loose(layout):
    """What belongs to other layouts (retard points, oil in low cylinders) is no problem of this one."""
    assert [f for f in coverage.findings([build(BASE, BASE.layouts[layout])]) if f.severity == "problem"] == []


@pytest.mark.parametrize("layout", BASE.layouts)
def test_which_kind_of_place_holds_which_is_what_the_layouts_say(layout):
    """The table of the audit against `places.inside`, for every kind of place a layout has."""
    places = {kind: BASE.layouts[layout].places(kind) for kind in entries.HOLDS}
    for inner, held in entries.HOLDS.items():
        found = {outer for outer, some in places.items() for i in places[inner] for o in some if inside(BASE.layouts[layout], i, o)}
        assert found == (held if places[inner] else set())


def test_a_lost_air_caution_is_told_by_its_hazard():
    """Whatever else the check lacks."""
    words = [f.words for f in cautions.findings(spoilt("checks", "differential_compression", cautions=()))]
    assert any("differential_compression" in w and "air pressure can swing the propeller" in w for w in words)


def test_a_reason_in_the_note_excuses_a_missing_code():
    """`jasc: null` with the reason beside it is no finding."""
    base = spoilt("causes", "coil_open", jasc=None, note="No JASC code fits.")
    assert not [f for f in entries.findings(base) if f.id == "jasc-missing" and f.about == "coil_open"]


def test_a_twin_with_another_remedy_is_not_told_apart():
    """A copy of a cause under another repair shows the same; under the same repair it needs no telling apart."""
    twin = replace(BASE.causes["coil_open"], id="coil_twin", remedies=("replace_points",))
    base = replace(BASE, causes={**BASE.causes, "coil_twin": twin})
    about = {f.about for f in told_apart.findings([build(base, LAYOUT)])}
    assert "coil_open coil_twin" in about
    same = replace(BASE, causes={**BASE.causes, "coil_twin": replace(twin, remedies=BASE.causes["coil_open"].remedies)})
    assert "coil_open coil_twin" not in {f.about for f in told_apart.findings([build(same, LAYOUT)])}


@pytest.mark.parametrize("least", [0.1, 0.5, 0.9])
def test_look_alikes_are_those_of_a_comparison_of_every_pair(least):
    """The sieve by telling columns drops no pair that differs by less than `least` everywhere, and keeps no other."""
    network = loaded.network_of((), "opposed-4")
    shown, seen = alone(network), given(network)
    names = list(network.causes)[:90]
    repair = {c: k for k, g in repair_groups(network).items() for c in g.causes}

    def differ(a, b):
        nodes = (set(shown[a]) | set(shown[b])) & seen
        pairs = [(shown[a].get(n, network.graph.nodes[n]["leak"]), shown[b].get(n, network.graph.nodes[n]["leak"])) for n in nodes]
        return max((abs(p - q) for x, y in pairs for p, q in zip(x, y, strict=True)), default=0.0)

    wanted = {(a, b) for i, a in enumerate(names) for b in names[i + 1 :] if repair[a] != repair[b] and differ(a, b) < least}
    got = {(p.first, p.second) for p in told_apart.alike_pairs(network, least) if p.first in names and p.second in names}
    assert got == wanted
    assert (len(wanted) > 0) == (least > 0.4)


@pytest.mark.parametrize("cause", ["plug_lead_fouled@1-bottom", "coil_open@left", "both_timing_late@engine"])
def test_what_a_cause_shows_alone_is_what_the_belief_engine_says(cause):
    """P(level <= k) of every symptom, got from the exact engine with that one cause as the whole model."""
    network = loaded.network_of((), "opposed-4")
    node = next(c for c in network.model.causes if c.id == cause)
    half = Model((CauseNode(cause, 0.5, node.effects),), network.model.leaks)
    for name, grades in alone(network)[cause].items():
        leak = network.model.leaks[name]
        for k in range(len(grades) - 1):
            here = ask(half, Evidence((Look(),)), [Row({name: k})], posteriors=False).likelihood[0]
            assert sum(grades[: k + 1]) == pytest.approx(2 * here - sum(leak[: k + 1]))


def test_order_and_exit_code():
    """Problems before notices; only problems fail."""
    notice = findings.Found("notice", "never-pays", "a", "a.", "b")
    problem = findings.Found("problem", "jasc-missing", "z", "z.", "b")
    worst = findings.Found("problem", "caution-contradicts", "z", "z.", "b")
    assert findings.in_order([notice, problem, worst]) == [worst, problem, notice]
    assert [findings.exit_code(f) for f in ([], [notice], [notice, problem])] == [0, 0, 1]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("estimate", "estimate"),
        ("h32b p4-34", "citation"),
        ("from memory", "from memory"),
        ("renooij-1999 from memory", "from memory"),
        ("memory", "from memory"),
        ("common practice", "common practice"),
        ("common", "common practice"),
    ],
)
def test_kinds_of_source(text, kind):
    """What is read from memory counts so even where it names a document."""
    assert numbers.kind_of_source(text) == kind


def test_every_number_is_counted_once():
    """One more cause adds its own numbers and nothing else; counts are those of the records."""
    more = replace(BASE, causes={**BASE.causes, "twin": replace(BASE.causes["coil_open"], id="twin")})
    own = BASE.causes["coil_open"]
    held = 1 + sum(1 + sum(len(s.levels) for s in e.shows) for e in own.effects)
    assert sum(numbers.by_kind(more).values()) - sum(numbers.by_kind(BASE).values()) == held
    assert (
        sum(numbers.backing(BASE).values())
        == numbers.counts(BASE)["links"]
        == sum(len(numbers.links_of(BASE, c)) for c in BASE.causes.values())
    )
    assert sum(numbers.families(BASE).values()) == len(BASE.causes)


def test_the_zero_one_matrix_leaves_leaks_out():
    """P(normal) with the leak is P(normal) without it times the leak's own; a cell is 1 from .5 on, among what is looked at."""
    network = loaded.network_of((), "opposed-4")
    bare, full = alone(network, leaks=False), alone(network)
    for cause, shown in full.items():
        for node, grades in shown.items():
            assert grades[0] == pytest.approx(bare[cause][node][0] * network.graph.nodes[node]["leak"][0])
    for seen in (given(network), reported(network)):
        for cause, row in zero_one(network, seen).items():
            assert row == {n for n in seen if 1 - bare[cause].get(n, (1.0,))[0] >= 0.5}
