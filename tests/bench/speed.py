"""Time of one belief and of one plan, beside a general-purpose engine on the same evidence, in the same run.

The general engine gets the shipped network with every normal result already folded in (as the tests do it), answers
for all causes, and is timed without building. Processor time, medians; ratios are taken within one run and gated nowhere.
"""

from __future__ import annotations

import importlib.util
import multiprocessing
import resource
from functools import partial
from pathlib import Path
from random import Random
from statistics import median
from time import process_time

from diagnose import loaded
from diagnose.belief import exact
from diagnose.plan.checks import available
from diagnose.plan.plan import make_plan
from diagnose.plan.shortlist import screened
from diagnose.trouble.evidence import prepare
from diagnose.trouble.looks import LookResults
from diagnose.trouble.repair_groups import repair_groups
from diagnose.trouble.results import default_complaint
from diagnose.trouble.trouble import done_nodes
from tests.bench.draws import draw, reading

LAYOUTS = ("opposed-4", "opposed-6", "radial-18")
MEMORY = 6 << 30  # bytes the general engine may take
TIMEOUT = 120  # seconds after which it is broken off
LONGEST = 20.0  # seconds after which the general engine is not asked about more positives


def evidence_with(network, positives: int, seed: int):
    """Return a look with just so many abnormal results of two drawn faults, and eight normal ones."""
    rng = Random(seed)
    while True:
        drawn = draw(network, rng, 2)
        # Two faults at different places; only what they show themselves, complaint first.
        shown = [n for found in drawn.shown.values() for n, level in found.items() if level and drawn.levels[n] == level]
        names = list(dict.fromkeys([*drawn.complaint, *shown]))
        if len(names) < positives:
            continue
        normal = [n for n in sorted(drawn.levels) if not drawn.levels[n] and network.graph.in_degree(n)]
        results = tuple(reading(network, drawn, n) for n in (*names[:positives], *rng.sample(normal, 8)))
        look = LookResults(results, default_complaint(results, network.base))
        prepared = prepare(network, [look])
        if sum(len(k.clauses) for k in prepared.evidence.looks) == positives:
            return look, prepared


def timed(work, least: int = 3):
    """Return the median milliseconds of a few runs."""
    spans = []
    for _ in range(least):
        start = process_time()
        work()
        spans.append(1000 * (process_time() - start))
    return median(spans)


def belief_times(positives=range(1, 9), layouts=LAYOUTS, cases: int = 3, engine: bool = True):
    """Return one row per layout and number of positive results."""
    general = _general() if engine else None
    rows = []
    for layout in layouts:
        network = loaded.network_of((), layout)
        network.model  # noqa: B018 - built before the clock starts
        too_long = general is None
        for p in positives:
            prepared = [evidence_with(network, p, 100 * p + i)[1] for i in range(cases)]
            ours = median(timed(partial(exact.believe, network.model, q.evidence)) for q in prepared)
            row = {"layout": layout, "positives": p, "ours_ms": round(ours, 2), "engine": None, "engine_ms": None, "ratio": None}
            if not too_long:
                theirs = [ms for q in prepared if (ms := _apart(general, network, q)) is not None]
                if theirs:
                    row |= {"engine": "pyagrum", "engine_ms": round(median(theirs), 2), "ratio": round(median(theirs) / ours, 2)}
                row |= {"engine_gave_up": cases - len(theirs)}
                too_long = len(theirs) < cases or sum(theirs) > 1000 * LONGEST
            rows.append(row)
    return rows


def _general():
    """Return the module of the tests that puts a network into the general engine, or None where it is not installed."""
    if importlib.util.find_spec("pyagrum") is None:
        return None
    path = Path(__file__).resolve().parents[1] / "belief" / "test_oracle_engine.py"
    spec = importlib.util.spec_from_file_location("oracle_engine", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def _apart(general, network, prepared):
    """Return the milliseconds in a process of its own with a bound on memory and time; None where it broke off."""
    context = multiprocessing.get_context("fork")
    ours, theirs = context.Pipe(duplex=False)

    def measured():
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        theirs.send(_general_ms(general, network, prepared))

    process = context.Process(target=measured)
    process.start()
    theirs.close()
    try:
        return ours.recv() if ours.poll(TIMEOUT) else None
    except EOFError:
        return None
    finally:
        process.kill()
        process.join()


def _general_ms(general, network, prepared):
    """Return the milliseconds of the general engine's inference, its network already built."""
    return timed(general.Oracle(network.model, prepared.evidence).posteriors, 1)


def plan_times(positives=(1, 2, 4, 6, 8, 10), layouts=LAYOUTS, cases: int = 3):
    """Return milliseconds to value every check, by layout and number of positive results."""
    rows = []
    for layout in layouts:
        network = loaded.network_of((), layout)
        groups = repair_groups(network)
        for p in positives:
            spans, asked = [], []
            for i in range(cases):
                look, prepared = evidence_with(network, p, 100 * p + i)
                every = available(network, done_nodes(look.results), ())
                shares = exact.believe(network.model, prepared.evidence).responsible
                checks = screened(network, every, shares, p, ())
                asked.append(len(checks) / len(every))
                spans.append(timed(partial(make_plan, network, prepared, groups, checks, frozenset()), 1))
            rows.append(
                {
                    "layout": layout,
                    "cylinders": network.layout.cylinders,
                    "positives": p,
                    "plan_ms": round(median(spans), 1),
                    "slowest_ms": round(max(spans), 1),
                    "valued_share": round(median(asked), 2),
                }
            )
    return rows
