"""The worksheet's checks: for each, what was done, why it was chosen, how it was measured, and what it moved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.case.kinds import CONFIRMING
from diagnose.case.log import Event
from diagnose.plan.warnings import cautions_of
from diagnose.report.paper import measure
from diagnose.report.paper.aircraft import aircraft_now
from diagnose.report.paper.model import NOT_RECORDED, Block, Pair, Pairs, Section, Table, Words, pair, para, safe, table, words
from diagnose.report.paper.story import EntryGroup, Story, lead_up
from diagnose.report.paper.wording import (
    cause_text,
    field_text,
    judged,
    located,
    made_by,
    measured,
    numbers,
    people,
    place_of,
    result_in_force,
    share,
    span,
)
from diagnose.report.paper.worksheet_why import why_chosen
from diagnose.trouble.sentences import finding_of

LABELS = {"procedure": "Data", "conditions": "Conditions", "tool": "Tool", "calibration": "Calibration", "limit": "Limit"}
PER_RESULT = ("conditions", "tool", "procedure")  # where they differ within a check, each result has its own
KINDS = {
    "complaint": "The complaint as results",
    "history": "What happened before",
    "loose": "Results with no check named",
    "confirming": "Confirming run",
}
SHOWN = 4  # causes in a before-and-after table
FOLDED = 3  # from this many bare normal results on, one row holds them all


def check_sections(story: Story) -> Iterator[Section]:
    """Yield one part for every group of entries that holds results or readings, history left out."""
    before = ""
    for number, group in enumerate(_shown(story), 1):
        state = state_before(story, group)
        yield Section(f"check-{number}", f"{number}. {title(story, group)}", tuple(_blocks(story, group, "" if state == before else state)))
        before = state


def _shown(story: Story) -> list[EntryGroup]:
    return [g for g in story.groups if g.kind != "history"]


def cautions_told(story: Story) -> list[str]:
    """Return the cautions of the checks done, each once, with the numbers of its checks."""
    found: dict[str, list[str]] = {}
    for number, group in enumerate(_shown(story), 1):
        for text in _cautions(story, group):
            found.setdefault(text, []).append(str(number))
    return [f"{text} (check {', '.join(made)})" for text, made in found.items()]


def title(story: Story, group: EntryGroup) -> str:
    """Return what a group of entries is called."""
    if group.kind == "reading":
        return f"Calculation: {group.check or NOT_RECORDED}"
    if group.kind == "check" or (group.kind in ("confirming", "complaint") and group.check not in ("", CONFIRMING)):
        return located(story.network, group.check)
    return KINDS[group.kind]


def _blocks(story: Story, group: EntryGroup, state: str) -> Iterator[Block]:
    yield Pairs(tuple(_facts(story, group, state)))
    yield from _reading_blocks(group)
    if group.results:
        yield _results(story, group)
    moved = belief_table(story, group)
    if moved is not None:
        yield moved
    elif group.results:
        yield para("These entries moved no belief.", "small")


def _facts(story: Story, group: EntryGroup, state: str) -> Iterator[Pair]:
    first, last = group.events[0], group.events[-1]
    yield pair("person", "Done by", people(story, group.events))
    yield pair("time", "When", f"{span(first, last)}, {numbers(group.events)}")
    if group.kind in ("check", "loose"):
        yield pair("why", "Why this one", why_chosen(story, group))
    if state:
        yield pair("state", "State before", state)
    yield from _measured(group)
    notes = [f"{field_text(e.data['note'])} (entry {e.seq})" for e in group.events if field_text(e.data.get("note"))]
    if notes:
        yield pair("note", "Notes", "\n".join(notes))


def _measured(group: EntryGroup) -> Iterator[Pair]:
    """Yield what was recorded of how a group was measured, then in one line what was not."""
    found = {
        "procedure": measured(group.events, "procedure"),
        "conditions": measured(group.events, "conditions"),
        "tool": measure.tools(group.events),
        "limit": measure.limits(group.events),
    }
    for name, told in found.items():
        if len(told) > 1 and name in ("procedure", "conditions"):
            yield pair(name, LABELS[name], "differs; see each reading")
        elif told:
            yield pair(name, LABELS[name], "; ".join(told))
    missing = [LABELS[name].lower() for name, told in found.items() if not told]
    if missing:
        yield pair("missing", "Not recorded", ", ".join(missing))


def _cautions(story: Story, group: EntryGroup) -> tuple[str, ...]:
    base = story.network.base
    if group.kind == "confirming":
        return tuple(base.cautions[c].label for c in ("run_area", "prop_live") if c in base.cautions)
    check = base.checks.get(group.check.partition("@")[0])
    return cautions_of(base, check.cautions, check.access) if check is not None else ()


def state_before(story: Story, group: EntryGroup) -> str:
    """Return what was last recorded of the aircraft before a group of entries, and what was reached for it."""
    told = [f"{n.what}: {n.how}" for n in aircraft_now(story, group.first)]
    reached = next((e for e in lead_up(story, group) if e.kind == "access"), None)
    return "; ".join([*told, *([access_text(story, reached)] if reached is not None else [])])


def access_text(story: Story, event: Event) -> str:
    """Return what an `access` entry says was reached."""
    base = story.network.base
    now = event.data.get("now")
    names = [base.access[n].label if n in base.access else str(n) for n in now] if isinstance(now, list) else []
    return f"reached: {', '.join(names) or 'nothing'} (entry {event.seq})"


def _results(story: Story, group: EntryGroup) -> Table:
    """Return the results of a group: each on its row, bare normal ones folded into one."""
    extra = [n for n in PER_RESULT if len(measured(group.events, n)) > 1]
    bare = [e for e in group.results if _bare(story, e)]
    folded = bare if len(bare) >= FOLDED else []
    rows = [_row(story, e, extra) for e in group.results if e not in folded]
    if folded:
        rows.append(
            [
                words("\n".join(_folded(story, folded))),
                words(f"all {len(folded)} normal"),
                words(""),
                *[words("") for _ in extra],
                words(numbers(folded)),
            ]
        )
    columns = [
        ("result", "Result"),
        ("outcome", "Came out"),
        ("reading", "Raw reading"),
        *((n, LABELS[n]) for n in extra),
        ("entry", "Entry"),
    ]
    return table("results", "Results", columns, rows)


def _row(story: Story, event: Event, extra: Sequence[str]) -> list[Words]:
    now = story.result(event)
    return [
        result_in_force(story, event),
        words(judged(story, now)),
        words(_reading(story, event)),
        *[words(field_text(story.said(event, n))) for n in extra],
        words(str(event.seq)),
    ]


def _reading(story: Story, event: Event) -> str:
    source = story.source(event)
    own = field_text(story.data(event).get("reading"))
    return own or (f"of entry {source.seq}" if source is not None else "")


def _bare(story: Story, event: Event) -> bool:
    """Return whether a result is normal, never corrected, and has no reading or note of its own."""
    now = story.result(event)
    return (
        event.seq not in story.corrections
        and judged(story, now) == "normal"
        and not any(event.data.get(n) for n in ("reading", "note", "limit"))
    )


def _folded(story: Story, events: Sequence[Event]) -> list[str]:
    """Return normal results drawn together: what was found, and where unless all are of one place."""
    found: dict[str, list[str]] = {}
    for event in events:
        result = story.read(story.result(event))[0]
        found.setdefault(finding_of(story.network.base, str(result)), []).append(place_of(story.network, result.place))
    one = len({place for places in found.values() for place in places}) == 1
    return [told if one else f"{told} ({', '.join(places)})" for told, places in found.items()]


def _reading_blocks(group: EntryGroup) -> Iterator[Block]:
    """Yield each calculation whole: what was given, what came of it, its tables, what it said."""
    for event in group.readings:
        title = (
            field_text(event.data.get("title")) or f"Worked out by calculation {field_text(event.data.get('calculation')) or NOT_RECORDED}"
        )
        yield para(f"{title} ({made_by(event)})")
        rows = [
            pair(key, label, "; ".join(measure.named(v) for v in measure.listed(event.data.get(key))))
            for key, label in (("inputs", "Given"), ("values", "Found"))
            if measure.listed(event.data.get(key))
        ]
        said = field_text(event.data.get("says"))
        yield Pairs((*rows, *([pair("says", "It said", said)] if said else [])))
        yield from _tables(event)


def _tables(event: Event) -> Iterator[Table]:
    for number, found in enumerate(measure.listed(event.data.get("tables")), 1):
        names, rows = found.get("columns"), found.get("rows")
        if isinstance(names, list) and names and isinstance(rows, list):
            columns = [(f"column_{n}", safe(field_text(name))) for n, name in enumerate(names, 1)]
            cells = [[field_text(c) or "-" for c in row[: len(names)]] for row in rows if isinstance(row, list) and len(row) >= len(names)]
            yield table(f"cells_{number}", field_text(found.get("title")) or f"Table of entry {event.seq}", columns, cells)


def belief_table(story: Story, group: EntryGroup) -> Table | None:
    """Return how likely each leading cause was before and after a group of entries; None where nothing moved."""
    last = story.events.index(group.events[-1])
    before, after = story.steps[group.first].before, story.steps[last].after
    if before == after:
        return None
    if after.impossible:
        return table(
            "ranking",
            "Belief before and after",
            (("cause", "Cause"), ("after", "After")),
            [("all of them", "the results cannot all be true under this rule base")],
        )
    names = list(dict.fromkeys(r.id for s in (after, before) for r in s.causes))
    names.sort(key=lambda c: (-max(before.share(c), after.share(c)), c))
    rows = [(cause_text(story.network, c), _share(before.share(c), bool(before.causes)), share(after.share(c))) for c in names[:SHOWN]]
    if after.unmodelled is not None:
        old = "no complaint yet" if before.unmodelled is None else share(before.unmodelled)
        rows.append(("Something else, not in this rule base", old, share(after.unmodelled)))
    present = " (before: how likely it is there at all, nothing being complained of yet)" if before.unmodelled is None else ""
    return table(
        "ranking",
        f"How likely each is to cause it, before and after{present}",
        (("cause", "Cause"), ("before", "Before"), ("after", "After")),
        rows,
    )


def _share(value: float, known: bool) -> str:
    return share(value) if known else "nothing entered yet"
