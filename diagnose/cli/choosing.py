"""Another check than the one advised: chosen by its number, found by words."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.assessment.assess import Assessment
from diagnose.cli.paging import page
from diagnose.cli.prompt import ask
from diagnose.cli.talk import Talk
from diagnose.plan.plan import Valued
from diagnose.report import screens

SHOWN = 9
NUMBER = "Number of one; or words to look for, such as lead tester; Enter or b: back to the step"


def chosen_check(talk: Talk, assessment: Assessment) -> tuple[Valued, str] | None:
    """Return the check a person chooses and why; None where none is chosen after all."""
    shown: Sequence[Valued] = assessment.plan.checks[:SHOWN]
    _list(talk, "OTHER CHECKS, best first", shown)
    while True:
        text = ask(talk.out, NUMBER, None)
        if text.lower() in ("", "b"):
            return None
        if not (text.isascii() and text.isdigit()):
            found = matching(talk, assessment.plan.checks, text)
            shown = found[:SHOWN] or shown
            _list(talk, f'CHECKS WITH "{text[:40]}", best first' if found else f'NO CHECK WITH "{text[:40]}"', shown)
        elif 1 <= int(text[:3]) <= len(shown):
            reason = ask(talk.out, "Why this one (kept in the record; Enter: skip, b: back)", None)
            if reason.lower() != "b":
                return shown[int(text[:3]) - 1], reason
        else:
            screens.line(talk.out, f"'{text[:40]}' is not one of: Enter, b, 1 to {len(shown)}, or words")


def matching(talk: Talk, checks: Sequence[Valued], text: str) -> list[Valued]:
    """Return the checks in whose words most words of a text stand, those with the text as it is before them; best first."""
    words = [w for w in text.lower().replace(",", " ").split() if len(w) > 1 or w.isdigit()]
    hits = {v.located.id: sum(w in _words(talk, v) for w in words) + (" ".join(words) in _words(talk, v)) for v in checks}
    most = max(hits.values(), default=0)
    return [v for v in checks if most and hits[v.located.id] == most]


def _words(talk: Talk, valued: Valued) -> str:
    return f"{screens.check_words(talk.network, valued)} {valued.located.place.replace('-', ' ')} {valued.located.check.id}".lower()


def _list(talk: Talk, title: str, shown: Sequence[Valued]) -> None:
    page(talk, title)
    for number, valued in enumerate(shown, 1):
        note = "" if valued.pays else ", saves less time than it takes"
        screens.line(talk.out, f"{number}  {screens.check_words(talk.network, valued)}: {valued.minutes:.0f} min{note}")
