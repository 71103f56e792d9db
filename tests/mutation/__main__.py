"""`python -m tests.mutation --sample 60 --seed 1 [--links] [--json]`: how many wrong changes of the rule base the cases catch."""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter

from tests.mutation.running import Outcome, run, sample


def main() -> int:
    """Run a sample and print killed and surviving mutants; exit code 0 whatever the share, 2 on wrong usage."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("--sample", type=int, default=60, help="how many mutants (default 60)")
    parser.add_argument("--seed", type=int, default=1, help="which ones (default 1)")
    parser.add_argument("--links", action="store_true", help="links only: no strengths, no priors")
    parser.add_argument("--cases-only", action="store_true", help="leave the rule tests out")
    parser.add_argument("--json", action="store_true", help="one JSON document instead of text")
    chosen = parser.parse_args()
    start = time.perf_counter()
    outcomes = []
    for mutant in sample(chosen.sample, chosen.seed, chosen.links):
        outcomes.append(run(mutant, not chosen.cases_only))
        print(f"{len(outcomes)}: {mutant.kind}, {mutant.where}: {outcomes[-1].by or 'survives'}", file=sys.stderr)
    report = summary(outcomes, chosen.seed, time.perf_counter() - start)
    print(json.dumps(report, indent=1) if chosen.json else _text(report))
    return 0


def summary(outcomes: list[Outcome], seed: int, seconds: float) -> dict[str, object]:
    """Return what a run came to: totals by kind, the share of link mutants killed, every survivor."""
    links = [o for o in outcomes if o.mutant.link]
    total, killed = Counter(o.mutant.kind for o in outcomes), Counter(o.mutant.kind for o in outcomes if o.by)
    return {
        "schema": "mutation/1",
        "seed": seed,
        "mutants": len(outcomes),
        "killed": sum(bool(o.by) for o in outcomes),
        "link_mutants": len(links),
        "link_killed": sum(bool(o.by) for o in links),
        "by_kind": {k: {"mutants": total[k], "killed": killed[k]} for k in total},
        "killed_by_rule_tests": sum(o.by.startswith("test_") for o in outcomes),
        "survivors": [
            {"kind": o.mutant.kind, "where": o.mutant.where, "what": o.mutant.what, "judged": o.judged} for o in outcomes if not o.by
        ],
        "seconds": round(seconds, 1),
    }


def _text(report: dict[str, object]) -> str:
    lines = [
        f"{report['killed']} of {report['mutants']} mutants killed; of the link mutants {report['link_killed']} of {report['link_mutants']}"
    ]
    lines += [f"  {kind}: {n['killed']} of {n['mutants']}" for kind, n in report["by_kind"].items()]  # type: ignore[attr-defined]
    lines += [f"  survives: {s['kind']}, {s['where']}: {s['what']}" for s in report["survivors"]]  # type: ignore[attr-defined]
    return "\n".join([*lines, f"{report['seconds']} s"])


if __name__ == "__main__":
    sys.exit(main())
