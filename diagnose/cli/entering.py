"""`open`, `enter`, `exchange`, `remedy`, `correct`, `verify`: a case file without questions."""

from __future__ import annotations

import argparse
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path

from diagnose import loaded
from diagnose.assessment.assess import Assessment, repair_warning
from diagnose.assessment.steps import next_step
from diagnose.case import log
from diagnose.case.case import Case, open_case, read_repair, trouble_after
from diagnose.case.kinds import MEASURED
from diagnose.case.log import Event
from diagnose.case.open_steps import refit_item
from diagnose.case.readings import read_measured
from diagnose.case.standing import as_it_stands, open_items, withdrawn
from diagnose.cli.done import check_at, check_moved, held_against, keep_run_against, say_expired
from diagnose.cli.followed import as_taken
from diagnose.cli.opened import opened
from diagnose.problems import BadInput, did_you_mean
from diagnose.report import screens
from diagnose.report.text import say, write, write_json
from diagnose.review.shelf import earlier_cases
from diagnose.trouble.aircraft_words import kept, left_as, said
from diagnose.trouble.exchanges import read_exchange
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network
from diagnose.trouble.results import as_complaint, read_result, read_results

REPAIR_TOLD = ("note", "found", "left", "off", "on", "procedure")
CORRECTED = ("result", "reading", "repair", "exchange", "decline", "note", "unit", "state")


def open_(args: argparse.Namespace) -> int:
    """Start a case file."""
    base = loaded.rulebase(tuple(args.rulebase))
    layout = loaded.layout_named(base, args.layout)
    data = {"nickname": args.nickname, "words": args.words, "told_by": args.told_by}
    kept = {key: value for key, value in data.items() if value or key in ("nickname", "words")}
    units = [("unit", {"unit": name, "text": text}) for name, text in _pairs("unit", args.unit).items()]
    open_case(Path(args.case), base, layout, args.person, kept, units)
    say(f"opened {args.case} ({layout.label}); go on with: diagnose chase {args.case}")
    for told in earlier_cases(Path(args.case).parent, args.nickname, base, but=Path(args.case)):
        say(f"repaired before on this aircraft: {told}")
    return 0


def enter(args: argparse.Namespace) -> int:
    """Record results and what their check leaves to be made good, all or nothing."""
    case, network = opened(args)
    found = read_results(args.results, network.base, network.layout)
    done = check_at(args.check, network)
    taken = as_taken(found, done, case.trouble.looks, network)
    held_against(done, [t.result for t in taken if not t.known], network)
    found = tuple(t.result for t in taken)
    if args.complaint:
        as_complaint(found)
    extra = read_measured({"note": args.note, **{key: getattr(args, key) for key in MEASURED}})
    told = {"complaint": False, "check": done, **extra}
    rows: list[tuple[str, Mapping[str, object]]] = [
        ("result", {"result": str(result), **told, "complaint": bool(args.complaint) and not result.course}) for result in found
    ]
    item = refit_item(network.base, case.events, done) if any(r.grade != "cannot" for r in found) else None
    made = log.append_all(case.path, args.person, [*rows, *([("note", item)] if item is not None else [])])
    for event in made:
        say(f"{event.seq}: {event.data['result'] if event.kind == 'result' else 'open item - ' + str(event.data['note'])}")
    for one in taken:
        if one.says:
            say(one.says)
    say_expired(made)
    keep_run_against(case, network, made, args.person)
    return 0


def remedy(args: argparse.Namespace) -> int:
    """Record a remedy."""
    case, network = opened(args)
    repair = read_repair(args.remedy, network.base, network.layout)
    told = {key: value for key in REPAIR_TOLD if (value := getattr(args, key))}
    event = log.append(case.path, "repair", args.person, {"remedy": str(repair), "reason": args.reason, **told})
    say(f"{event.seq}: {repair}")
    # Worked out once the repair is on disk: ranking takes a while, and a kill must not lose what was done.
    warning = repair_warning(network, repair, loaded.assessed(network, case.trouble))
    if warning:
        log.append(case.path, "warning", args.person, {"about": event.seq, "warning": warning})
        say(f"note: {warning}")
    say(after_repair(network, loaded.assessed(network, loaded.case_at(args.case, tuple(args.rulebase))[0].trouble)))
    return 0


def after_repair(network: Network, assessment: Assessment) -> str:
    """Return what comes after a repair: the run under the conditions of the complaint, once what bars it is made good."""
    step = next_step(network, assessment)
    again = "repeat the run under the conditions of the complaint and enter what you see"
    if step is not None and step.make_good is not None:
        told = f"first: {step.make_good.label}; when done: {screens.how_recorded(step.make_good, network.base)}"
        return told if assessment.bars.powered else f"{told}; then {again}"
    return "no run as things stand; see `diagnose next`" if assessment.bars.powered else f"now {again}"


def exchange(args: argparse.Namespace) -> int:
    """Record two parts that changed places."""
    case, network = opened(args)
    done = read_exchange(args.exchange, network.base, network.layout)
    part = network.base.checks[done.check].part
    event = log.append(case.path, "exchange", args.person, {"exchange": str(done), **({"note": args.note} if args.note else {})})
    say(f"{event.seq}: {part}s of {done.first} and {done.second} exchanged; enter what you see from here on for where they stand now")
    follows = f"{network.base.checks[done.check].moves}@{done.first}=yes (or no) --check {done.check}@{done.first}"
    say(f"whether the fault followed the {part} of {done.first}: diagnose enter CASE {follows}")
    return 0


def note(args: argparse.Namespace) -> int:
    """Record a remark, an open item or its end, units on the aircraft, or its state now; all or nothing."""
    case, network = opened(args)
    events = case.events
    rows: list[tuple[str, dict[str, object]]] = [("unit", {"unit": k, "text": v}) for k, v in _pairs("unit", args.unit).items()]
    if args.state:
        rows.append(("state", {"state": kept(said(args.state, network.layout))}))
    if args.same_person:
        rows.append(("note", {"same_person": _names(args.same_person, events)}))
    if args.closes is not None and args.closes not in open_items(events):
        raise BadInput(f"entry {args.closes} is no open item; open are: {', '.join(map(str, open_items(events))) or 'none'}")
    if args.open and not args.text.strip():
        raise BadInput("an open item needs its text; say what is still to be done")
    if args.text or args.closes is not None:
        extra = {"open": True} if args.open else {}
        rows.append(("note", {"note": args.text, **extra, **({"closes": args.closes} if args.closes is not None else {})}))
    if not rows:
        raise BadInput("nothing to record; give a text, --state, --unit, --same-person or --closes")
    for event in log.append_all(Path(args.case), args.person, rows):
        say(f"{event.seq}: {event.kind}")
    return 0


def _names(text: str, events: Sequence[Event]) -> list[str]:
    """Return the names of `A=B`; BadInput for one under which nothing was recorded."""
    names = [name.strip() for name in text.split("=")]
    known = {event.person for event in events}
    for name in names:
        if name not in known:
            raise BadInput(f"--same-person '{text}': nothing is recorded by '{name}'; {did_you_mean(name, sorted(known))}")
    if len(set(names)) < 2:
        raise BadInput(f"--same-person '{text}' names one; write it as NAME=OTHER NAME")
    return names


def _pairs(what: str, given: Sequence[str]) -> dict[str, str]:
    """Return NAME=TEXT options as a map; BadInput for one without either."""
    found = {}
    for item in given:
        name, equals, text = item.partition("=")
        if not (name.strip() and equals and text.strip()):
            raise BadInput(f"--{what} '{item}' cannot be read; write it as NAME=TEXT")
        found[name.strip()] = text.strip()
    return found


def correct(args: argparse.Namespace) -> int:
    """Correct or withdraw an earlier entry; the original stays in the file."""
    case, network = opened(args)
    target = next((e for e in case.events if e.seq == args.seq), None)
    if target is None or target.kind not in CORRECTED:
        raise BadInput(f"entry {args.seq} cannot be corrected; `diagnose log {args.case}` lists the entries")
    if not args.reason.strip():
        raise BadInput("a correction needs its reason; say in --reason what was wrong")
    change: dict[str, object] = {"corrects": args.seq, "reason": args.reason}
    if args.result:
        if target.kind != "result":
            raise BadInput(f"entry {args.seq} is no result; leave --result out to withdraw it")
        before = trouble_after(case.events[: case.events.index(target)], network.base, network.layout).looks
        change |= _corrected(as_it_stands(target, case.corrected) or target, args.result, network, before)
    else:
        change["withdrawn"] = True
    # A reading withdrawn takes its results along: they came from its numbers.
    also = [e.seq for e in case.events if target.kind == "reading" and e.data.get("from") == args.seq]
    rows = [("correct", change), *(("correct", {**change, "corrects": seq}) for seq in also)]
    event = log.append_all(case.path, args.person, rows)[0]
    say(
        f"{event.seq}: entry {args.seq} {'now reads ' + str(change['result']) if args.result else 'withdrawn'}; the original stays readable"
    )
    if "check" in change:
        say(f"its check goes along: {change['check']}")
    for told in _still_off(loaded.case_at(args.case, tuple(args.rulebase))[0], (args.seq, *also)):
        say(told)
    return 0


def _still_off(case: Case, entries: Collection[int]) -> Iterator[str]:
    """Yield what stays recorded as off or out though the results it was taken off for are withdrawn, and how to say that it is back."""
    gone = [e for e in case.events if e.seq in entries and e.data.get("check") and withdrawn(e, case.corrected)]
    for thing, fact in case.trouble.aircraft.facts.items():
        back = next(iter(left_as(thing)), "")
        if back and fact.now not in left_as(thing) and any(fact.step.startswith(str(e.data["check"])) for e in gone):
            how = f'`diagnose note CASE --state "{thing}={back}"`'
            yield f"{thing} stays recorded as {fact.now} (entry {fact.stamp.entry}); if it is {back}: {how}"


def _corrected(stands: Event, result: str, network: Network, looks: Sequence[LookResults]) -> dict[str, object]:
    """Return what a correction puts in place of a result: the result, and its check where that was at the wrong place too.

    `looks`: those before the entry; the result of an exchange is read as it would have been then.
    """
    taken = as_taken(read_result(result, network.base, network.layout), str(stands.data.get("check") or ""), looks, network)
    if any(t.known for t in taken):
        return {"result": str(taken[0].result)}
    now = [t.result for t in taken]
    try:
        was = read_result(str(stands.data["result"]), network.base, network.layout)
    except BadInput:  # a result this rule base no longer knows
        return {"result": result}
    moved = check_moved(str(stands.data.get("check") or ""), was[0].place, now[0].place, network)
    return {"result": result, **({"check": moved} if moved else {})}


def verify(args: argparse.Namespace) -> int:
    """Check the chain of a case file."""
    problems, head = log.verify(Path(args.case), args.head)
    if args.json:
        write_json({"schema": "verify/1", "head": head, "problems": [p.as_json() for p in problems]})
    else:
        for problem in problems:
            write(str(problem))
        write(f"head {head}")
        say("no break inside" if not problems else f"{len(problems)} problem{'s' if len(problems) > 1 else ''}")
        say("a cut tail or a chain rebuilt as a whole shows only if this head differs from the one printed before")
    return 1 if problems else 0
