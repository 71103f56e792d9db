"""One interview under way: its case, what is recorded, what is taken back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.case import log
from diagnose.case.case import Case, load
from diagnose.case.kinds import TAKEN_BACK
from diagnose.case.open_steps import refit_item
from diagnose.cli import keys
from diagnose.cli.followed import as_taken, kept_texts
from diagnose.cli.given import ANSWERS, Answer, Answers, last_on_file
from diagnose.cli.prompt import ask
from diagnose.cli.tell import entries
from diagnose.cli.telling import confirmed, unconfirmed, written
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.report.said import result_after
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network
from diagnose.trouble.results import read_results
from diagnose.words.here import here_of
from diagnose.words.reading import read_words

if TYPE_CHECKING:
    from rich.console import Console

TOLD = 3  # answers told on the next screen
UNSAID = ("advice", "correct", "access")  # entries that are no answer of their own


@dataclass
class Talk:
    """A case being asked about: `kept` is what was recorded since the last screen, `minded` the cautions shown in full.

    `opens` is the access of the check under way: it is recorded with its first result, so that a step back leaves nothing behind.
    `open` are the results the last saying may have meant and that were not confirmed: nobody may call those normal as "the rest".
    `given` is what one press of b takes back, `said` the line that the next screen begins with, `title` of the page of questions open.
    `again` are the questions whose answers were taken back, (what is asked, its check), the next one to ask last.
    """

    path: Path
    person: str
    network: Network
    out: Console
    kept: list[str] = field(default_factory=list)
    minded: set[str] = field(default_factory=set)
    opens: dict[str, Any] = field(default_factory=dict)
    open: tuple[str, ...] = ()
    given: Answers = field(default_factory=Answers)
    said: str = ""
    title: str = ""
    again: list[tuple[str, str]] = field(default_factory=list)

    def case(self) -> Case:
        """Return the case as it stands on disk."""
        return load(self.path, self.network.base)

    def record(self, kind: str, data: dict[str, Any]) -> None:
        """Put one entry on disk."""
        looks = self.case().trouble.looks if kind == "result" else ()
        self.record_all([(kind, data)], _told(self.network, kind, data, looks))

    def record_all(self, rows: Sequence[tuple[str, Mapping[str, Any]]], words: str) -> None:
        """Put the entries of one answer on disk; `words` is what is said of it when it is taken back."""
        opened = self.opened() if any(kind == "result" for kind, _ in rows) else []
        made = log.append_all(self.path, self.person, [*opened, *rows])
        self.kept += [words] if any(kind in ANSWERS for kind, _ in rows) else []
        if words and any(kind not in UNSAID for kind, _ in rows):
            self.given.add(words, [e.seq for e in made])

    def opened(self) -> list[tuple[str, dict[str, Any]]]:
        """Return the access that the check under way opens as an entry, once."""
        opens, self.opens = self.opens, {}
        return [("access", opens)] if opens else []

    def go_on(self) -> None:
        """Wait for Enter where the next screen would wipe out what was told."""
        if keys.single():
            ask(self.out, "Enter: go on", {""})

    def noted(self) -> str:
        """Return what was kept, or taken back, since the last screen, once."""
        kept, self.kept = self.kept, []
        said, self.said = self.said, ""
        more = f" and {len(kept) - TOLD} more" if len(kept) > TOLD else ""
        return said or (f"Kept: {'; '.join(kept[-TOLD:])}{more}" if kept else "")


def _told(network: Network, kind: str, data: Mapping[str, Any], looks: Sequence[LookResults] = ()) -> str:
    """Return an entry in words; empty where it is no answer of its own."""
    if kind == "result":
        return result_after(network, str(data["result"]), looks)
    if kind == "decline":
        return f"not done here: {network.base.checks[str(data['check']).partition('@')[0]].label}"
    if kind == "exchange":
        return f"exchanged: {data['exchange']}"
    if kind == "state":
        return ", ".join(f"{thing} {now}" for thing, now in data["state"].items())
    if kind == "repair":
        name, _, place = str(data["remedy"]).partition("@")
        return f"done: {network.base.remedies[name].label} ({screens.place_words(network, place)})"
    if "chosen" in data:
        return f"your choice of: {network.base.checks[str(data['chosen']).partition('@')[0]].label}"
    if "refit" in data or "closes" in data or data.get("confirming"):
        return str(data.get("note", ""))
    return ""


def enter(talk: Talk, text: str, complaint: bool = False, check: str = "", nodes: Sequence[str] = ()) -> bool:
    """Record what one line says, in plain language or as results; a wrong one is explained and nothing is recorded.

    `nodes` are the results of the check it is said at: words without a place are about that check's place.
    """
    talk.open = ()
    if not text.strip():
        return False
    if not written(text):
        return _said(talk, text, complaint, check, nodes)
    try:
        found = read_results(text.split(), talk.network.base, talk.network.layout)
    except BadInput as error:
        screens.line(talk.out, str(error))
        return False
    looks = talk.case().trouble.looks
    taken = as_taken(found, check, looks, talk.network)
    found = tuple(t.result for t in taken)
    rows = [("result", {"result": str(r), "complaint": complaint and r.complained, "check": check}) for r in found]
    talk.record_all(rows, "; ".join((*(_told(talk.network, kind, data, looks) for kind, data in rows), *kept_texts(taken)[1])))
    for result in found:
        screens.line(talk.out, f"recorded: {result_after(talk.network, str(result), looks)}", "dim")
    return True


def _said(talk: Talk, text: str, complaint: bool, check: str, nodes: Sequence[str]) -> bool:
    """Read plain language, have it confirmed, and record words and results together."""
    more: list[str] = []
    try:
        here = here_of(nodes, talk.network.layout)
        reading = read_words(text, talk.network.base, talk.network.layout, here)
        chosen = confirmed(talk.out, talk.network, reading, more, here)
        looks = talk.case().trouble.looks
        kept, says = kept_texts(as_taken(read_results(chosen, talk.network.base, talk.network.layout), check, looks, talk.network))
        rows = entries(talk.network.base, talk.network, kept, "; ".join((text, *more)), reading.left, complaint, check)
    except BadInput as error:
        screens.line(talk.out, str(error))
        return False
    talk.open = unconfirmed(reading, chosen)
    told = [_told(talk.network, kind, dict(data), looks) for kind, data in rows if kind == "result"]
    talk.record_all(rows, "; ".join((*told, *says)) or f'"{text}"')
    screens.line(talk.out, f"recorded: {len(rows) - 1} result{'s' if len(rows) != 2 else ''}, and the words as said", "dim")
    return len(rows) > 1


def leave_refit(talk: Talk, check: str) -> None:
    """Record what a check leaves to be made good as an open item, once."""
    item = refit_item(talk.network.base, talk.case().events, check)
    if item is not None:
        talk.given.join([log.append(talk.path, "note", talk.person, dict(item)).seq])
        screens.line(talk.out, f"open item kept: {item['note']}", "dim")


def withdraw_last(talk: Talk) -> bool:
    """Take one answer back: its entries stay in the file, marked withdrawn; what was taken back is said."""
    _withdrawn(talk)
    return True


def step_back(talk: Talk) -> bool:
    """Take one answer back at a step; where it was the answer to one question, that question is asked again."""
    events = {e.seq: e for e in talk.case().events}
    results = [events[seq].data for seq in _withdrawn(talk) if events[seq].kind == "result"]
    if len(results) == 1 and not results[0].get("complaint") and results[0].get("from") is None:
        talk.again.append((str(results[0]["result"]).rpartition("=")[0], str(results[0].get("check") or "")))
    else:
        talk.again.clear()
    return True


def _withdrawn(talk: Talk) -> list[int]:
    """Withdraw the last answer and return the numbers of its entries; none where there is nothing to take back."""
    found = talk.given.last()
    if found is None and not talk.given.steps:
        events = last_on_file(talk.case().events)
        words = [_told(talk.network, e.kind, e.data) for e in events if e.kind in ANSWERS]
        found = Answer(f"{words[-1]}{f' and {len(words) - 1} more' if len(words) > 1 else ''}", [e.seq for e in events]) if events else None
    talk.kept = []
    talk.said = f"Taken back (it stays in the file): {found.words}" if found is not None else "Nothing to take back."
    screens.line(talk.out, talk.said, "dim")
    if found is None:
        return []
    back = {"withdrawn": True, "reason": TAKEN_BACK}
    log.append_all(talk.path, talk.person, [("correct", {"corrects": seq, **back}) for seq in reversed(found.entries)])
    return found.entries


def at(talk: Talk) -> str:
    """Return where in the work this is: the number of the step."""
    case = talk.case()
    live = [e for e in case.events if e.seq not in case.corrected]
    checks = {e.data.get("check") for e in live if e.kind == "result"} - {"", None}
    return f"step {len(checks) + sum(e.kind == 'repair' for e in live) + 1}"
