"""The worksheet's checks: for each, what was done, why it was chosen, how it was measured, and what it moved."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.case.kinds import MEASURED
from diagnose.case.log import Event
from diagnose.plan.warnings import cautions_of
from diagnose.report.paper.aircraft import aircraft_now
from diagnose.report.paper.model import NOT_RECORDED, Block, Pair, Pairs, Section, Table, Words, pair, para, table, words
from diagnose.report.paper.story import CONFIRMING, EntryGroup, Story, lead_up
from diagnose.report.paper.wording import (
    cause_text,
    field_text,
    judged,
    located,
    made_by,
    measured,
    numbers,
    place_of,
    result_in_force,
    share,
    span,
    who,
)
from diagnose.report.paper.worksheet_why import why_chosen

LABELS = {
    "procedure": "Procedure",
    "conditions": "Conditions",
    "tool": "Tool",
    "calibration": "Calibration due",
    "limit": "Limit",
    "limit_document": "Document of the limit",
}
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
    done = [g for g in story.groups if g.kind != "history"]
    for number, group in enumerate(done, 1):
        yield Section(f"check-{number}", f"{number}. {title(story, group)}", tuple(_blocks(story, group)))


def title(story: Story, group: EntryGroup) -> str:
    """Return what a group of entries is called."""
    if group.kind == "reading":
        return f"Calculation: {group.check or NOT_RECORDED}"
    if group.kind == "check" or (group.kind in ("confirming", "complaint") and group.check not in ("", CONFIRMING)):
        return located(story.network, group.check)
    return KINDS[group.kind]


def _blocks(story: Story, group: EntryGroup) -> Iterator[Block]:
    yield Pairs(tuple(_facts(story, group)))
    yield from _reading_blocks(group)
    if group.results:
        yield _results(story, group)
    moved = belief_table(story, group)
    if moved is not None:
        yield moved
    elif group.results:
        yield para("These entries moved no belief.", "small")


def _facts(story: Story, group: EntryGroup) -> Iterator[Pair]:
    first, last = group.events[0], group.events[-1]
    yield pair("person", "Done by", "; ".join(dict.fromkeys(who(e) for e in group.events)))
    yield pair("time", "When", f"{span(first, last)}, {numbers(group.events)}")
    if group.kind in ("check", "loose"):
        yield pair("why", "Why this one", why_chosen(story, group))
    yield pair("state", "State before", state_before(story, group))
    told = _told(story, group)
    if told:
        yield pair("told", "Cautions of this step", told)
    yield from _measured(group)
    notes = [f"{field_text(e.data['note'])} (entry {e.seq})" for e in group.events if field_text(e.data.get("note"))]
    if notes:
        yield pair("note", "Notes", "\n".join(notes))


def _measured(group: EntryGroup) -> Iterator[Pair]:
    """Yield what was recorded of how a group was measured, then in one line what was not."""
    missing = []
    for name, label in LABELS.items():
        found = measured(group.events, name)
        if found:
            yield pair(name, label, "differs; see each reading" if len(found) > 1 else found[0])
        else:
            missing.append(label.lower())
    if missing:
        yield pair("missing", "Not recorded", ", ".join(missing))


def _told(story: Story, group: EntryGroup) -> str:
    check = story.network.base.checks.get(group.check.partition("@")[0])
    if group.kind == "confirming":
        base = story.network.base
        return " ".join(base.cautions[c].label for c in ("run_area", "prop_live") if c in base.cautions)
    return " ".join(cautions_of(story.network.base, check.cautions, check.access)) if check is not None else ""


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
    extra = [n for n in LABELS if len(measured(group.events, n)) > 1]
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
    out = "withdrawn" if not now else judged(story, now)
    taken = event.data.get("from")
    reading = field_text(event.data.get("reading")) or (f"worked from entry {taken}" if isinstance(taken, int) else "")
    return [
        result_in_force(story, event),
        words(out),
        words(reading),
        *[words(field_text(event.data.get(n))) for n in extra],
        words(str(event.seq)),
    ]


def _bare(story: Story, event: Event) -> bool:
    """Return whether a result is normal, never corrected, and has nothing measured or noted beside it."""
    now = story.result(event)
    return (
        bool(now)
        and event.seq not in story.corrections
        and judged(story, now) == "normal"
        and not any(event.data.get(n) for n in (*MEASURED, "note", "from"))
    )


def _folded(story: Story, events: Sequence[Event]) -> list[str]:
    """Return normal results drawn together: what was looked at, how it was, and where unless all are of one place."""
    found: dict[str, list[str]] = {}
    for event in events:
        result = story.read(story.result(event))[0]
        symptom = story.network.base.symptoms[result.symptom]
        found.setdefault(f"{symptom.label}: {symptom.grades[result.grade]}", []).append(place_of(story.network, result.place))
    one = len({place for places in found.values() for place in places}) == 1
    return [told if one else f"{told} ({', '.join(places)})" for told, places in found.items()]


def _reading_blocks(group: EntryGroup) -> Iterator[Block]:
    for event in group.readings:
        yield para(f"Worked out by calculation {field_text(event.data.get('calculation')) or NOT_RECORDED} ({made_by(event)})")
        rows = [
            (f"{kind} {_name(item)}", _number(item), _beside(item))
            for kind, key in (("given", "inputs"), ("found", "values"), ("limit", "limits"))
            for item in _listed(event.data.get(key))
        ]
        if rows:
            yield table("reading", f"Calculation of entry {event.seq}", (("name", "What"), ("value", "Value"), ("note", "Beside it")), rows)
        said = field_text(event.data.get("says"))
        if said:
            yield para(f"It said: {said}")


def _listed(value: object) -> list[dict[str, object]]:
    if isinstance(value, dict):
        return [{"name": k, **v} if isinstance(v, dict) else {"name": k, "value": v} for k, v in value.items()]
    return [v if isinstance(v, dict) else {"name": "", "value": v} for v in value] if isinstance(value, list) else []


def _name(item: dict[str, object]) -> str:
    return field_text(item.get("name")).replace("_", " ")


def _number(item: dict[str, object]) -> str:
    return f"{field_text(item.get('value')) or NOT_RECORDED} {field_text(item.get('unit'))}".strip()


def _beside(item: dict[str, object]) -> str:
    """Return what stands beside a value: second unit, note, document of a limit."""
    told = [f"{k}: {field_text(v)}" for k, v in item.items() if k not in ("name", "value", "unit") and field_text(v)]
    return "; ".join(told) or "-"


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
