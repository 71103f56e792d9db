"""The command line: every command and option, nothing that costs to import."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING

from diagnose import __version__
from diagnose.cli.command_line import Parser

SHELLS = ("bash", "zsh", "tcsh")  # for which the library writes scripts


def _late(module: str, function: str) -> Callable[[argparse.Namespace], int]:
    """Return a caller that imports its module only when the command runs."""

    def call(args: argparse.Namespace) -> int:
        result: int = getattr(import_module(f"diagnose.cli.{module}"), function)(args)
        return result

    return call


class _Version(argparse.Action):
    """Prints program, format and rule-base versions."""

    def __init__(self, option_strings: list[str], dest: str) -> None:
        super().__init__(option_strings, dest, nargs=0, help="print versions and stop")

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from diagnose.rulebase.locate import shipped_version

        print(f"diagnose {__version__} (rule base {shipped_version()}, rule-base format 1)")
        parser.exit(0)


def make_parser(first: str = "") -> Parser:
    """Return the parser of the whole command line; `first` is its first word, which decides what is worth importing."""
    parser = Parser(
        prog="diagnose",
        description="Find what is probably wrong with a piston-aircraft ignition system, what to check next and why.",
    )
    parser.add_argument("--version", action=_Version)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    _demo(commands)
    _case_commands(commands)
    _record_commands(commands)
    _reading_commands(commands)
    _library_commands(commands)
    _drill(commands)
    _knowledge_commands(commands)
    _completion(commands)
    _calc(commands, first == "calc")
    return parser


if TYPE_CHECKING:
    _Commands = argparse._SubParsersAction[Parser]


def _add(commands: _Commands, name: str, text: str, module: str, function: str) -> argparse.ArgumentParser:
    sub: argparse.ArgumentParser = commands.add_parser(name, help=text, description=text)
    sub.set_defaults(call=_late(module, function))
    sub.add_argument("--rulebase", action="append", default=[], metavar="DIR", help="folder laid over the shipped rule base (may repeat)")
    return sub


def _json(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--json", action="store_true", help="one JSON document on stdout")


def _person(sub: argparse._ActionsContainer) -> None:
    sub.add_argument("--person", default="", help="who does this (kept in the record)")
    text = "go on with a case whose file was changed outside this program; kept in the record"
    sub.add_argument("--accept-broken", action="store_true", help=text)


def _demo(commands: _Commands) -> None:
    sub = _add(commands, "demo", "an invented trouble, from squawk to confirmed", "demo", "demo")
    sub.add_argument("--save", metavar="CASE", help="also write the demo's case file here (must not exist)")


def _drill(commands: _Commands) -> None:
    sub = _add(commands, "drill", "learn fault isolation on a simulated engine that behaves", "drills.command", "drill")
    sub.add_argument(
        "exercise", nargs="?", default="", metavar="EXERCISE", help="a shipped exercise or a .yaml file; left out: one is drawn"
    )
    sub.add_argument("--level", default="", help="1 to 9, or plug, lead, magneto, timing, starting, look-alike, conditions, two, unknown")
    sub.add_argument("--family", default="", help="only faults of this family of causes")
    sub.add_argument("--seed", type=int, default=1, metavar="N", help="the same number gives the same exercise (default: 1)")
    sub.add_argument("--layout", default="", help="engine layout (default: opposed-4)")
    sub.add_argument("--file", default="", metavar="FILE", help="where the drill is kept; where it is there already, it goes on")
    sub.add_argument("--person", default="", help="who is the trainee (kept in the file)")
    sub.add_argument("--list", action="store_true", help="the levels and the shipped exercises")
    _json(sub)
    sub.add_argument("--solve", action="store_true", help="as JSON, with its answer and the tool's own way")
    sub.add_argument("--sheet", action="store_true", help="the sheet of the exercise, to be handed out")
    sub.add_argument("--debrief", action="store_true", help="the debrief of a drill that ended, as a paper")
    sub.add_argument("--format", choices=("text", "html", "markdown", "json"), default="text", help="of sheet and debrief (default: text)")
    sub.add_argument("--out", default="", metavar="FILE", help="write sheet, debrief or exercise file here (must not exist)")
    _progress(sub)
    _make(sub)


def _progress(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--progress", default="", metavar="FILE", help="the trainee's progress: a drill that ends is added to it")
    sub.add_argument("--next", action="store_true", help="the exercise that the progress asks for")
    sub.add_argument("--table", action="store_true", help="the progress as a table, with what needs work")
    sub.add_argument("--csv", action="store_true", help="progress or class as CSV")
    sub.add_argument(
        "--class", nargs="+", default=[], dest="class_", metavar="FILE", help="a row for each trainee of several progress files"
    )


def _make(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--make", action="store_true", help="make an exercise file from --fault and --story, and hold it against itself")
    sub.add_argument("--from-case", default="", metavar="CASE", help="make one from a closed case")
    sub.add_argument("--fault", action="append", default=[], metavar="KIND@PLACE", help="plug.lead@3-bottom,amount=.9 (may repeat)")
    sub.add_argument("--story", default="", help="the squawk in the owner's words")
    sub.add_argument("--id", default="", help="name of the exercise: small letters, digits, hyphens")
    sub.add_argument("--title", default="")
    sub.add_argument("--teaches", default="", help="what is to be seen in the debrief")
    sub.add_argument("--minutes", type=int, default=0, help="the most it may take")
    sub.add_argument(
        "--complaint", action="append", default=[], metavar="RESULT", help="what is complained of (default: what a pilot notices)"
    )
    sub.add_argument("--weather", default="", metavar="NAME=VALUE,...", help="celsius, altitude_ft, wet (0 to 1)")


def _case_commands(commands: _Commands) -> None:
    sub = _add(commands, "open", "start a case file", "entering", "open_")
    sub.add_argument("case", metavar="CASE", help="path of the new case file")
    sub.add_argument("--layout", required=True, help="engine layout (see `diagnose show layouts`)")
    sub.add_argument("--nickname", default="", help="what this aircraft is called on the ramp")
    sub.add_argument("--complaint", default="", dest="words", help="the complaint in the reporter's own words")
    sub.add_argument("--told-by", default="", help="who reported it, and when")
    sub.add_argument(
        "--unit",
        action="append",
        default=[],
        metavar="NAME=TEXT",
        help="what is on the aircraft: engine, left magneto, ... = part number, serial, times (may repeat)",
    )
    _person(sub)
    sub = _add(commands, "chase", "be led from question to question until a finding", "chase", "chase")
    sub.add_argument("case", metavar="CASE")
    sub.add_argument("--all-questions", action="store_true", help="ask every question about the past, not only the few that tell most")
    _person(sub)
    sub = _add(commands, "enter", "record results", "entering", "enter")
    sub.add_argument("case", metavar="CASE")
    sub.add_argument("results", nargs="+", metavar="RESULT", help="SYMPTOM[.REGIME]@PLACE=GRADE")
    sub.add_argument("--complaint", action="store_true", help="these results are what was complained of")
    sub.add_argument("--check", default="", help="the check that gave them (CHECK@PLACE)")
    sub.add_argument("--note", default="")
    sub.add_argument("--reading", default="", help="the raw reading with its unit, as read")
    sub.add_argument("--limit", default="", help="the limit it was held against, with its unit")
    sub.add_argument("--limit-document", default="", help="document and revision of that limit")
    _measured(sub)
    _person(sub)
    sub = _add(commands, "tell", "read plain language: shown, asked about, and entered once confirmed", "tell", "tell")
    sub.add_argument("case", metavar="CASE", help="a case file; with --layout left out, and the words stand here")
    sub.add_argument("text", nargs="?", default="", metavar="WORDS", help='what was said, in quotes: "left mag drops 250 and shakes"')
    sub.add_argument("--layout", default="", help="read the words for this layout, without a case; nothing is kept")
    _json(sub)
    sub.add_argument("--complaint", action="store_true", help="it is what was complained of")
    sub.add_argument("--yes", action="store_true", help="enter what was understood without asking; what is unsure is not entered")
    _person(sub)
    _shop(commands)
    told = "record two parts that changed places; what follows is about where they stand now"
    sub = _add(commands, "exchange", told, "entering", "exchange")
    sub.add_argument("case", metavar="CASE")
    sub.add_argument("exchange", metavar="CHECK@PLACE,PLACE", help="the check that exchanges the part, and the two places")
    sub.add_argument("--note", default="")
    _person(sub)
    sub = _add(commands, "remedy", "record a remedy done; the complaint is then looked at again", "entering", "remedy")
    sub.add_argument("case", metavar="CASE")
    sub.add_argument("remedy", metavar="REMEDY@PLACE")
    sub.add_argument("--reason", default="", help="why, where the tool warned against it")
    sub.add_argument("--note", default="")
    sub.add_argument("--found", default="", help="as found")
    sub.add_argument("--left", default="", help="as left")
    sub.add_argument("--off", action="append", default=[], metavar="TEXT", help="part off: number, serial, condition, where it is now")
    sub.add_argument("--on", action="append", default=[], metavar="TEXT", help="part on: number, serial, its paper")
    sub.add_argument("--procedure", default="", help="document, section and revision the work was done by")
    _person(sub)
    sub = _add(commands, "note", "record a remark, an open item, what is on the aircraft, or how it stands now", "entering", "note")
    sub.add_argument("case", metavar="CASE")
    sub.add_argument("text", nargs="?", default="", help="the remark")
    sub.add_argument("--open", action="store_true", help="it is an open item")
    sub.add_argument("--closes", type=int, metavar="SEQ", help="it closes the open item of this number")
    _state(sub)
    sub.add_argument("--same-person", default="", metavar="A=B", help="two names in this case are one person: papers name them together")
    sub.add_argument(
        "--unit",
        action="append",
        default=[],
        metavar="NAME=TEXT",
        help="what is on the aircraft, such as 'left magneto=serial 12, 480 h' (may repeat)",
    )
    _person(sub)
    sub = _add(commands, "correct", "correct or withdraw an earlier entry; both stay in the record", "entering", "correct")
    sub.add_argument("case", metavar="CASE")
    sub.add_argument("seq", type=int, help="number of the entry")
    sub.add_argument("--result", default="", help="the right result; leave out to withdraw the entry")
    sub.add_argument("--reason", required=True)
    _person(sub)
    sub = _add(commands, "verify", "check that a case file is whole and unedited", "entering", "verify")
    sub.add_argument("case", metavar="CASE")
    sub.add_argument("--head", default="", metavar="HASH", help="the head hash printed on a paper, or its first 12 digits")
    _json(sub)
    sub = _add(commands, "log", "print the entries of a case", "reading_log", "print_log")
    sub.add_argument("case", metavar="CASE")


def _shop(commands: _Commands) -> None:
    sub = _add(
        commands, "shop", "plugs, leads, compressions, clearances of an engine in one sheet, judged, into the case at once", "shop", "shop"
    )
    sub.add_argument("case", nargs="?", default="", metavar="CASE", help="a case file; on a terminal its sheet is asked for place by place")
    sub.add_argument("--layout", default="", help="judge a sheet for this engine layout, without a case; nothing is kept")
    sub.add_argument("--csv", default="", metavar="FILE", help="the sheet as a CSV file; where a cell cannot be used, nothing is stored")
    sub.add_argument("--blank", action="store_true", help="print an empty sheet for this engine")
    sub.add_argument("--out", default="", metavar="FILE", help="write the empty sheet here (must not exist)")
    sub.add_argument("--hot", action="store_true", help="the engine had just run at the compression test")
    sub.add_argument("--test-voltage", default="", metavar="V", help='of the leads, where the sheet gives none: "10 kV"')
    _json(sub)
    _measured(sub)
    _person(sub)


def _record_commands(commands: _Commands) -> None:
    for name, text in (
        ("record", "the draft of a maintenance-record entry: facts only, signed by nobody"),
        ("report", "the diagnosis worksheet: what was wrong, how that was known, what else it might have been"),
        ("handover", "the hand-over sheet: the aircraft now, the last step, the next one"),
    ):
        sub = _add(commands, name, text, "papers", name)
        sub.add_argument("case", metavar="CASE")
        sub.add_argument("--format", choices=("text", "html", "markdown", "json"), default="markdown", help="default: markdown")
        sub.add_argument("--out", default="", metavar="FILE", help="write here and not to the screen (must not exist)")


def _reading_commands(commands: _Commands) -> None:
    for name, text in (("rank", "rank what is probably wrong"), ("next", "what to check next, and what each result would do")):
        sub = _add(commands, name, text, "ranking", name)
        _trouble(sub)
        if name == "next":
            sub.add_argument("--all", action="store_true", help="with --json: every step and result, not the ten first and ten likeliest")
            sub.add_argument("--keep", action="store_true", help="record what is advised in the case, to be held against later")
            _person(sub)
    sub = _add(commands, "why", "why a cause or a check stands where it stands", "ranking", "why")
    _trouble(sub)
    sub.add_argument("--about", default="", metavar="ID", help="a cause or check, such as CAUSE@PLACE (default: the first causes)")
    sub.add_argument("--all", action="store_true", help="every entry, also those that hardly matter")


def _state(sub: argparse.ArgumentParser) -> None:
    help_text = "how the aircraft stands now, such as 'P-lead left=off, propeller tagged' (may repeat)"
    sub.add_argument("--state", action="append", default=[], metavar="WHAT=NOW", help=help_text)


def _trouble(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("case", nargs="?", metavar="CASE", help="a case file; or give --layout and results")
    sub.add_argument("--layout", default="", help="engine layout, without a case (see `diagnose show layouts`)")
    sub.add_argument("--complaint", action="append", default=[], metavar="RESULT", help="what is complained of (may repeat)")
    sub.add_argument("--result", action="append", default=[], metavar="RESULT", help="SYMPTOM[.REGIME]@PLACE=GRADE (may repeat)")
    sub.add_argument("--access", default="", metavar="A,B", help="access already gained, such as cowl_off")
    _state(sub)
    _json(sub)


def _library_commands(commands: _Commands) -> None:
    sub = _add(commands, "picture", "draw a case: the engine, or how belief moved", "picturing", "picture")
    sub.add_argument("case", metavar="CASE")
    sub.add_argument("--what", choices=("engine", "belief"), default="engine", help="which picture (default: engine)")
    sub.add_argument("--out", default="", metavar="FILE.svg", help="write it here (must not exist) instead of stdout")
    sub = _add(commands, "replay", "go through a case entry by entry and hold the numbers against those recorded", "replaying", "replay")
    sub.add_argument("case", metavar="CASE")
    _json(sub)
    sub = _add(commands, "compare", "what differs between two cases, or in one case under two rule bases", "replaying", "compare")
    sub.add_argument("case", metavar="CASE")
    sub.add_argument("other", nargs="?", default="", metavar="OTHER", help="the other case; left out: the same one, with --against")
    sub.add_argument(
        "--against",
        action="append",
        default=[],
        metavar="DIR",
        help="folder laid over the shipped rule base for the second reading (may repeat)",
    )
    _json(sub)
    sub = _add(commands, "list", "list and search the case files of folders, newest first", "searching", "list_")
    sub.add_argument("dirs", nargs="+", metavar="DIR", help="folders that hold case files, or case files")
    sub.add_argument("--nickname", default="", help="only cases of the aircraft called this")
    sub.add_argument("--cause", default="", metavar="ID", help="only cases this cause leads or whose repair ended it: CAUSE or CAUSE@PLACE")
    sub.add_argument("--serial", default="", metavar="TEXT", help="only cases naming this on a unit or a part taken off or fitted")
    sub.add_argument(
        "--open", action="store_true", help="only cases of which anything is open, as the papers tell it, or nothing is confirmed"
    )
    sub.add_argument("--text", default="", metavar="WORDS", help="only cases in which all these words stand")
    sub.add_argument("--left", action="store_true", help="instead: words that were told and not understood, with the count of cases")
    _json(sub)


def _knowledge_commands(commands: _Commands) -> None:
    sub = _add(commands, "show", "print the rule base: symptoms, causes, checks, remedies, ... or one ID", "knowledge", "show")
    sub.add_argument(
        "what",
        metavar="WHAT",
        help="symptoms causes checks remedies history effects cautions layouts limits sources, questions (every word by what it answers), "
        "or an id",
    )
    sub.add_argument("--layout", default="", help="name the places of this layout")
    sub.add_argument("--all", action="store_true", help="of a cause every number with its source")
    _json(sub)
    sub = _add(
        commands,
        "explain",
        "why things are as they are, in plain words: a topic, or what explains a check or cause",
        "explaining",
        "explain",
    )
    sub.add_argument("topic", nargs="*", metavar="TOPIC", help="a topic, a check or a cause; left out: every topic")
    sub.add_argument("--layout", default="", help="draw for this engine layout (default: opposed-4)")
    sub.add_argument("--out", default="", metavar="FILE.svg", help="write its drawing here (must not exist) and print nothing")
    _json(sub)
    sub = _add(commands, "check", "load a rule base and print its problems", "knowledge", "check")
    sub.add_argument("dir", nargs="?", metavar="DIR", help="a rule base folder (default: the shipped one)")
    sub.add_argument("--schema", action="store_true", help="print the JSON schema of rule base files instead, for an editor")
    _json(sub)
    sub = _add(commands, "audit", "what is wrong with the knowledge itself, and how well it isolates troubles", "audit", "audit")
    sub.add_argument("--layout", action="append", default=[], help="look at this layout only, and simulate it (may repeat)")
    sub.add_argument("--runs", type=int, metavar="N", help="troubles drawn per layout (default 24; 0: no simulation)")
    sub.add_argument("--seed", type=int, default=1, help="same seed, same troubles (default 1)")
    sub.add_argument("--quick", action="store_true", help="draw only 6 troubles per layout")
    sub.add_argument("--cases", default="", metavar="DIR", help="folder of cases (default: the shipped ones)")
    _json(sub)


def _completion(commands: _Commands) -> None:
    sub = _add(commands, "completion", "print a script by which a shell completes commands, options, words", "completing", "completion")
    sub.add_argument("shell", choices=SHELLS, metavar="SHELL", help=", ".join(SHELLS))


def _calc(commands: _Commands, wanted: bool) -> None:
    text = "bench and run-up arithmetic: timing, plugs, drops, leads, ..."
    sub = commands.add_parser("calc", help=text, description=text)
    sub.set_defaults(call=_late("calculating", "calc"))
    if wanted:
        # Sixteen calculations with their options: read only when one of them is called for.
        from diagnose.cli.calculations import add_arguments

        add_arguments(sub, _into_case)


def _into_case(sub: argparse.ArgumentParser) -> None:
    """Add what puts the results of a calculation into a case."""
    case = sub.add_argument_group("into a case")
    case.add_argument("--into", default="", metavar="CASE", help="record the readings and their results in this case")
    case.add_argument("--complaint", action="store_true", help="the abnormal ones are what was complained of")
    case.add_argument("--check", default="", metavar="CHECK@PLACE", help="the check these readings were taken for")
    case.add_argument(
        "--rulebase",
        action="append",
        default=[],
        metavar="DIR",
        help="folder laid over the shipped rule base, such as your own limits (may repeat)",
    )
    _measured(case)
    _person(case)


def _measured(sub: argparse._ActionsContainer) -> None:
    """Add how a value was come by."""
    sub.add_argument("--conditions", default="", help="engine and outside temperature, wind, what was set")
    sub.add_argument("--procedure", default="", help="document, section and revision the check is done by")
    sub.add_argument("--tool", default="", help="tool used, with its identity")
    sub.add_argument("--calibration", default="", metavar="DATE", help='its calibration due, 2026-11-30 or "none needed"')
