"""No step that the state of the aircraft forbids is offered anywhere, whatever was entered and in whatever order.

What is forbidden is worked out twice: by the program, and entry by entry in `histories.py`. A P-lead that is off makes a magneto live
whatever the switch says (FAA-H-8083-32B p4-31); a propeller is turned by hand only where no cylinder can fire (AMT-G p11-14).
"""

from __future__ import annotations

import io
import os
from itertools import islice

import pytest

from diagnose import loaded
from diagnose.assessment.steps import remedy_order, steps
from diagnose.belief.model import Contradiction
from diagnose.case import log
from diagnose.case.case import load, open_case
from diagnose.cli.entering import after_repair
from diagnose.report import screens
from diagnose.report.documents import next_document, rank_document
from diagnose.report.paper.handover import next_steps
from diagnose.report.paper.story import story_of
from tests.present import present
from tests.state.histories import RUN_ACCESS, RUN_CAUTIONS, Maker, Opinion

LAYOUTS = ("opposed-4", "opposed-6", "opposed-4-dual", "radial-9")
HISTORIES, LENGTH, EVERY = int(os.environ.get("STATE_HISTORIES", "2")), 24, 6  # per layout; more by hand
RUN_WORDS = ("CONFIRMING RUN", "repeat the run under")
seen = {"histories": 0, "moments": 0, "no run": 0, "no hand": 0, "steps": 0, "apart": 0}


def written(path, network, rows):
    """Return the case after these entries."""
    path.unlink(missing_ok=True)
    open_case(path, network.base, network.layout, "A", {})
    log.append_all(path, "A", rows)
    return load(path, network.base)


def offered(network, a):
    """Yield (where, entry) of every check and remedy that any part of the program offers."""
    base = network.base
    yield from (("plan", v.located.check) for v in (*a.plan.checks, *a.plan.paying))
    yield from (("trial", x.group.remedy) for x in (*a.plan.attempts, *a.plan.trials))
    yield from (("order", a.groups[k].remedy) for k in remedy_order(network, a, len(a.groups)))
    for step in steps(network, a):
        yield from ((f"step {step.kind}", e) for e in (step.check and step.check.located.check, step.group and step.group.remedy) if e)
    for name, document in (("next", next_document(network, a)), ("rank", rank_document(network, a))):
        for row in document["next"]:
            if row["kind"] in ("check", "repair"):
                yield name, base.checks[row["check"]] if "check" in row else base.remedies[row["action"].partition("@")[0]]


def by_power(base, step):
    """Return whether a step runs or cranks the engine with everything in and on."""
    made = base.checks.get(step.make_good.check.partition("@")[0]) if step.make_good else None
    entry = made or (step.check and step.check.located.check) or (step.group and step.group.remedy)
    runs = entry and (RUN_ACCESS & set(entry.access) or RUN_CAUTIONS & set(entry.cautions))
    return step.kind == "finish_run" or bool(runs and "plugs_out" not in entry.access)


def runs_of(network, a):
    """Return the runs among the steps: the confirming run, and the OFF check that proves what was made good."""
    found = steps(network, a)
    return [s for s in found if s.kind == "finish_run"], [s for s in found if s.make_good and s.make_good.check]


def printed(show, network, a):
    """Return what a screen prints."""
    out = screens.console()
    out.file = io.StringIO()
    show(out, network, a)
    return " ".join(out.file.getvalue().split())


def judge(network, case, opinion, told):
    """Hold everything the program would say of a case against the second opinion."""
    a = loaded.assessed(network, case.trouble)
    story = story_of(case, network)
    story.__dict__["assessment"] = a  # worked out once
    for where, entry in offered(network, a):
        assert not opinion.forbids(entry), f"{where} offers {entry.id}: {told}"
        seen["steps"] += 1
    assert a.bars.powered or not opinion.no_power, told
    assert a.bars.by_hand or not opinion.no_hand, told
    coming = steps(network, a)[:1]
    if opinion.apart and coming:
        assert not by_power(network.base, coming[0]), f"{coming[0]} with {opinion.apart} out: {told}"
        seen["apart"] += 1
    runs, proofs = runs_of(network, a)
    if opinion.no_power or a.bars.powered:
        assert not runs, f"confirming run: {told}"
        for text in (printed(screens.show_next, network, a), printed(screens.show_ranking, network, a)):
            assert not any(words in text for words in RUN_WORDS), f"{text}: {told}"
        step = next_steps(story)[0]
        assert "run" not in step.lower().split(), f"hand-over: {step}: {told}"
        said = after_repair(network, a)
        assert "repeat the run" not in said, f"remedy: {said}: {told}"
    if any(opinion.off.values()) or opinion.broken or opinion.blows or opinion.parts:
        assert not proofs, f"OFF check: {told}"
        if any(opinion.off.values()):
            first = steps(network, a)[0]
            assert first.kind == "make_good", f"first {first.kind}: {told}"
            assert next_document(network, a)["next"][0]["label"] == present(first.make_good).label == next_steps(story)[0]
    elif opinion.live and proofs:
        assert case.trouble.looks[-1].repairs or any(look.repairs for look in case.trouble.looks), f"nothing mended: {told}"
    seen["moments"] += 1
    seen["no run"] += opinion.no_power
    seen["no hand"] += opinion.no_hand


@pytest.mark.slow
@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("seed", range(HISTORIES))
def test_no_step_is_offered_that_the_state_forbids(tmp_path, layout, seed):
    network = loaded.network_of((), layout)
    rows = Maker(network, seed * 31 + len(layout)).entries(LENGTH)
    for count in islice(range(EVERY, LENGTH + 1, EVERY), None):
        case = written(tmp_path / "a.case", network, rows[:count])
        told = f"{layout} seed {seed}: {[d for _, d in rows[:count]]}"
        try:
            judge(network, case, Opinion(network, case.events), told)
        except Contradiction:
            continue
    seen["histories"] += 1


def test_the_histories_reach_what_they_are_about(capsys):
    """The count; and enough of the moments forbid something, or the property would hold for nothing."""
    with capsys.disabled():
        print(f"\n{seen}")
    if seen["histories"] == len(LAYOUTS) * HISTORIES:
        assert seen["no run"] > 0.3 * seen["moments"]
        assert seen["no hand"] > 0.2 * seen["moments"]
        assert seen["apart"] > 0.1 * seen["moments"]
        assert seen["no run"] < 0.95 * seen["moments"]
