"""The debrief of a drill: what it was, the twelve measures, and every step again: what was known, what it could tell, what was better."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from diagnose.assessment.assess import Assessment
from diagnose.plan.plan import Valued
from diagnose.plan.warnings import ALWAYS
from diagnose.report import screens
from diagnose.report.brief import suspects, telling
from diagnose.report.paper.model import Block, Pair, Paper, Para, Section, bullets, pair, pairs, para, plain, table, words
from diagnose.report.paper.wording import located
from diagnose.report.said import cause_name
from diagnose.stand.faults import KINDS
from diagnose.training.judged import HABITS, Judged, results_of
from diagnose.training.levels import CODES_FROM, LEVELS, RECORD_CODES, SAFETY_CODES
from diagnose.training.measures import OTHER, Measures, rows
from diagnose.training.own_path import OwnStep
from diagnose.training.still_in import wrong
from diagnose.training.task import truths
from diagnose.training.topics import topics_of
from diagnose.trouble.network import Network

CONFIRM, WHY = "Confirming run", "Why: "
NOT_FOUND = "The tool did not find this one: the fault was still in the engine after it. Its plan is no proof."
MOST_TOPICS = 3  # named at a step
MUCH_BETTER = 1.25  # times the bits a minute: from here the other check is called better (estimate)
ABOUT = "Nobody is graded by this figure alone: read the steps. Shares and bits are the rule base's, the fault is the simulation's own."


def debrief(m: Measures) -> Paper:
    """Return the debrief of a drill."""
    task = m.work.task
    return Paper(
        schema="debrief/1",
        kind="Debrief of an exercise",
        title=task.title,
        about=ABOUT,
        lead=tuple(_lead(m)),
        sections=(
            Section("was", "What it was", tuple(_was(m))),
            Section("measures", "The twelve measures", (pairs(pair(key, name, came) for key, name, came in rows(m)),)),
            Section("steps", "Step by step", (), _steps(m)),
            Section("own", "The tool's own way on the same engine", tuple(_own(m))),
        ),
        foot=(words(ALWAYS[1]), words(CODES_FROM), words("Weights, and where a step counts as poor, are estimates.")),
        mark="Exercise: no aircraft",
    )


def _lead(m: Measures) -> Iterator[Block]:
    yield para(f"{m.score} of 100. " + ("Nothing was lost." if not m.lost else "What was lost, safety first:"))
    order = sorted(m.lost.items(), key=lambda row: (row[0] not in m.safety, -row[1], row[0]))
    if order:
        yield bullets(f"{name}: -{lost:.0f}" for name, lost in order if round(lost))
    if m.count("unsafe"):
        yield para("A step that would have hurt somebody outweighs every right answer: no more than 60 is given.", "alert")
    for text in (*m.left_off, *m.left_open):
        yield para(f"Left at the end: {text}", "alert")


def _was(m: Measures) -> Iterator[Block]:
    network, task = m.work.network, m.work.task
    for fault, causes, found in zip(task.exercise.faults, truths(network, task), m.found, strict=True):
        sizes = ", ".join(f"{name} {size:.3g} {KINDS[fault.kind].sizes[name].unit}".rstrip() for name, size in fault.sizes.items())
        where = "" if fault.place == "engine" else f", {fault.place}"
        yield para(f"In the engine: {KINDS[fault.kind].told}{where}{f' ({sizes})' if sizes else ''}. {'Found.' if found else 'Not found.'}")
        yield from (para(f"{cause_name(network, c)}. {network.causes[c].cause.note}") for c in sorted(causes)[:2])
        if not causes:
            yield para("No cause of the rule base describes it: right is to say that it is something else, and to stop there.")
    said = [cause_name(network, c) if c in network.causes else "something else" for c in m.named]
    yield pairs([pair("named", "Written down", "; ".join(said) or "nothing"), *_wrong_names(m)])
    yield from ([para(task.teaches)] if task.teaches else [])
    codes = (*LEVELS[task.level].codes, *SAFETY_CODES, *RECORD_CODES) if task.level in LEVELS else ()
    yield pairs([pair("codes", "Counts for", ", ".join(codes))])
    if m.lacking:
        yield para("The entry lacks:")
        yield bullets(m.lacking)


def _wrong_names(m: Measures) -> Iterator[Pair]:
    names = [cause_name(m.work.network, c) if c != OTHER else "something else" for c in m.wrongly_named]
    if names:
        yield pair("wrong", "Not there", "; ".join(names))


def _shown(m: Measures) -> list[Judged]:
    return [j for j in m.judged if j.move in ("check", "repair", "confirm", "unsafe", "marks", "ranking")]


def _steps(m: Measures) -> tuple[Section, ...]:
    """Return every step as a section; what is said of a cause is said once."""
    said: set[Block] = set()
    found = []
    for number, j in enumerate(_shown(m), 1):
        section = _step(m, number, j)
        notes = {b for b in section.blocks if isinstance(b, Para) and plain(b.words).startswith(WHY)}
        found.append(replace(section, blocks=tuple(b for b in section.blocks if b not in said)))
        said |= notes
    return tuple(found)


def _step(m: Measures, number: int, j: Judged) -> Section:
    title = f"{number}. {_title(m.work.network, j)}"
    blocks = {"check": _check, "repair": _repair, "marks": _marks, "unsafe": _unsafe}.get(j.move)
    return Section(f"step{number}", title, tuple(blocks(m, j)) if blocks is not None else (para(_plainly(m, j)),))


def _title(network: Network, j: Judged) -> str:
    data = j.event.data
    step = str(data.get("check") or data.get("remedy") or data.get("step") or "")
    name = {"confirm": CONFIRM, "marks": "What still fits", "ranking": "Asked for the ranking"}.get(j.move)
    name = name or (CONFIRM if step == "confirm" else located(network, step))
    minutes = f", {float(data['minutes']):.0f} min" if "minutes" in data else ""
    return f"{'STOPPED: ' if j.move == 'unsafe' else ''}{name}{minutes}"


def _plainly(m: Measures, j: Judged) -> str:
    if j.move == "ranking":
        return "Asked for, and counted. " + _known(m.work.network, j.before)
    gone = {
        str(e.data["result"]) for e in m.work.case.events if e.kind == "result" and j.event.seq < e.seq < j.event.seq + j.event.batch[1]
    }
    bad = [screens.result_words(m.work.network, text) for text in sorted(gone) if wrong(text)]
    return f"Still wrong: {'; '.join(bad)}." if bad else "Nothing was wrong on it any more."


def _known(network: Network, a: Assessment) -> str:
    told = "; ".join(f"{row.left} {row.right}" for row in suspects(network, a, 3))
    return f"Known before: {told}."


def _check(m: Measures, j: Judged) -> Iterator[Block]:
    network = m.work.network
    yield para(_known(network, j.before))
    yield para(f"It could tell {j.told:.2f} bits. {_showed(m, j)}{_foresaw(j)}")
    yield from _habits(m, j)
    minutes = max(1.0, float(j.event.data["minutes"]))
    best = j.best
    if best is not None and best.located.id != j.event.data["check"] and best.information / best.minutes > MUCH_BETTER * j.told / minutes:
        yield from _better(network, j.before, best)


def _showed(m: Measures, j: Judged) -> str:
    bad = [screens.result_words(m.work.network, text) for text in results_of(m.work, j.event) if wrong(text)]
    return f"It showed: {'; '.join(bad)}." if bad else "It showed nothing wrong."


def _foresaw(j: Judged) -> str:
    if not j.event.data.get("guess"):
        return " Nothing was foreseen."
    if j.right is None:
        return " What was foreseen could not be told from it: it counts neither way."
    sure = f", at {j.sure:.0%}" if j.sure is not None else ""
    return f" {'As foreseen' if j.right else 'Not as foreseen'}{sure}."


def _habits(m: Measures, j: Judged) -> Iterator[Block]:
    for habit in j.habits:
        if habit == "missed":
            yield bullets(f"Left out before it: {m.work.network.base.cautions[c].label}" for c in j.missed)
        else:
            yield para(f"{HABITS[habit][:1].upper()}{HABITS[habit][1:]}.", "alert")


def _better(network: Network, a: Assessment, best: Valued) -> Iterator[Block]:
    """Yield the check that told more for its minutes, how its results part the suspects, and why the first of them acts so."""
    reason = f" {best.reason[:1].upper()}{best.reason[1:]}." if best.reason else ""
    yield para(f"Better: {screens.check_words(network, best)}: {best.information:.2f} bits in {best.minutes:.0f} min.{reason}")
    leads: dict[str, str] = {}
    for outcome in telling(best.outcomes(), 6):
        leads.setdefault(outcome.top(1)[0][0], _seen(network, outcome.results))
    shown = list(leads.items())[:2]
    yield bullets(f"{seen}: then rather {cause_name(network, cause)}" for cause, seen in shown)
    notes = dict.fromkeys(network.causes[cause].cause.note for cause, _ in shown)
    yield from (para(f"{WHY}{note}") for note in list(notes)[:2] if note)
    entries = (best.located.check, *(network.causes[c].cause for c, _ in shown))
    topics = list(dict.fromkeys(topic for entry in entries for topic in topics_of(network.base, entry)))
    if topics:
        yield para(f"To read up: {', '.join(f'diagnose explain {topic}' for topic in topics[:MOST_TOPICS])}")


def _seen(network: Network, results: tuple[str, ...]) -> str:
    normal = len(results) > 1 and all(r.endswith(("=no", "=normal")) for r in results)
    said = "all normal" if normal else screens.result_words(network, results[-1])
    return f"{said[:1].upper()}{said[1:]}"


def _repair(m: Measures, j: Judged) -> Iterator[Block]:
    yield para(_known(m.work.network, j.before))
    ended = "It ended a fault." if j.right else "It ended nothing that was wrong."
    yield para(ended + (f" Sure at {j.sure:.0%}." if j.sure is not None else " No confidence was stated."))
    yield from _habits(m, j)
    if "early_part" in j.habits and j.best is not None:
        yield from _better(m.work.network, j.before, j.best)


def _marks(m: Measures, j: Judged) -> Iterator[Block]:
    data, families = j.event.data, j.before.finding.families
    yield para(f"Marked as fitting: {', '.join(map(_family, data['fits'])) or 'none'}.")
    for said, wrongly in (("Ruled out, and still fits", j.omitted), ("Kept, and ruled out by what was seen", j.kept)):
        if wrongly:
            yield para(f"{said}: {', '.join(f'{_family(f)} ({screens.percent(families[f])})' for f in wrongly)}.", "alert")
    if not j.omitted and not j.kept:
        yield para("Right.")


def _family(name: str) -> str:
    return name.replace("_", " ")


def _unsafe(m: Measures, j: Judged) -> Iterator[Block]:
    open_run = "The engine cannot run so, and it was stopped after it was insisted on:"
    hurt = "It would have hurt somebody or the engine as things stood, and was stopped:"
    yield para(open_run if "open_run" in j.habits else hurt, "alert")
    yield bullets(str(text) for text in j.event.data.get("why", ()))


def _own(m: Measures) -> Iterator[Block]:
    network, path = m.work.network, m.path
    done = [(_own_words(network, s), f"{s.minutes:.0f} min", f"{s.bits:.2f}" if s.kind == "check" else "-") for s in path.steps]
    yield table("own", f"{path.minutes:.0f} min in all", (("step", "Step"), ("minutes", "Minutes"), ("bits", "Bits it could tell")), done)
    yield para("The fault was ended by it." if path.gone else NOT_FOUND)


def _own_words(network: Network, step: OwnStep) -> str:
    return {"run": CONFIRM, "right": f"Put right: {step.id}"}.get(step.kind) or located(network, step.id)
