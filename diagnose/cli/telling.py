"""What was said shown back: understood, asked about, left over; only what a person confirms is returned."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from diagnose.cli.prompt import ask
from diagnose.report import screens
from diagnose.trouble.network import Network
from diagnose.words.heard import Reading, Unsure
from diagnose.words.held import held_against
from diagnose.words.here import Here
from diagnose.words.reading import read_words

if TYPE_CHECKING:
    from rich.console import Console

WRITTEN = ("@", "=", "_")  # signs of the spelling programs use: such a line is not plain language


def written(text: str) -> bool:
    """Return whether a line is meant as results in the contract's spelling (`drop@left=excessive`)."""
    return any(sign in text for sign in WRITTEN)


def rows(reading: Reading) -> list[tuple[list[str], str]]:
    """Return what was understood as lines: results that differ in the place alone stand together, with the words they came from."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for heard in reading.understood:
        subject, _, grade = heard.result.rpartition("=")
        found.setdefault((subject.partition("@")[0], grade, heard.words), []).append(heard.result)
    return [(results, key[2]) for key, results in found.items()]


def label(network: Network, results: Sequence[str]) -> str:
    """Return results of one kind as one sentence, the further places behind it."""
    more = [r.rpartition("=")[0].partition("@")[2] for r in results[1:]]
    return screens.result_words(network, results[0]) + (f" (also {', '.join(more)})" if more else "")


def show(out: Console, network: Network, reading: Reading) -> None:
    """Print what was understood as labels, numbered, and what was not."""
    lines = rows(reading)
    screens.line(out, "Understood:" if lines else "Nothing of it was understood outright.", "bold")
    for number, (results, words) in enumerate(lines, 1):
        screens.line(out, f'{number:>2}  {label(network, results)}  - "{words}"', "", 1)
        limit = held_against(network.base, results[0], words)
        if limit:
            screens.line(out, f"held against: {limit}", "dim", 5)
    if reading.unsure:
        screens.line(out, "Not clear, asked next: " + "; ".join(f'"{question.words}"' for question in reading.unsure))
    if reading.left:
        screens.line(out, "Not understood, kept as said: " + "; ".join(f'"{words}"' for words in reading.left))


def confirmed(out: Console, network: Network, reading: Reading, more: list[str] | None = None, here: Here | None = None) -> list[str]:
    """Return the results a person says are right: those understood as a whole or in part, and one for each question.

    A question answered in other words has them read like the first, at the same check (`here`); `more` gets them as said.
    """
    show(out, network, reading)
    lines = rows(reading)
    chosen: list[str] = []
    if lines:
        wrong = _wrong(out, len(lines))
        chosen += [r for number, (results, _) in enumerate(lines, 1) if number not in wrong for r in results]
    for question in reading.unsure:
        chosen += _choose(out, network, question, more if more is not None else [], here)
    return list(dict.fromkeys(chosen))


def unconfirmed(reading: Reading, chosen: Sequence[str]) -> tuple[str, ...]:
    """Return the results that were read and called wrong, and those of questions that got no answer."""
    questions = [q.choices for q in reading.unsure if not set(q.choices) & set(chosen)]
    return (*(h.result for h in reading.understood if h.result not in chosen), *(c for choices in questions for c in choices))


def _wrong(out: Console, count: int) -> set[int]:
    """Ask which lines were misread."""
    while True:
        text = ask(
            out, "Read right? Enter: yes, all; else the numbers of the lines that were misread, such as 2 3; n: all misread", None
        ).lower()
        numbers = text.replace(",", " ").split()
        if text in ("n", "b"):
            return set(range(1, count + 1))
        if text in ("y", "yes"):
            return set()
        if all(n.isascii() and n.isdigit() and 1 <= int(n[:3]) <= count for n in numbers):
            return {int(n[:3]) for n in numbers}
        screens.line(out, f"'{text[:40]}' is none of the numbers 1 to {count}")


def _choose(out: Console, network: Network, question: Unsure, more: list[str], here: Here | None) -> list[str]:
    """Ask which of several is meant: by its number, or in other words, which are read in their turn."""
    screens.line(out, f'"{question.words}" - which is meant?', "bold")
    for number, result in enumerate(question.choices, 1):
        screens.line(out, f"{number:>2}  {screens.result_words(network, result)}", "", 1)
    while True:
        text = ask(out, "Number, or say it in other words (Enter: none of these)", None)
        if not text or text.lower() in ("b", "n"):
            return []
        if len(text) == 1 and not text.isdigit():
            screens.line(out, f"'{text}' is no number of the list, and one letter is no word; nothing is kept of it")
        elif not text.isascii() or not text.isdigit():
            more.append(text)
            return confirmed(out, network, read_words(text, network.base, network.layout, here), more, here)
        elif 1 <= int(text[:3]) <= len(question.choices):
            return [question.choices[int(text[:3]) - 1]]
        else:
            screens.line(out, f"'{text[:40]}' is none of the numbers 1 to {len(question.choices)}")
