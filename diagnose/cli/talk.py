"""One interview under way: its case, what is recorded, what is taken back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.case import log
from diagnose.case.case import Case, load
from diagnose.case.open_steps import refit_item
from diagnose.cli.tell import entries
from diagnose.cli.telling import confirmed, unconfirmed, written
from diagnose.problems import BadInput
from diagnose.report import screens
from diagnose.trouble.network import Network
from diagnose.trouble.results import read_results
from diagnose.words.here import here_of
from diagnose.words.reading import read_words

if TYPE_CHECKING:
    from rich.console import Console


@dataclass
class Talk:
    """A case being asked about: `kept` is what was recorded since the last screen, `minded` the cautions shown in full.

    `opens` is the access of the check under way: it is recorded with its first result, so that a step back leaves nothing behind.
    `open` are the results the last saying may have meant and that were not confirmed: nobody may call those normal as "the rest".
    """

    path: Path
    person: str
    network: Network
    out: Console
    kept: list[str] = field(default_factory=list)
    minded: set[str] = field(default_factory=set)
    opens: dict[str, Any] = field(default_factory=dict)
    open: tuple[str, ...] = ()

    def case(self) -> Case:
        """Return the case as it stands on disk."""
        return load(self.path, self.network.base)

    def record(self, kind: str, data: dict[str, Any]) -> None:
        """Put one entry on disk."""
        log.append_all(self.path, self.person, [*(self.opened() if kind == "result" else []), (kind, data)])
        if kind in ("result", "repair", "exchange", "decline"):
            self.kept.append(_told(self.network, kind, data))

    def opened(self) -> list[tuple[str, dict[str, Any]]]:
        """Return the access that the check under way opens as an entry, once."""
        opens, self.opens = self.opens, {}
        return [("access", opens)] if opens else []

    def noted(self) -> str:
        """Return what was kept since the last screen, once."""
        kept, self.kept = self.kept, []
        more = f" and {len(kept) - 1} more" if len(kept) > 1 else ""
        return f"Kept: {kept[-1]}{more}" if kept else ""


def _told(network: Network, kind: str, data: dict[str, Any]) -> str:
    """Return an entry in words."""
    if kind == "result":
        return screens.result_words(network, str(data["result"]))
    if kind == "decline":
        return f"not done here: {network.base.checks[str(data['check']).partition('@')[0]].label}"
    if kind == "exchange":
        return f"exchanged: {data['exchange']}"
    name, _, place = str(data["remedy"]).partition("@")
    return f"done: {network.base.remedies[name].label} ({screens.place_words(network, place)})"


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
    for result in found:
        talk.record("result", {"result": str(result), "complaint": complaint and result.complained, "check": check})
        screens.line(talk.out, f"recorded: {screens.result_words(talk.network, str(result))}", "dim")
    return True


def _said(talk: Talk, text: str, complaint: bool, check: str, nodes: Sequence[str]) -> bool:
    """Read plain language, have it confirmed, and record words and results together."""
    try:
        reading = read_words(text, talk.network.base, talk.network.layout, here_of(nodes, talk.network.layout))
        chosen = confirmed(talk.out, talk.network, reading)
        rows = entries(talk.network.base, talk.network, chosen, text, reading.left, complaint, check)
    except BadInput as error:
        screens.line(talk.out, str(error))
        return False
    talk.open = unconfirmed(reading, chosen)
    log.append_all(talk.path, talk.person, [*talk.opened(), *rows])
    talk.kept += [_told(talk.network, kind, dict(data)) for kind, data in rows if kind == "result"]
    screens.line(talk.out, f"recorded: {len(rows) - 1} results, and the words as said", "dim")
    return len(rows) > 1


def leave_refit(talk: Talk, check: str) -> None:
    """Record what a check leaves to be made good as an open item, once."""
    item = refit_item(talk.network.base, talk.case().events, check)
    if item is not None:
        talk.record("note", dict(item))
        screens.line(talk.out, f"open item kept: {item['note']}", "dim")


def withdraw_last(talk: Talk) -> bool:
    """Take back the newest answer: it stays in the file, marked withdrawn."""
    case = talk.case()
    live = [e for e in case.events if e.kind in ("result", "repair", "exchange", "decline") and e.seq not in case.corrected]
    if not live:
        screens.line(talk.out, "Nothing to take back.")
        return True
    last = live[-1]
    reading = last.data.get("from")  # numbers are taken back as they were given: all results of one reading
    for event in [e for e in live if reading is not None and e.data.get("from") == reading] or [last]:
        talk.record("correct", {"corrects": event.seq, "withdrawn": True, "reason": "taken back in the interview"})
    told = last.data.get("result") or last.data.get("remedy") or last.data.get("exchange") or last.data.get("check")
    talk.kept = []
    screens.line(talk.out, f"taken back (kept in the file): {told}", "dim")
    return True


def at(talk: Talk) -> str:
    """Return where in the work this is: the number of the step."""
    case = talk.case()
    live = [e for e in case.events if e.seq not in case.corrected]
    checks = {e.data.get("check") for e in live if e.kind == "result"} - {"", None}
    return f"step {len(checks) + sum(e.kind == 'repair' for e in live) + 1}"
