"""`python -m tests.bench [--json] [--quick] [--part PART] [--cases N]`: one JSON object on the standard output.

`policy` (minutes, checks, accuracy, needless part changes and total minutes to a fixed engine, each with the half width of
its 95 % interval, for the program and every baseline on the same drawn troubles), `ratio_to_optimum` (small problems),
`speed` (one belief beside a general-purpose engine), `growth` (valuing every check). Progress goes to the standard error.
Draws come from the shipped network itself: the figures say how well it is used, not how true it is.
"""

from __future__ import annotations

import argparse
import json
import sys
from random import Random
from statistics import fmean

from diagnose import loaded
from tests.bench.draws import NOTICED
from tests.bench.policies import POLICIES
from tests.bench.simulate import compare, summary
from tests.bench.small import random_problem, ratios
from tests.bench.speed import belief_times, plan_times

PARTS = ("policy", "ratio_to_optimum", "speed", "growth")
FULL = {("opposed-4", 1): 60, ("opposed-4", 2): 40, ("opposed-6", 1): 30, ("opposed-6", 2): 20, ("radial-18", 1): 10, ("radial-18", 2): 6}
QUICK = {("opposed-4", 1): 2}
SHAPES = {(4, 4): 100, (5, 5): 40, (6, 6): 20, (8, 8): 2}
QUICK_SHAPES = {(4, 4): 40}


def say(text: str) -> None:
    """Print progress."""
    print(text, file=sys.stderr, flush=True)


def policy(cases, cap, names):
    """Return layout -> number of faults -> policy -> figures."""
    found: dict[str, dict[str, object]] = {}
    for (layout, faults), count in cases.items():
        say(f"policy: {layout}, {faults} fault(s), {count} troubles")
        runs = compare(loaded.network_of((), layout), faults, count, cap, names)
        figures = {name: summary(rows) for name, rows in runs.items()}
        found.setdefault(layout, {})[str(faults)] = {"troubles": count, "most_checks": cap, **figures}
    return found


def optimum(shapes):
    """Return expected minutes over the cheapest plan: the program, then the baselines."""
    problems = []
    for (faults, tests), count in shapes.items():
        say(f"ratio to optimum: {count} problems of {faults} faults and {tests} checks")
        problems += [random_problem(Random(1000 * faults + i), faults, tests) for i in range(count)]
    rows = ratios(problems)
    figures = {name: {"mean": round(fmean(r), 4), "worst": round(max(r), 4)} for name, r in rows.items()}
    ours = figures.pop("ours")
    shapes_text = {f"{f}x{t}": n for (f, t), n in shapes.items()}
    return {**ours, "problems": len(problems), "shapes": shapes_text, "baselines": figures}


def main() -> None:
    """Run the bench."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--json", action="store_true", help="the JSON object on one line (the default is indented)")
    parser.add_argument("--quick", action="store_true", help="a small run, under two minutes")
    parser.add_argument("--part", choices=PARTS, action="append", help="only this part (may be given more than once)")
    parser.add_argument("--cases", type=int, help="troubles for each layout and number of faults")
    parser.add_argument("--layout", action="append", help="only this layout")
    parser.add_argument("--policy", action="append", choices=sorted(POLICIES), help="only this policy")
    parser.add_argument("--cap", type=int, default=25, help="most checks in one trouble")
    args = parser.parse_args()
    parts = args.part or PARTS
    cases = {k: args.cases or n for k, n in (QUICK if args.quick else FULL).items() if not args.layout or k[0] in args.layout}
    layouts = tuple(args.layout or (("opposed-4",) if args.quick else ("opposed-4", "opposed-6", "radial-18")))
    found: dict[str, object] = {"schema": "bench/1", "quick": args.quick, "noticed_first": list(NOTICED)}
    if "policy" in parts:
        found["policy"] = policy(cases, min(args.cap, 5) if args.quick else args.cap, tuple(args.policy or POLICIES))
    if "ratio_to_optimum" in parts:
        found["ratio_to_optimum"] = optimum(QUICK_SHAPES if args.quick else SHAPES)
    if "speed" in parts:
        say("speed: one belief")
        found["speed"] = belief_times(range(1, 4 if args.quick else 9), layouts, 1 if args.quick else 3)
    if "growth" in parts:
        say("growth: valuing every check")
        found["growth"] = plan_times((1, 2, 4) if args.quick else (1, 2, 4, 6, 8, 10), layouts, 1 if args.quick else 3)
    print(json.dumps(found, indent=None if args.json else 1))


if __name__ == "__main__":
    main()
