"""Case files of folders: what each says of itself, found by searching; what was repaired before on the same aircraft.

Files are read one after the other and nothing is ranked here, so that hundreds of cases are listed in seconds.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from diagnose.case.case import DAMAGE, SCHEMA, Case, load, read_repair
from diagnose.case.log import Event
from diagnose.case.standing import open_items, standing_entries, units
from diagnose.case.still_open import Open, open_of
from diagnose.places import inside
from diagnose.problems import BadInput
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.complaint import complaint_gone, complaints
from diagnose.trouble.looks import Repair
from diagnose.trouble.network import Network

OF_RUN = ("complaint", "again", "run")  # kinds of what is open that a whole confirming run would have ended
MOST_FIRST_LINE = 200_000  # bytes; an opening line is never near this


@dataclass(frozen=True)
class Shelved:
    """One case of a folder. `state` is told by its entries alone; `cause` and its share by the last recorded advice.

    `unfinished`: what is open as the papers tell it, a person's own items among it.
    """

    case: Case
    state: str
    open_items: Mapping[int, str]
    repairs: tuple[Event, ...]
    cause: str = ""
    share: float | None = None
    unfinished: tuple[Open, ...] = ()

    @property
    def nickname(self) -> str:
        """Return what the aircraft is called."""
        return str(self.case.opening.get("nickname") or "")

    @property
    def newest(self) -> str:
        """Return the time of the last entry."""
        return self.case.events[-1].time


@dataclass(frozen=True)
class Earlier:
    """A repair of an earlier case of the same aircraft; `confirmed`: its complaint was then seen to be gone."""

    time: str
    remedy: str
    place: str
    label: str
    confirmed: bool
    file: Path

    def __str__(self) -> str:
        """Return date, remedy, place and file in one line."""
        ended = "complaint gone then" if self.confirmed else "never confirmed"
        return f"{self.time[:10]}: {self.label}, {self.place}; {ended} ({self.file.name})"


def case_files(places: Iterable[Path]) -> list[Path]:
    """Return every file that may be a case: those named, and those of named folders and what lies in them, by name;
    hidden ones are passed over.

    Raises BadInput where a place does not exist.
    """
    found: dict[Path, None] = {}
    for place in places:
        if not place.exists():
            raise BadInput(f"'{place}' does not exist; give a folder that holds case files")
        inner = sorted(p for p in place.rglob("*") if _seen(p)) if place.is_dir() else [place] * place.is_file()
        found.update(dict.fromkeys(inner))
    return list(found)


def _seen(path: Path) -> bool:
    """Return whether a file counts in a folder: hidden ones are what a kill left while a case was being opened."""
    return path.is_file() and not path.name.startswith(".")


def is_case(path: Path) -> bool:
    """Return whether a file's first line is the opening of a case, or its name says it should be one."""
    if path.suffix == ".case":
        return True
    try:
        with path.open("rb") as file:
            first = json.loads(file.readline(MOST_FIRST_LINE))
    except (OSError, ValueError, RecursionError):
        return False
    return isinstance(first, dict) and first.get("schema") == SCHEMA


def shelf(paths: Iterable[Path], base: RuleBase) -> Iterator[Shelved | str]:
    """Yield every case, or one line on a file that should be one and cannot be read; other files are passed over."""
    for path in paths:
        if not is_case(path):
            continue
        try:
            yield shelved(load(path, base), base)
        except BadInput as error:
            yield str(error)
        except DAMAGE as error:
            yield f"case '{path}' is damaged ({type(error).__name__}); see `diagnose verify`"


def shelved(case: Case, base: RuleBase) -> Shelved:
    """Return what the entries of a case say without ranking anything."""
    live = standing_entries(case.events)
    repairs = tuple(e for e in live if e.kind == "repair")
    cause, share = _last_advice(live)
    unfinished = open_of(case, base)
    return Shelved(case, _state(case, unfinished), open_items(case.events), repairs, cause, share, unfinished)


def _state(case: Case, unfinished: Sequence[Open]) -> str:
    """Return how the complaints of a case stand; confirmed only where the run after the last repair lacks nothing."""
    looks = case.trouble.looks
    every = complaints(looks)
    living = [c for c in every if not c.gone]
    if every and not living:
        return "confirmed" if not any(o.kind in OF_RUN for o in unfinished) else "gone, run not finished"
    if not any(r.abnormal for look in looks for r in look.results):
        return "no complaint"
    if len(living) < len(every):
        return "one gone, one open" if len(every) == 2 else f"{len(every) - len(living)} gone, {len(living)} open"
    return "repaired, not confirmed" if any(look.repairs for look in looks) else "open"


def _last_advice(events: Sequence[Event]) -> tuple[str, float | None]:
    """Return the first cause the tool last named, with its share."""
    for event in reversed(events):
        top = event.data.get("top")
        if event.kind == "advice" and isinstance(top, list) and top and isinstance(top[0], list) and len(top[0]) == 2:
            share = top[0][1]
            return str(top[0][0]), float(share) if isinstance(share, (int, float)) else None
    return "", None


def same_name(one: str, other: str) -> bool:
    """Return whether two nicknames mean one aircraft: letters' case and blanks aside; nothing is nobody's name."""
    flat = " ".join(one.split()).casefold()
    return bool(flat) and flat == " ".join(other.split()).casefold()


def has_words(case: Case, words: str) -> bool:
    """Return whether every one of some words stands somewhere in the entries of a case."""
    told = " ".join(_texts([e.data for e in case.events]) | {e.person for e in case.events}).casefold()
    return all(word in told for word in words.casefold().split())


def has_serial(case: Case, text: str) -> bool:
    """Return whether a text stands on a unit of a case or on a part taken off or fitted."""
    told = [
        *units(case.events).values(),
        *(e.data.get("text") for e in case.events if e.kind == "unit"),
        *(e.data.get(key) for e in case.events if e.kind == "repair" for key in ("off", "on")),
    ]
    return text.casefold() in "\n".join(_texts(told)).casefold()


def _texts(data: Any) -> set[str]:
    """Return every text inside some data."""
    found, open_ = set(), [data]
    while open_:  # not by recursion: a damaged entry can be nested a thousand deep
        item = open_.pop()
        if isinstance(item, str):
            found.add(item)
        open_ += item.values() if isinstance(item, Mapping) else item if isinstance(item, (list, tuple)) else ()
    return found


def ended(shelf_row: Shelved, base: RuleBase) -> list[tuple[str, str]]:
    """Return (cause, place of the repair) for every cause the repairs of a case end."""
    found = []
    for event in shelf_row.repairs:
        repair = _repair(event, base, shelf_row.case)
        found += [(cause, repair.place) for cause in base.removes(repair.remedy)]
    return found


def _repair(event: Event, base: RuleBase, case: Case) -> Repair:
    return read_repair(str(event.data["remedy"]), base, case.layout)


def repaired_cause(row: Shelved, base: RuleBase, wanted: str) -> bool:
    """Return whether a repair of a case ended a cause, `CAUSE` anywhere or `CAUSE@PLACE` there."""
    cause, _, where = wanted.partition("@")
    return any(c == cause and (not where or inside(row.case.layout, where, place)) for c, place in ended(row, base))


def earlier_cases(
    folder: Path, nickname: str, base: RuleBase, causes: Collection[str] | None = None, but: Path | None = None
) -> list[Earlier]:
    """Return the repairs of other cases of the same aircraft in a folder, newest first.

    With `causes` (`CAUSE@PLACE`, or `CAUSE` anywhere) only those that ended one of them: the fault is back. `but` is the case
    asked from. Files that cannot be read are passed over; without a nickname there is nothing to go by.
    """
    if not " ".join(nickname.split()) or not folder.is_dir():
        return []
    found = []
    own = but.resolve() if but is not None else None
    paths = [p for p in folder.iterdir() if _seen(p) and p.resolve() != own and _named(p, nickname)]
    for row in shelf(sorted(paths), base):
        if isinstance(row, Shelved) and (causes is None or any(repaired_cause(row, base, c) for c in causes)):
            found += list(_earlier(row, base, causes))
    return sorted(found, key=lambda e: (e.time, str(e.file)), reverse=True)


def _named(path: Path, nickname: str) -> bool:
    """Return whether a file's opening line carries the nickname: read before anything else of it is."""
    try:
        with path.open("rb") as file:
            first = json.loads(file.readline(MOST_FIRST_LINE))
    except (OSError, ValueError, RecursionError):
        return False
    return isinstance(first, dict) and first.get("schema") == SCHEMA and same_name(nickname, str(first.get("nickname") or ""))


def _earlier(row: Shelved, base: RuleBase, causes: Collection[str] | None) -> Iterator[Earlier]:
    for event in row.repairs:
        repair = _repair(event, base, row.case)
        alone = Shelved(row.case, row.state, {}, (event,))
        if causes is not None and not any(repaired_cause(alone, base, c) for c in causes):
            continue
        label = base.remedies[repair.remedy].label
        yield Earlier(event.time, repair.remedy, repair.place, label, complaint_gone(row.case.trouble.looks), row.case.path)


def earlier_lines(case: Case, network: Network, causes: Collection[str] | None = None) -> list[str]:
    """Return one line for each earlier repair of the same aircraft, from the folder of a case."""
    nickname = str(case.opening.get("nickname") or "")
    return [str(e) for e in earlier_cases(case.path.parent, nickname, network.base, causes, case.path)]
