"""How a command line is read: complaints in one line that name the nearest word, help that fits and ends with examples."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import Any, NoReturn

from diagnose.cli.examples import shown
from diagnose.problems import BadInput, did_you_mean, nearest
from diagnose.report.text import folded, size

LATE = ("text", "other")  # positional arguments that may be left out, and may stand after options
WIDEST_HELP = 100
MOST_CHOICES = 36  # letters of an option's choices that its usage still holds


class _Formatter(argparse.RawDescriptionHelpFormatter):
    """Help whose words are not broken at a hyphen; many choices stand in the help of an option and not in its usage."""

    def _metavar_formatter(self, action: argparse.Action, default_metavar: str) -> Callable[[int], tuple[str, ...]]:
        if action.metavar is None and _many(action):
            return lambda size: (action.dest.upper(),) * size
        return super()._metavar_formatter(action, default_metavar)

    def _get_help_string(self, action: argparse.Action) -> str | None:
        if action.metavar is None and _many(action):
            return f"{action.help or 'one of'}: {', '.join(map(str, action.choices or ()))}"
        return super()._get_help_string(action)

    def _split_lines(self, text: str, width: int) -> list[str]:
        return folded(" ".join(text.split()), width)


class Parser(argparse.ArgumentParser):
    """A parser of one command; its subparsers are of this class too."""

    def __init__(self, *args: Any, **options: Any) -> None:
        options["formatter_class"] = _Formatter
        super().__init__(*args, **options)

    def error(self, message: str) -> NoReturn:
        """Refuse the command line in one line."""
        raise BadInput(f"{message}{' See' if message.endswith('?') else '; see'} `{self.prog} --help`")

    def format_help(self) -> str:
        """Return the help, its description folded to the width, examples at its end."""
        whole = self.description
        self.epilog = shown(self.prog.partition(" ")[2], _width()) or None
        self.description = "\n".join(folded(" ".join(whole.split()), _width())) if whole else None
        try:
            return super().format_help()
        finally:
            self.description = whole

    def _print_message(self, message: str, file: Any = None) -> None:
        (file or sys.stdout).write(message)  # argparse itself hides that nothing could be written

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        if action.choices is not None and value not in action.choices:
            what = "/".join(action.option_strings) or str(action.metavar or action.dest).lower()
            self.error(f"{what} '{value}' is not known; {did_you_mean(str(value), map(str, action.choices))}")

    def _get_values(self, action: argparse.Action, arg_strings: list[str]) -> Any:
        if arg_strings == ["--"] and action.option_strings and action.nargs is None:  # taken for an end of options, and none left
            self.error(f"argument {'/'.join(action.option_strings)}: '--' is no value")
        return super()._get_values(action, arg_strings)

    def _get_formatter(self) -> argparse.HelpFormatter:
        self.color = False  # newer Pythons would colour help even into a pipe
        made = super()._get_formatter()
        made._width = _width()
        return made


def _many(action: argparse.Action) -> bool:
    return len(",".join(map(str, action.choices or ()))) > MOST_CHOICES


def _width() -> int:
    return min(size()[0], WIDEST_HELP) - 2


def parsed(parser: Parser, argv: Sequence[str]) -> argparse.Namespace:
    """Return a command line read, a last word standing after options taken too (`note CASE --closes 54 "new lead"`)."""
    args, rest = parser.parse_known_args(argv)
    late = [name for name in LATE if getattr(args, name, None) == ""]
    if len(rest) == 1 and late and not rest[0].startswith("-"):
        setattr(args, late[0], rest[0])
    elif rest:
        _refuse(list(_called(parser, argv))[-1], rest)
    return args


def subcommands(parser: argparse.ArgumentParser) -> dict[str, Parser]:
    """Return the parsers of the commands under a parser, by name."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            return dict(action.choices)
    return {}


def _called(parser: Parser, argv: Sequence[str]) -> Iterator[Parser]:
    """Yield the parsers a command line goes through, the innermost last."""
    yield parser
    for number, word in enumerate(argv):
        inner = subcommands(parser).get(word)
        if inner is not None:
            yield from _called(inner, argv[number + 1 :])
            return


def _refuse(parser: Parser, rest: Sequence[str]) -> NoReturn:
    option = next((word.partition("=")[0] for word in rest if word.startswith("-") and word != "--"), "")
    known = [name for action in parser._actions for name in action.option_strings]
    near = did_you_mean(option, known) if nearest(option, known) else ""
    if option:
        parser.error(f"there is no option {option} here{f'; {near}' if near else ''}")
    parser.error(f"too many words: {' '.join(rest)}; put what belongs together in quotes")
