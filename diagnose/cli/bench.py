"""`calc`: bench arithmetic with the layouts and limits of the rule base, and its results into a case."""

from __future__ import annotations

import argparse

from diagnose import session
from diagnose.calc.command import compute, show
from diagnose.calc.commands.options import FindLimit, no_limit
from diagnose.calc.layout import EngineLayout
from diagnose.calc.problem import CalcError
from diagnose.calc.record import Answer
from diagnose.case import log
from diagnose.case.case import Case
from diagnose.case.log import Event
from diagnose.case.readings import engine_layout, entries, read_measured, shop_limit
from diagnose.cli.opened import opened
from diagnose.problems import BadInput, did_you_mean
from diagnose.report.text import say
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
    answer = compute(args, lambda name: _layout(name, overlay), _limits(overlay, found))
    if isinstance(answer, int):
        return answer
    if found is not None:
        for event in record(found[0], found[1], answer, args):
            say(f"{event.seq}: {event.data.get('result') or event.data.get('title')}")
        if not answer.results:
            say("kept as a reading; it came to no result")
    show(args, answer)
    return 0


def _limits(overlay: tuple[str, ...], found: tuple[Case, Network] | None) -> FindLimit:
    """Return the shop's own limits; only where a rule base is read anyway, since arithmetic alone needs none."""
    if found is not None:
        return shop_limit(found[1].base)
    return shop_limit(session.rulebase(overlay)) if overlay else no_limit


def _check_case_options(args: argparse.Namespace, network: Network) -> None:
    """Fill in the layout of the case; BadInput where another one or an unknown check is named."""
    if hasattr(args, "layout"):
        if args.layout not in (None, network.layout.id):
            raise BadInput(f"--layout {args.layout} is not the case's {network.layout.id}; leave --layout out")
        args.layout = network.layout.id
    check = args.check.partition("@")[0]
    if check and check not in network.base.checks:
        raise BadInput(f"check '{args.check}' is not known; {did_you_mean(check, network.base.checks)}")


def record(case: Case, network: Network, answer: Answer, args: argparse.Namespace) -> tuple[Event, ...]:
    """Record an answer in a case: the reading and every result in one write. Returns their entries."""
    measured = read_measured({key: getattr(args, key) for key in MEASURED})
    rows = entries(answer, network.base, network.layout, args.complaint, args.check, measured)
    return log.append_all(case.path, args.person, rows)


def _layout(name: str, overlay: tuple[str, ...]) -> EngineLayout:
    try:
        layout = session.layout_named(session.rulebase(overlay), name)
    except BadInput as error:
        raise CalcError(str(error), "the layout", "see `diagnose show layouts`") from None
    return engine_layout(layout)
