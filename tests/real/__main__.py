"""`python -m tests.real`: real accounts, made-up troubles and differentials put to the program, and scored.

Prints totals and misses; README.md of this folder defines every figure. Progress goes to the standard error.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from diagnose import loaded
from diagnose.problems import BadInput, did_you_mean
from diagnose.rulebase.records import RuleBase
from tests.real import asking, printing, reading, runs
from tests.real.records import Bet, Entry


def main(given: list[str] | None = None) -> int:
    """Run the bench; 0 when it ran, 2 with one line when something given cannot be used."""
    parser = argparse.ArgumentParser(prog="python -m tests.real", description=__doc__)
    parser.add_argument("--json", action="store_true", help="one JSON object on one line")
    parser.add_argument("--part", choices=runs.PARTS, action="append", help="only this part (may be given more than once)")
    parser.add_argument("--account", metavar="ID", help="one entry in full: results, belief, why")
    parser.add_argument("--before", metavar="FILE", type=Path, help="an earlier run (--json): print what differs")
    parser.add_argument("--observations", action="store_true", help="the accounts as told, for entering them anew")
    parser.add_argument("--steps", action="store_true", help="compare the next step of the differentials too (three times as slow)")
    args = parser.parse_args(given)
    try:
        for line in _lines(args):
            print(line)
    except BadInput as error:
        print(error, file=sys.stderr)
        return 2
    return 0


def _lines(args: argparse.Namespace) -> Iterator[str]:
    base = loaded.rulebase()
    before = _earlier(args.before) if args.before else None
    if args.observations:
        for account in reading.read_accounts(base).values():
            yield from printing.observations(account)
        return
    if args.account:
        yield from _one(base, args.account, args.json)
        return
    run = runs.run(base, args.part or runs.PARTS, args.steps)
    if before is not None:
        yield from list(printing.changes(before, run)) or ["Nothing differs."]
    elif args.json:
        yield json.dumps(run)
    else:
        yield from printing.whole(run)


def _earlier(path: Path) -> dict[str, Any]:
    try:
        run = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise BadInput(f"{path} cannot be read as an earlier run: {error}; write one with --json") from error
    if not isinstance(run, dict) or run.get("schema") != "real/1":
        raise BadInput(f"{path} is no run of this bench; write one with --json")
    return run


def _one(base: RuleBase, name: str, as_json: bool) -> Iterator[str]:
    """Yield one entry of any part in full."""
    entry, accepted, notes = _found(base, name)
    told = runs.kept(asking.ask(entry, accepted, causes=10))
    why = asking.why(entry)
    if as_json:
        lines = {"layout": entry.layout, "complaint": entry.complaint, "results": entry.results}
        yield json.dumps({"id": name, **lines, **told, "why": why, **notes})
    else:
        yield from printing.in_full(entry, notes, told, why)


def _found(base: RuleBase, name: str) -> tuple[Entry, tuple[str, ...], dict[str, str]]:
    """Return an entry by id, its accepted families and what is noted of it; one set aside is refused."""
    accounts, troubles, presented = reading.read_accounts(base), reading.read_made_up(base), reading.read_presentations(base)
    if name in accounts:
        answer = reading.read_answers(base)[name]
        notes = {"told": accounts[name].told, "accepted": " ".join((*answer.families, *answer.causes)), "bet": _bet(answer.bet)}
        return accounts[name].entry, answer.families, {**notes, "turned out": answer.turned_out, "standing": answer.standing}
    if name in troubles:
        expected = reading.read_expected(base)[name]
        suspects = (*expected.suspects, *expected.as_good)
        return troubles[name], suspects, {"suspects": " ".join(suspects), "next": " ".join((*expected.next, *expected.next_as_good))}
    if name in presented:
        one = presented[name]
        if one.aside:
            raise BadInput(f"'{name}' is set aside for measuring; only totals of those are shown")
        return one.entry, tuple(one.bet.families) if one.bet else (), {"bet": _bet(one.bet) if one.bet else "nobody has bet yet"}
    raise BadInput(f"no entry is called '{name}'; {did_you_mean(name, (*accounts, *troubles, *presented))}")


def _bet(bet: Bet) -> str:
    return ", ".join(f"{f} {p:.2f}" for f, p in bet.families.items()) + f"; next: {bet.next}"


if __name__ == "__main__":
    sys.exit(main())
