"""`calc`: bench arithmetic with the layouts and limits of the rule base, and its results into a case."""

from __future__ import annotations

import argparse

from diagnose import loaded
from diagnose.calc.answer import Answer, as_json, named
from diagnose.case import log
from diagnose.case.case import Case
from diagnose.case.log import Event
from diagnose.case.open_steps import refit_item
from diagnose.case.readings import entries, read_measured, results_of
from diagnose.cli.calculations import ALL
from diagnose.cli.calculations.known import Known
from diagnose.cli.done import beside, check_at, held_against, keep_run_against, say_expired
from diagnose.cli.opened import opened
from diagnose.problems import BadInput, BrokenRuleBase
from diagnose.report.calculation import as_text
from diagnose.report.text import say, size, write, write_json
from diagnose.trouble.network import Network

MEASURED = ("conditions", "procedure", "tool", "calibration")


def calc(args: argparse.Namespace) -> int:
    """Run one calculation; with --into, record its readings and results, all or nothing."""
    overlay = tuple(args.rulebase)
    found = opened(args, args.into) if args.into else None
    if found is not None:
        _check_case_options(args, found[1])
    elif args.complaint or args.check:
        raise BadInput("--complaint and --check belong to a case; name it with --into CASE")
    answer = compute(args, Known(lambda: found[1].base if found else loaded.rulebase(overlay)))
    if found is not None:
        for event in record(found[0], found[1], answer, args):
            say(f"{event.seq}: {event.data.get('result') or event.data.get('title') or 'open item - ' + str(event.data.get('note'))}")
        if not answer.results:
            say("kept as a reading; it came to no result")
    show(args, answer)
    return 0


def compute(args: argparse.Namespace, known: Known) -> Answer:
    """Return the answer to `args`, its results in the symptoms of the rule base. Raises BadInput."""
    name = args.calc_command
    try:
        return named(ALL[name].answer(args, known), known.holders)
    except BadInput as error:
        if isinstance(error, BrokenRuleBase):
            raise
        raise BadInput(f"calc {name}: {error}") from error


def show(args: argparse.Namespace, answer: Answer) -> None:
    """Print an answer as text, or as JSON where asked for."""
    if args.json:
        write_json(as_json(answer))
    else:
        write(as_text(answer, size()[0]).rstrip("\n"))


def _check_case_options(args: argparse.Namespace, network: Network) -> None:
    """Fill in the layout of the case and the place of the check; BadInput where another one or an unknown check is named."""
    if hasattr(args, "layout"):
        if args.layout not in (None, network.layout.id):
            raise BadInput(f"--layout {args.layout} is not the case's {network.layout.id}; leave --layout out")
        args.layout = network.layout.id
    args.check = check_at(args.check, network)


def record(case: Case, network: Network, answer: Answer, args: argparse.Namespace, mixed: bool = False) -> tuple[Event, ...]:
    """Record an answer in a case: the reading and every result in one write. Returns their entries.

    `mixed`: what the check named does not give was measured beside it, and is kept with a check that does; else it is refused. Raises
    BadInput.
    """
    measured = read_measured({key: getattr(args, key) for key in MEASURED})
    found = results_of(answer, network.base, network.layout)
    if not mixed:
        held_against(args.check, found, network, whole=True)
    rows = entries(answer, network.base, network.layout, args.complaint, args.check, measured)
    if mixed:
        came_of = {str(result): beside(args.check, result, network) for result in found}
        rows = [(kind, {**data, "check": came_of[data["result"]]} if kind == "result" else data) for kind, data in rows]
    item = refit_item(network.base, case.events, args.check)
    made = log.append_all(case.path, args.person, [*rows, *([("note", item)] if item is not None else [])])
    say_expired(made)
    keep_run_against(case, network, made, args.person)
    return made
