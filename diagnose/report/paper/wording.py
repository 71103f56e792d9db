"""How entries are worded on every paper: who and when, results, old values struck out, units and shares."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from diagnose.assessment.finding import words as scale_word
from diagnose.case.kinds import CONFIRMING
from diagnose.case.log import Event
from diagnose.case.standing import complaint_words
from diagnose.problems import BadInput
from diagnose.report.paper.model import NOT_RECORDED, Span, Words, plain, safe, struck, words
from diagnose.report.paper.story import Story
from diagnose.report.said import cause_name, result_after
from diagnose.report.screens import percent, place_words, question_words, result_words
from diagnose.trouble.exchanges import places_now, read_exchange
from diagnose.trouble.looks import LookResults, exchanges
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result

STANDINGS = {"unknown": "not known", "cannot": "could not be checked here"}


def when(event: Event) -> str:
    """Return the time of an entry as it is read: date, hour and minute, UTC."""
    date, _, clock = event.time.partition("T")
    return f"{date} {clock[:5]} UTC" if clock.endswith("Z") else event.time


def span(first: Event, last: Event) -> str:
    """Return the time from one entry to another, the date once where it is the same."""
    start, end = when(first), when(last)
    if start == end:
        return start
    if start[:10] == end[:10] and start.endswith(" UTC") and end.endswith(" UTC"):
        return f"{start[:16]} to {end[11:]}"
    return f"{start} to {end}"


def who(event: Event) -> str:
    """Return the person of an entry."""
    return safe(event.person).strip() or "person not recorded"


def people(story: Story, events: Iterable[Event]) -> str:
    """Return the persons of some entries as one text."""
    return "; ".join(persons(story, events))


def persons(story: Story, events: Iterable[Event]) -> list[str]:
    """Return the persons of some entries, each once; two names are one person only where that was recorded."""
    names = list(dict.fromkeys(who(e) for e in events))
    for same in _same_persons(story):
        first = next((n for n in names if n in same), None)
        others = [n for n in same if n != first]
        joined = f"{first} (also recorded as {', '.join(others)})"
        names = [joined if n == first else n for n in names if n == first or n not in same]
    return names


def _same_persons(story: Story) -> list[list[str]]:
    """Return the names recorded as those of one person, together."""
    found: list[list[str]] = []
    for note in story.live("note"):
        told = note.data.get("same_person")
        names = [safe(n).strip() for n in told] if isinstance(told, list) else []
        joined = [same for same in found if set(same) & set(names)]
        found = [same for same in found if same not in joined]
        found += [list(dict.fromkeys([*(n for same in joined for n in same), *names]))] if names else []
    return found


def made_by(event: Event) -> str:
    """Return person, time and number of an entry."""
    return f"{who(event)}, {when(event)}, entry {event.seq}"


def numbers(events: Sequence[Event]) -> str:
    """Return the numbers of entries, runs drawn together."""
    return of_numbers([e.seq for e in events])


def of_numbers(entries: Iterable[int]) -> str:
    """Return `entry 3` or `entries 3-5, 7`."""
    runs: list[list[int]] = []
    for seq in sorted(set(entries)):
        if runs and seq == runs[-1][-1] + 1:
            runs[-1].append(seq)
        else:
            runs.append([seq])
    shown = [str(r[0]) if len(r) == 1 else f"{r[0]}-{r[-1]}" for r in runs]
    return f"{'entry' if len(shown) == 1 and '-' not in shown[0] else 'entries'} {', '.join(shown)}"


def result_text(network: Network, text: str) -> str:
    """Return a result in words; as written where this rule base does not know it."""
    try:
        return result_words(network, text)
    except (KeyError, ValueError):
        return f"{text} (not known to this rule base)"


def event_result(story: Story, event: Event, text: str) -> str:
    """Return a result of an entry in words, of a part that an exchange took to its place with where it came from."""
    return moved_result(story, text, story.looks_at(event))


def moved_result(story: Story, text: str, looks: Sequence[LookResults]) -> str:
    """Return a result told in the last of some looks in words; as written where this rule base does not know it."""
    try:
        return result_after(story.network, text, looks, story.trouble.looks)
    except (KeyError, ValueError):
        return result_text(story.network, text)


def told_of(network: Network, result: Result) -> str:
    """Return what a result looks at as a question, without how it came out."""
    return question_words(network, result.subject)


def judged(story: Story, text: str) -> str:
    """Return how a result came out: normal, abnormal, or why it says nothing."""
    found = story.read(text)
    if not found:
        return "says nothing under this rule base"
    result = found[0]
    if result.high < 0:
        return STANDINGS.get(result.grade, NOT_RECORDED)
    if result.history:
        return "history"
    return "abnormal" if result.abnormal else "normal" if result.normal else "open"


def result_in_force(story: Story, event: Event) -> Words:
    """Return the result of an entry in words, each value it had before struck out with who, when and why."""
    text = event_result(story, event, str(event.data.get("result", "")))
    made = story.corrections.get(event.seq, ())
    if not made:
        return words(text)
    spans = [struck(text)]
    for number, change in enumerate(made, 1):
        why = f"({made_by(change)}: {safe(change.data.get('reason') or 'reason ' + NOT_RECORDED)})"
        if change.data.get("withdrawn") or not change.data.get("result"):  # withdrawn for a while, and then given anew
            spans.append(Span(f" withdrawn {why}"))
            continue
        new = event_result(story, event, str(change.data["result"]))
        spans += [Span(" corrected to "), struck(new) if number < len(made) else Span(safe(new)), Span(f" {why}")]
    return tuple(spans)


def place_of(network: Network, place: str) -> str:
    """Return a place as it is said on the ramp."""
    try:
        return place_words(network, place)
    except (KeyError, ValueError):
        return place


def located(network: Network, text: str) -> str:
    """Return `ID@PLACE` of a check or remedy in words; as written where this rule base does not know it."""
    ident, _, place = text.partition("@")
    base = network.base
    entry = base.checks.get(ident) or base.remedies.get(ident)
    if ident == CONFIRMING:
        return "Confirming run under the conditions of the complaint"
    label = entry.label if entry is not None else text
    return f"{label}, {place_of(network, place)}" if place and entry is not None and place != "engine" else label


def exchange_text(network: Network, text: str) -> str:
    """Return an exchange of parts in words; as written where this rule base does not know it."""
    try:
        done = read_exchange(text, network.base, network.layout)
    except BadInput:
        return text
    part = network.base.checks[done.check].part
    return f"{part.capitalize()}s of {place_of(network, done.first)} and {place_of(network, done.second)} exchanged"


def cause_text(network: Network, ident: str, looks: Sequence[LookResults] = (), when: str = "then") -> str:
    """Return a located cause in words, with where its part stood after some looks; as written where this rule base does not know it."""
    if ident not in network.causes:
        return ident
    away = places_now(network, exchanges(looks)).get(ident, "") if looks else ""
    return cause_name(network, ident, place_of(network, away) if away else "", when=when)


def pct(value: float | None) -> str:
    """Return a probability as people say it, its sign kept on the same line; None is one that cannot be known."""
    if value is None:
        return "not known"
    return percent(value).replace(" %", "\u00a0%")


def stands_at(now: float | None, before: float | None) -> str:
    """Return the share of a cause now; of one that a repair ended, what it was before that: it does not stand now."""
    return share(now) if before is None else f"ended; {pct(before)} before the repair"


def share(value: float | None) -> str:
    """Return a probability as number and word."""
    return pct(value) if value is None else f"{pct(value)} ({scale_word(value)})"


def measured(events: Iterable[Event], name: str) -> tuple[str, ...]:
    """Return the different values some entries give for a measured field, in order; empty texts left out."""
    return tuple(dict.fromkeys(t for e in events if (t := field_text(e.data.get(name)))))


def said_of_it(story: Story) -> str:
    """Return the complaint in the reporter's words, in the order told; empty where they are not recorded."""
    return "; ".join(field_text(e.data["words"]) for e in complaint_words(story.events))


def field_text(value: Any) -> str:
    """Return any recorded value as a text: numbers without the noise of the machine, lists drawn together, `name: value` for maps."""
    if value is None or value == "" or value is False:
        return ""
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 1e5 else f"{value:.6g}"
    if isinstance(value, Mapping):
        return "; ".join(f"{k}: {field_text(v) or NOT_RECORDED}" for k, v in value.items())
    if isinstance(value, (list, tuple)):
        return "; ".join(t for v in value if (t := field_text(v)))
    return "yes" if value is True else safe(value).strip()


def shortened(text: str, most: int, where: str) -> str:
    """Return a text cut to a length, saying where the rest stands."""
    flat = " ".join(text.split())
    return flat if len(flat) <= most else f"{flat[:most].rstrip()} ... (cut here; in full: {where})"


def joined(told: Iterable[Words]) -> str:
    """Return several words as one text."""
    return "; ".join(plain(t) for t in told)
