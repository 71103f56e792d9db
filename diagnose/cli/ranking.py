"""`rank`, `next` and `why`: a trouble from a case file or from the command line."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import partial

from diagnose import loaded
from diagnose.assessment.advice import advice
from diagnose.assessment.assess import Assessment
from diagnose.assessment.explain import accounts, why_check
from diagnose.case import log
from diagnose.case.not_used import not_used
from diagnose.case.standing import advice_due
from diagnose.cli.opened import opened
from diagnose.plan import access
from diagnose.problems import BadInput, did_you_mean
from diagnose.report import documents
from diagnose.report.text import say, wrapped, write, write_json
from diagnose.trouble.aircraft_words import said
from diagnose.trouble.network import Network
from diagnose.trouble.trouble import gains


def _assessed(args: argparse.Namespace) -> tuple[Network, Assessment]:
    overlay = tuple(args.rulebase)
    if args.case:
        if args.complaint or args.result or args.layout or args.state:
            raise BadInput("give a case file, or --layout with results, not both; add to a case with `enter` and `note --state`")
        case, network = opened(args)
        return network, loaded.assessed(network, gains(case.trouble, access.read_access(args.access)))
    if not args.layout:
        raise BadInput("give a case file, or --layout LAYOUT with --result RESULT ...")
    base = loaded.rulebase(overlay)
    layout = loaded.layout_named(base, args.layout)
    state = said(args.state, layout) if args.state else {}
    trouble = loaded.trouble_from(base, layout, args.complaint, args.result, access.read_access(args.access), state)
    network = loaded.network_of(overlay, layout.id)
    return network, loaded.assessed(network, trouble)


def _print(args: argparse.Namespace, document: Callable[[Network, Assessment], dict[str, object]], screen: str) -> int:
    network, assessment = _assessed(args)
    words = not_used(opened(args)[0].events) if args.case else ()
    if args.json:
        write_json({**document(network, assessment), **({"not_used": list(words)} if words else {})})
        return 0
    from diagnose.report import screens

    getattr(screens, screen)(screens.console(), network, assessment)
    if words:
        write(wrapped(["Not used, kept as said: " + "; ".join(f'"{word}"' for word in words)]))
    return 0


def rank(args: argparse.Namespace) -> int:
    """Print the ranking."""
    return _print(args, documents.rank_document, "show_ranking")


def next(args: argparse.Namespace) -> int:  # noqa: A001  the command's name
    """Print the next checks; with --keep what is advised is recorded in the case."""
    if args.keep:
        _keep(args)
    return _print(args, partial(documents.next_document, every=args.all), "show_next")


def _keep(args: argparse.Namespace) -> None:
    """Record the advice of now, once for each state of a case."""
    if not args.case:
        raise BadInput("--keep records in a case; name its file")
    case, network = opened(args)
    if advice_due(case.events):
        given = advice(loaded.assessed(network, gains(case.trouble, access.read_access(args.access))), network.base)
        say(f"{log.append(case.path, 'advice', args.person, given).seq}: kept what is advised now")
    else:
        say("kept already: nothing has changed since the last advice in the case")


def why(args: argparse.Namespace) -> int:
    """Print what spoke for and against a cause, or why a check is offered."""
    network, assessment = _assessed(args)
    checks = {v.located.id: i for i, v in enumerate(assessment.plan.checks)}
    if args.about in checks:
        index = checks[args.about]
        others = [v for v in assessment.plan.checks if v.located.id != args.about]
        chosen = assessment.plan.checks[index]
        text = why_check(chosen, others[0] if others else None)
        if args.json:
            write_json({"schema": "why/1", "check": args.about, "why": text})
        else:
            from diagnose.report.tells_apart import tells_apart

            write(wrapped([f"{args.about}: {text}", *tells_apart(network, assessment, chosen)]))
        return 0
    if args.about and args.about not in network.causes:
        raise BadInput(f"nothing here is called '{args.about}'; {did_you_mean(args.about, (*network.causes, *checks))}")
    causes = [args.about] if args.about else [r.id for r in assessment.finding.causes[:3]]
    found = accounts(network, assessment.trouble.looks, causes)
    if args.json:
        write_json(documents.why_document(found))
        return 0
    from diagnose.report import screens

    screens.show_accounts(screens.console(), network, found, args.all)
    return 0
