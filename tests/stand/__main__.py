"""`python -m tests.stand [--troubles 2000] [--layout L] [--seed S] [--set one|two|outside] [--led] [--json]`: the tool on a simulated engine.

Ranks every trouble after its complaint and after the first ten minutes' readings; with `--led` the plan is followed to its end, the
repairs are done in its order and the complaint is looked at again (seconds to minutes a trouble). `--keep FILE` writes a line for
each trouble as it is done and goes on from there when started again. Or `--disagree [--sample N]`: how often a fault shows each of its
signs on the stand and in the network, greatest differences first. Progress goes to the standard error.
"""

from __future__ import annotations

import argparse
import json
import sys
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path

from diagnose import loaded
from diagnose.drill.exercise import Deck
from tests.stand.disagree import differences, told
from tests.stand.figures import summary
from tests.stand.ranked import led, ranked
from tests.stand.table import shown

SETS = {"one": 1, "two": 2, "outside": 0}
MOST_JOBS = 2


@cache
def deck(layout, even):
    """Return the troubles of a layout, built once in a process."""
    return Deck(loaded.network_of((), layout), even)


def one(job):
    """Return the record of one trouble."""
    layout, number, seed, faults, even, whole, without = job
    drawn = deck(layout, even)
    exercise = drawn.draw(number, seed, faults)
    return {"number": number, **(led if whole else ranked)(drawn.network, exercise, without)}


def kept(path):
    """Return number -> record of what an earlier run wrote, a half line at the end left out."""
    found = {}
    for line in path.read_text("utf-8").splitlines() if path and path.exists() else ():
        if line.endswith("}"):
            record = json.loads(line)
            found[record["number"]] = record
    return found


def run(args):
    """Return the records of all troubles asked for, in order."""
    found = kept(args.keep)
    wanted = [n for n in range(args.troubles) if n not in found]
    jobs = [(args.layout, n, args.seed, SETS[args.set], args.even, args.led, tuple(args.without)) for n in wanted]
    with ProcessPoolExecutor(min(MOST_JOBS, args.jobs)) as pool:
        for record in pool.map(one, jobs, chunksize=1):
            found[record["number"]] = record
            if args.keep:
                with args.keep.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(record) + "\n")
            if len(found) % 100 == 0:
                print(f"{len(found)} of {args.troubles}", file=sys.stderr, flush=True)
    return [found[n] for n in range(args.troubles)]


def parser():
    """Return the options."""
    made = argparse.ArgumentParser(prog="python -m tests.stand", description=__doc__)
    made.add_argument("--troubles", type=int, default=2000)
    made.add_argument("--layout", default="opposed-4")
    made.add_argument("--seed", type=int, default=1)
    made.add_argument("--set", choices=SETS, default="one", help="one fault, two, or one outside the rule base")
    made.add_argument("--even", action="store_true", help="every kind of fault alike instead of by the priors of its causes")
    made.add_argument("--led", action="store_true", help="follow the plan to its end and repair")
    made.add_argument("--without", nargs="*", default=[], metavar="SYMPTOM", help="what the mechanic says nothing about")
    made.add_argument("--jobs", type=int, default=MOST_JOBS, help="processes, two at most")
    made.add_argument("--keep", type=Path, help="file of records, one a line; started again, it goes on from there")
    made.add_argument("--disagree", action="store_true", help="compare the network's links with the stand instead")
    made.add_argument("--sample", type=int, default=40, help="engines for each fault in that comparison")
    made.add_argument("--kind", nargs="*", default=[], help="fault kinds of that comparison; all unless named")
    made.add_argument("--json", action="store_true")
    return made


def main():
    """Run the bench."""
    args = parser().parse_args()
    if args.disagree:
        rows = differences(loaded.network_of((), args.layout), args.sample, args.seed, args.kind)
        print(json.dumps(rows) if args.json else told(rows))
        return
    records = run(args)
    head = {
        "schema": "stand-bench/1",
        "layout": args.layout,
        "seed": args.seed,
        "set": args.set,
        "even": args.even,
        "led": args.led,
        "without": args.without,
    }
    found = {**head, **summary(records)}
    print(json.dumps(found) if args.json else shown(found))


if __name__ == "__main__":
    main()
