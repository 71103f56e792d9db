"""The hand-over sheet: the aircraft as it stands, where the work stands, what comes next. One page, one phone screen."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.assessment.assess import Assessment
from diagnose.assessment.explain import why_check
from diagnose.assessment.steps import Step, next_step
from diagnose.case.kinds import CONFIRMING
from diagnose.case.log import Event
from diagnose.plan.make_good import MakeGood, make_good
from diagnose.plan.to_run import WHOLE_RUN
from diagnose.plan.warnings import before_turning, cautions_of
from diagnose.report.paper import measure
from diagnose.report.paper.aircraft import Now, aircraft_now, forbids, left_by, unrecorded
from diagnose.report.paper.alerts import alerts, mark
from diagnose.report.paper.alternatives import disproved
from diagnose.report.paper.complaints import in_results, own_words, stands_together, told_together
from diagnose.report.paper.confirming import done_with, parts_told, run_parts
from diagnose.report.paper.model import NOT_RECORDED, Blanks, Block, Pair, Paper, Section, pair, pairs, words
from diagnose.report.paper.open_items import open_now
from diagnose.report.paper.story import Story, looked_at_again
from diagnose.report.paper.summary import event_text
from diagnose.report.paper.wording import cause_text, event_result, field_text, located, pct, persons, said_of_it, shortened, when, who
from diagnose.report.paper.work import parts
from diagnose.report.screens import exchanged_words
from diagnose.rulebase.records import Check, Remedy
from diagnose.trouble.aircraft import turning
from diagnose.trouble.complaint import still_to_look_at
from diagnose.trouble.sentences import question_of

GONE = "The complaint did not show again on the confirming run; a licensed person decides"
ABOUT = "For whoever goes on with the work. Say it at the aircraft as well; this sheet does not replace the talk."
LONG = 110  # characters of one person's text; the rest stands on the worksheet
MANY = 3
MANY_OPEN = 6
MANY_DOWN = 2
MANY_MEASURED = 2


def handover(story: Story) -> Paper:
    """Return the hand-over sheet of a case."""
    name = shortened(field_text(story.case.opening.get("nickname")), 60, "worksheet")
    return Paper(
        schema="handover/1",
        kind="Hand-over",
        title=name or "Aircraft not named in the case",
        about=ABOUT,
        lead=tuple(alerts(story, always=True)),
        sections=(
            Section("aircraft", "The aircraft now", tuple(_aircraft(story))),
            Section("work", "The work", (pairs(_work(story)),)),
            Section("people", "Whom to ask", tuple(_people(story))),
        ),
        foot=(words(f"Made {story.made} from {story.case.path.name}, {len(story.events)} entries, head {story.head[:16]}"),),
        compact=True,
        mark=mark(story),
    )


def _aircraft(story: Story) -> Iterator[Block]:
    rows = [
        pair(n.what.replace(" ", "_"), shortened(n.what[:1].upper() + n.what[1:], 30, f"entry {n.stamp.entry}"), _how(story, n))
        for n in aircraft_now(story)
    ]
    moved = exchanged_words(story.network, story.case.trouble.looks)
    if moved:
        rows.append(pair("exchanged", "Parts exchanged", "\n".join(moved)))
    missing = [thing for thing in unrecorded(story) if thing != "parts off" or not _parts(story)]  # told below, as written
    if missing:
        rows.append(pair("missing", "Not recorded", f"{', '.join(missing)} - look before you touch"))
    yield pairs(rows)


def _how(story: Story, now: Now) -> str:
    step = left_by(story, now)
    by = f" (by: {step})" if step else ""
    event = next((e for e in story.events if e.seq == now.stamp.entry), None)
    at = when(event)[5:16] if event is not None else now.stamp.time
    return f"{shortened(now.how, LONG, f'entry {now.stamp.entry}')}{by} ({at}, entry {now.stamp.entry})"


def _work(story: Story) -> Iterator[Pair]:
    yield pair("complaint", "Complaint", _complaint(story))
    yield pair("last", "Last done", _last(story))
    begun = _in_progress(story)
    if begun:
        yield pair("begun", "Begun", begun)
    step, why, cautions = next_steps(story)
    yield pair("next", "Next", step)
    yield pair("why", "Why", why)
    if cautions:
        yield pair("cautions", "Take care", cautions)
    yield pair("disproved", "Ruled down", _disproved(story))
    measured = _measured(story)
    if measured:
        yield pair("measured", "Measured", measured)
    if run_parts(story):
        yield pair("run", "Confirming run", _run(story))
    yield pair("parts", "Parts off", _parts(story))
    yield pair("open", "Open items", _open(story))


def _complaint(story: Story) -> str:
    every = told_together(story)
    if len(every) < 2:
        return shortened(said_of_it(story) or "; ".join(in_results(story, t) for t in every), LONG, "worksheet")
    said = [(t.name, shortened(own_words(story, t) or in_results(story, t), LONG, "worksheet"), stands_together(story, t)) for t in every]
    return "\n".join(f"{name}: {words}: {now}" for name, words, now in said)


def _last(story: Story) -> str:
    done = [e for e in story.events if e.kind in ("result", "repair", "exchange") and not story.withdrawn(e)]
    if not done:
        return "nothing"
    last = done[-1]
    check = story.check(last) if last.kind == "result" else ""
    what = located(story.network, check) if check else event_text(story, last)
    return f"{shortened(what, LONG, 'worksheet')} ({who(last)[:40]}, {when(last)[5:16]}, entry {last.seq})"


def _in_progress(story: Story) -> str:
    """Return the check an `access` entry prepared for and no result has followed."""
    begun: Event | None = None
    for event in story.events:
        if event.kind == "access" and event.data.get("check"):
            begun = event
        elif event.kind in ("result", "repair", "exchange", "decline"):
            begun = None
    return f"{located(story.network, str(begun.data['check']))}, no result yet (entry {begun.seq})" if begun is not None else ""


def next_steps(story: Story) -> tuple[str, str, str]:
    """Return the next step, why, and its cautions."""
    a = story.assessment
    if a is None:
        first = next(iter(make_good(story.network, story.case.trouble, forbids(story))), None)
        if first is not None and first.bars:
            return _made_good(story, first)
        return "Repeat the results that cannot all be true", "Nothing can be ranked until they are sorted out", ""
    step = next_step(story.network, a)
    if step is not None and step.make_good is not None:
        return _made_good(story, step.make_good)
    if not story.complaint:
        return "Put the complaint into results", "Nothing is complained of yet", ""
    if step is None:
        return f"{'Close what is open (below), then write' if open_now(story) else 'Write'} the maintenance entry", GONE, ""
    if step.kind == "help":
        return "Get help", "No check pays for itself and no repair stands out", ""
    if step.kind == "finish_run":
        told = (*cautions_of(story.network.base, (), ("engine_running",)), *before_turning(WHOLE_RUN, a.trouble.aircraft))
        if step.look_at:
            return located(story.network, CONFIRMING), _not_again(story), " ".join(told)
        return f"Confirming run, still to do: {'; '.join(step.rest)}", "A confirming run is all of it", " ".join(told)
    return _check_or_repair(story, a, step)


def _not_again(story: Story) -> str:
    """Return what of the complaint was looked at again since the last repair, and what was not."""
    network, looks = story.network, story.case.trouble.looks
    wanted = "; ".join(question_of(network.base, network.layout, name) for name in still_to_look_at(looks))
    since = story.live("repair")[-1].seq
    seen = [e for told, c in story.complaint for e in looked_at_again(story, told, c) if e.seq > since]
    again = "; ".join(dict.fromkeys(f"{event_result(story, e, story.result(e))} (entry {e.seq})" for e in seen))
    if not again:
        return "The complaint was not looked at again since the last repair"
    return f"Looked at again since the last repair: {again}. Not yet: {wanted}"


def _made_good(story: Story, item: MakeGood) -> tuple[str, str, str]:
    return item.label, item.why, "Tag the propeller and keep out of its arc" if item.bars else ""


def _check_or_repair(story: Story, a: Assessment, step: Step) -> tuple[str, str, str]:
    if step.check is not None:
        why = why_check(step.check, None)
        return located(story.network, step.check.located.id), why[0].upper() + why[1:], _take_care(story, a, step.check.located.check)
    key = step.group.key if step.group is not None else ""
    why = f"No further check pays for itself; it ends the trouble with {pct(a.finding.group_shares[key])}"
    return located(story.network, key), why, _take_care(story, a, a.groups[key].remedy)


def _take_care(story: Story, a: Assessment, entry: Check | Remedy) -> str:
    base = story.network.base
    before = before_turning(turning(base, entry), a.trouble.aircraft, entry.access)
    return " ".join((*before, *cautions_of(base, entry.cautions, entry.access)))


def _disproved(story: Story) -> str:
    found = disproved(story)
    told = [f"{cause_text(story.network, a.cause)} (was {pct(a.peak)})" for a in found[:MANY_DOWN]]
    more = [f"{len(found) - MANY_DOWN} more on the worksheet"] if len(found) > MANY_DOWN else []
    return "; ".join([*told, *more]) or "nothing yet"


def _parts(story: Story) -> str:
    off = [f"{shortened(part, LONG, f'entry {e.seq}')} (entry {e.seq})" for way, part, e in parts(story) if way == "off"]
    more = [f"{len(off) - MANY} more on the worksheet"] if len(off) > MANY else []
    return "; ".join([*off[:MANY], *more])


def _open(story: Story) -> str:
    told = open_now(story, LONG)
    more = [f"{len(told) - MANY_OPEN} more on the worksheet"] if len(told) > MANY_OPEN else []
    return "\n".join([*told[:MANY_OPEN], *more]) or "none left open in the record"


def _run(story: Story) -> str:
    """Return the confirming run part by part, and once what it was done with."""
    return "\n".join((*parts_told(story, by=False), *done_with(story)))


def _measured(story: Story) -> str:
    """Return the newest calculations not told with the run, each whole: numbers as read, limits, tool, data, person."""
    told: list[str] = []
    run = {source.seq for p in run_parts(story) if p.look is not None and (source := story.source(p.look)) is not None}
    newest = [e for g in reversed(story.groups) for e in g.readings if e.seq not in run and not story.withdrawn(e)]
    for event in newest[:MANY_MEASURED]:
        how = (*measure.limits([event]), *measure.tools([event]), f"data: {measure.data_used([event]) or NOT_RECORDED}")
        title = field_text(event.data.get("title")) or f"calculation {field_text(event.data.get('calculation')) or NOT_RECORDED}"
        told.append(f"{title}: {'; '.join((*measure.given(event), *how))} ({who(event)}, entry {event.seq})")
    return "\n".join(told)


def _people(story: Story) -> Iterator[Block]:
    named = [e for e in reversed(story.events) if e.person.strip()]
    told = [shortened(n, 60, "worksheet") for n in persons(story, named)]
    yield pairs([pair("people", "Newest first", "; ".join(told[:MANY]))])
    yield Blanks((("Telephone", ""), ("Taken over by, time", "")))
