"""`tell`: plain language to results, shown, asked about where unsure, and entered only once confirmed."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Mapping, Sequence

from diagnose import loaded
from diagnose.case import log
from diagnose.cli.followed import as_taken, kept_texts
from diagnose.cli.opened import opened
from diagnose.cli.prompt import Leave
from diagnose.cli.telling import confirmed, label, rows
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.text import clean, folded, say, write
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.network import Network
from diagnose.trouble.results import default_complaint, read_results
from diagnose.words.heard import Reading
from diagnose.words.reading import read_words

SCHEMA = "tell/1"


def tell(args: argparse.Namespace) -> int:
    """Read what was said: with --layout only show it, with a case enter what is confirmed."""
    if args.layout:
        return _show_only(args)
    if args.json:
        raise BadInput("--json reads words without a case; give --layout")
    if not args.text:
        raise BadInput('tell needs a case and words in quotes, or --layout and words: tell rough.case "left mag drops 250"')
    case, network = opened(args)
    reading = read_words(args.text, network.base, case.layout)
    try:
        chosen = _chosen(args, network, reading)
    except Leave:
        say("left; nothing was entered")
        return 0
    if chosen is None:
        say("nothing was entered; --yes enters what was understood")
        return 0
    chosen, says = kept_texts(as_taken(read_results(chosen, network.base, network.layout), "", case.trouble.looks, network))
    for event in log.append_all(case.path, args.person, entries(network.base, network, chosen, args.text, reading.left, args.complaint)):
        say(f"{event.seq}: {event.data.get('result') or 'words kept'}")
    for text in says:
        say(text)
    return 0


def _show_only(args: argparse.Namespace) -> int:
    base = loaded.rulebase(tuple(args.rulebase))
    reading = read_words(f"{args.case} {args.text}".strip(), base, loaded.layout_named(base, args.layout))
    if args.json:
        write(json.dumps(document(reading), indent=1, ensure_ascii=False))
    else:
        _print(loaded.network_of(tuple(args.rulebase), args.layout), reading)
    return 0


def document(reading: Reading) -> dict[str, object]:
    """Return a reading for other programs: results in the contract's spelling."""
    return {
        "schema": SCHEMA,
        "understood": [heard.result for heard in reading.understood],
        "unsure": [{"words": question.words, "choices": list(question.choices)} for question in reading.unsure],
        "left": list(reading.left),
    }


def _print(network: Network, reading: Reading) -> None:
    for results, words in rows(reading):
        _paragraph(f'{label(network, results)} - "{words}"')
        _paragraph(" ".join(results), "    ")
    for question in reading.unsure:
        _paragraph(f'unsure: "{question.words}" - one of:')
        for result in question.choices:
            _paragraph(f"{screens.result_words(network, result)}: {result}", "    ")
    for words in reading.left:
        _paragraph(f'not understood: "{words}"')


def _paragraph(text: str, first: str = "") -> None:
    write("\n".join(folded(clean(text), first=first, under="    ")))


def _chosen(args: argparse.Namespace, network: Network, reading: Reading) -> list[str] | None:
    """Return the results to enter; None where nobody can be asked and --yes was not given."""
    if args.yes:
        _print(network, reading)
        return [heard.result for heard in reading.understood]
    if sys.stdin.isatty() or os.environ.get("DIAGNOSE_ASK"):
        return confirmed(screens.console(), network, reading)
    _print(network, reading)
    return None


def entries(
    base: RuleBase, network: Network, chosen: Sequence[str], text: str, left: Sequence[str], complaint: bool, check: str = ""
) -> list[tuple[str, Mapping[str, object]]]:
    """Return the entries of a saying: its words as said, what of them was not understood, and the results confirmed."""
    found = read_results(chosen, base, network.layout)
    named = set(map(str, default_complaint(found, base))) if complaint else set()
    said = {"words": text, **({"left": list(left)} if left else {}), **({"complaint": True} if complaint else {})}
    rows_: list[tuple[str, Mapping[str, object]]] = [("note", said)]
    return rows_ + [("result", {"result": str(r), "complaint": str(r) in named, "check": check}) for r in found]
