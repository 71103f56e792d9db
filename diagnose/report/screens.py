"""Terminal screens: what is probably wrong, what to do next, and why. Readable at 80 columns and without colour.

Everything that comes from the rule base or a person is printed as plain text, never as markup.
"""

from __future__ import annotations

import math
import os
import re
import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from diagnose.assessment.assess import Assessment
from diagnose.assessment.explain import Account, Reason, odds, why_check
from diagnose.assessment.finding import Ranked, words
from diagnose.assessment.steps import held_back, next_step, remedy_order
from diagnose.case.still_open import of_aircraft, of_looks
from diagnose.plan.make_good import MakeGood
from diagnose.plan.outcomes import Outcome
from diagnose.plan.plan import Valued
from diagnose.plan.to_run import WHOLE_RUN
from diagnose.plan.warnings import ALWAYS, before_turning, cautions_of, step_warnings
from diagnose.report.said import aircraft_words, alarms, cause_name, cause_now, result_after
from diagnose.report.text import clean, cut, size
from diagnose.rulebase.records import Check, Remedy, RuleBase
from diagnose.trouble.aircraft import turning
from diagnose.trouble.complaint import reopened
from diagnose.trouble.evidence import parts_elsewhere
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup
from diagnose.trouble.results import NOTHING
from diagnose.trouble.sentences import question_of, sentence_of

if TYPE_CHECKING:
    from rich.console import Console

BAR, LONG_BAR = 8, 24
WIDE = 100  # from so many columns on, bars are long and an outcome and what it leads to share a line
ROWS, MOST_ROWS, AROUND = 8, 30, 16  # suspects shown always and at most; lines around them that a taller screen keeps free
BEFORE = "until repaired"  # in place of the word for a share, of a cause that a repair ended: it does not stand now
MOST_REASONS = 8  # entries of a cause told one by one
STATE_TEXT = {
    "isolated": "ISOLATED - one repair stands out",
    "ambiguous": "AMBIGUOUS - no check here can split what is left",
    "unsettled": "UNSETTLED - not enough yet; see the next check",
    "unexplained": "UNEXPLAINED - fits nothing in this rule base well",
    "confirmed": "COMPLAINT GONE - it did not show again under its own conditions",
}


def console(stderr: bool = False) -> Console:
    """Return a console: as wide as `text.size` says, 80 when piped, no colour where NO_COLOR is set."""
    from diagnose.report.terminal import Terminal

    stream = sys.stderr if stderr else sys.stdout
    plain = bool(os.environ.get("NO_COLOR")) or os.environ.get("TERM") == "dumb" or not stream.isatty()
    made = Terminal(
        stderr=stderr, highlight=False, markup=False, emoji=False, soft_wrap=False, color_system=None if plain else "auto", no_color=plain
    )
    made.width = size()[0]
    return made


def line(out: Console, text: str, style: str = "", indent: int = 0) -> None:
    """Print one paragraph, wrapped under its own indent."""
    from rich.padding import Padding
    from rich.text import Text

    out.print(Padding(Text(clean(text), style=style), (0, 0, 0, indent), expand=False))


def heading(out: Console, text: str) -> None:
    """Print a heading."""
    line(out, "")
    line(out, text, "bold")


def place_words(network: Network, place: str) -> str:
    """Return a place as it is said on the ramp."""
    if place in ("left", "right"):
        return f"{place} magneto"
    if "-" in place:
        cylinder, position = place.split("-")
        return f"No. {cylinder} {position} ({network.layout.side_of[place]})"
    return f"No. {place} cylinder" if place.isdigit() else place


def bar(share: float, width: int = BAR) -> str:
    """Return a bar of fixed width."""
    full = round(share * width)
    return "#" * full + "." * (width - full)


def rows_shown() -> int:
    """Return how many suspects a screen has room for."""
    return min(MOST_ROWS, max(ROWS, size()[1] - AROUND))


def percent(share: float) -> str:
    """Return a share as people say it, never 0 or 100."""
    if share < 0.001:
        return "<0.1 %"
    return f"{share:.1%}".replace("%", " %") if share < 0.095 else (">99 %" if share > 0.995 else f"{share:.0%}".replace("%", " %"))


def show_ranking(out: Console, network: Network, assessment: Assessment, count: int = 0) -> None:
    """Print the finding: state, ranked causes (0: as many as fit), families, what was set aside."""
    finding = assessment.finding
    count = count or rows_shown()
    for warning in alarms(network, assessment)[: -len(ALWAYS)]:
        line(out, f"! {warning}", "bold")
    for again in reopened(assessment.trouble.looks):
        line(out, f"A NEW COMPLAINT: {result_words(network, str(again.result))}; every earlier one was seen to be gone", "bold")
    show_aircraft(out, assessment)
    heading(out, STATE_TEXT[finding.state])
    if assessment.complaint:
        line(out, "Complaint: " + ", ".join(result_words(network, c) for c in assessment.complaint))
        line(out, "How likely each one causes it:")
    else:
        line(out, "No complaint yet. How likely each one is present:")
    shown = [r for r in _by_share(assessment) if r.share >= 0.005][:count] or list(_by_share(assessment))[:3]
    for number, row in enumerate(shown, 1):
        _cause_line(out, network, assessment, number, row)
    rest = len([r for r in finding.causes if r.share >= 0.005]) - len(shown)
    if rest > 0:
        line(out, f"and {rest} more at 0.5 % or above", "dim", 4)
    if finding.unmodelled is not None:
        _bar_line(out, "  -", "Something else, not in this rule base", finding.unmodelled)
    _state_notes(out, network, assessment)
    for text in set_aside(network, assessment):
        line(out, text, "dim")
    if assessment.prepared.narrowed:
        line(out, f"Not exact: {assessment.prepared.narrowed}", "bold")


def show_aircraft(out: Console, assessment: Assessment) -> None:
    """Print the state of the aircraft as recorded, where anything of it is."""
    told = aircraft_words(assessment.trouble.aircraft)
    if told:
        line(out, f"Aircraft: {told}.")


def set_aside(network: Network, assessment: Assessment) -> list[str]:
    """Return the results that do not count and why; those that nobody knows as a number."""
    known = [i for i in assessment.prepared.ignored if i.result.grade not in NOTHING]
    rest = len(assessment.prepared.ignored) - len(known)
    told = [f"Set aside: {result_words(network, str(i.result))} - {i.reason}" for i in known]
    return [*told, *([f"Not known: {rest} result{'s' if rest > 1 else ''}"] if rest else [])]


def _by_share(assessment: Assessment) -> list[Ranked]:
    return sorted(assessment.finding.causes, key=lambda r: (-r.share, r.id))


def _cause_line(out: Console, network: Network, assessment: Assessment, number: int, row: Ranked) -> None:
    told = f"{cause_now(network, assessment, row.id)}{' (repaired)' if row.removed else ''}"
    part, _, fault = told.partition(": ")
    away = row.id in assessment.prepared.stands and out.width < WIDE  # both places of a part and its fault do not fit in one line
    _bar_line(out, f"{number:>3}", f"{part}:" if away else told, row.share, BEFORE * row.removed)
    if away:
        line(out, fault, "", 7)


def _bar_line(out: Console, mark: str, label: str, share: float, word: str = "") -> None:
    tail = f"{bar(share, LONG_BAR if out.width >= WIDE else BAR)} {word or words(share):>14} {percent(share):>6}"
    room = out.width - len(tail) - 6
    text = cut(clean(label), room)
    style = "bold" if share >= 0.375 else ""
    line(out, f"{mark}  {text:<{room}} {tail}", style)


def _state_notes(out: Console, network: Network, assessment: Assessment) -> None:
    finding = assessment.finding
    for text in exchanged_words(network, assessment.trouble.looks):
        line(out, text, "bold")
    if finding.state == "ambiguous":
        line(out, "Left over, cheapest way through them:")
        for key in remedy_order(network, assessment):
            group = assessment.groups[key]
            line(out, f"{group.remedy.label}, {place_words(network, group.place)} ({percent(finding.group_shares[key])})", "", 4)
    if finding.state == "unexplained" and len(finding.conflict) == 2:
        a, b = (result_words(network, c) for c in finding.conflict)
        line(out, f"These two go together worst: {a} - and - {b}. Repeat both before going on.")
    if finding.may_return:
        line(
            out,
            "The remedy may only have silenced: " + "; ".join(cause_name(network, c) for c in finding.may_return),
        )


def exchanged_words(network: Network, looks: Sequence[LookResults]) -> list[str]:
    """Return which parts stand elsewhere since an exchange; their causes keep the name of the place they came from."""
    return [
        f"The {network.base.checks[check].part} of {place_words(network, home)} is now in {place_words(network, now)}."
        for (check, home), now in parts_elsewhere(network, looks).items()
    ]


def result_words(network: Network, text: str) -> str:
    """Return a result as a mechanic says it: place, what was found, condition."""
    return sentence_of(network.base, network.layout, text)


def asked_at(question: str, place: str) -> str:
    """Return a question with the place it is asked of in place of "this side" and its like; of the engine, either side."""
    name = {"left": "the left", "right": "the right", "engine": "either"}.get(place, "")
    cylinder, _, position = place.partition("-")
    words = {"side": f"{name} side", "magneto": f"{name} magneto"} if name else {}
    if cylinder.isdigit():
        words["cylinder"] = f"No. {cylinder}"
    if position:
        words |= {"plug": f"the No. {cylinder} {position} plug", "lead": f"the No. {cylinder} {position} lead"}
    for part, told in words.items():
        question = re.sub(rf"\b(?:this|the) {part}\b", told, question)
    return question[:1].upper() + question[1:]


def question_words(network: Network, subject: str) -> str:
    """Return what a look is for, `symptom.regime@place`, as a question: "left magneto rough at run-up?"."""
    return question_of(network.base, network.layout, subject)


def show_next(out: Console, network: Network, assessment: Assessment, count: int = 3) -> None:
    """Print what to do next: what is to be made good, the run a repair wants, the best check and the next few, or the remedy."""
    said = alarms(network, assessment)
    for warning in said[: max(1, len(said) - len(ALWAYS))]:
        line(out, f"! {warning}", "bold")
    show_aircraft(out, assessment)
    paying = assessment.plan.paying
    step = next_step(network, assessment)
    if step is not None and step.make_good is not None:
        show_make_good(out, network, assessment, step.make_good)
        return
    if step is not None and step.kind == "finish_run":
        show_run(out, network, assessment, step.look_at, step.rest)
        return
    if step is None:
        heading(out, "NEXT: write the record")
        line(out, "The complaint is gone under its own conditions and nothing of the run is missing. A licensed person decides.")
        for item in (*of_aircraft(assessment.trouble.aircraft), *of_looks(network, assessment.trouble)):
            line(out, f"Still open: {item.text}", "", 2)
        return
    if not assessment.complaint:
        heading(out, "NEXT: say what is wrong")
        line(out, "Enter what was noticed, such as rough@some=yes or drop@left=excessive.")
        return
    if not paying:
        show_repair(out, network, assessment)
        return
    show_check(out, network, assessment, paying[0], paying[1] if len(paying) > 1 else None)
    if len(paying) > 1:
        line(out, "Or:")
        for valued in paying[1 : max(count, size()[1] // 8)]:
            line(out, f"{check_words(network, valued)} - {valued.information:.2f} bit in {valued.minutes:.0f} min", "", 4)


def check_words(network: Network, valued: Valued) -> str:
    """Return a check with its place."""
    place = valued.located.place
    where = "" if place == "engine" else f", {place_words(network, place)}"
    return f"{valued.located.check.label}{where}"


def show_make_good(out: Console, network: Network, assessment: Assessment, item: MakeGood) -> None:
    """Print what has to be made good before anything else."""
    heading(out, f"NEXT: {item.label}  [{item.id}]")
    line(out, f"About {item.minutes:.0f} min. Why: {item.why}.")
    check = network.base.checks.get(item.check.partition("@")[0])
    if check is not None:
        line(out, f"How: {check.how}")
        for caution in (*cautions_of(network.base, check.cautions, check.access), *_before(network, assessment, check)):
            line(out, f"! {caution}", "bold")
    line(out, f"When done: {how_recorded(item, network.base)}")


def how_recorded(item: MakeGood, base: RuleBase) -> str:
    """Return the command that records a thing as made good."""
    if item.check:
        first = base.checks[item.check.partition("@")[0]].gives[0]
        symptom = base.symptoms[first.symptom]
        place = item.check.partition("@")[2]
        subject = f"{symptom.id}.{first.regime or symptom.default}@{place}"
        return f"diagnose enter CASE {subject}=GRADE --check {item.check} (GRADE: {' or '.join(symptom.names)})"
    if item.closes:
        return f'diagnose note CASE "what was done" --closes {item.closes}'
    return f'diagnose note CASE --state "{", ".join(f"{k}={v}" for k, v in item.states.items())}"'


def show_run(out: Console, network: Network, assessment: Assessment, look_at: Sequence[str], rest: Sequence[str]) -> None:
    """Print the run that a repair still wants: the complaint again, and what else is missing of it."""
    heading(out, "NEXT: CONFIRMING RUN, " + ("the complaint again under its own conditions" if look_at else "the rest of it"))
    for name in look_at:
        line(out, question_words(network, name), "", 2)
    if rest:
        line(out, f"{'Also' if look_at else 'Not entered yet'}: {'; '.join(rest)}.", "", 2)
    before = before_turning(WHOLE_RUN, assessment.trouble.aircraft)
    for caution in (*cautions_of(network.base, (), ("engine_running",)), *before):
        line(out, f"! {caution}", "bold")


def _before(network: Network, assessment: Assessment, entry: Check | Remedy) -> tuple[str, ...]:
    return before_turning(turning(network.base, entry), assessment.trouble.aircraft, entry.access)


def show_check(out: Console, network: Network, assessment: Assessment, valued: Valued, runner_up: Valued | None) -> None:
    """Print one check: why, how, cautions at the step, and what each result would mean."""
    check = valued.located.check
    heading(out, f"NEXT CHECK: {check_words(network, valued)}  [{valued.located.id}]")
    people = f", {check.people} people" if check.people > 1 else ""
    access = f", needs {', '.join(network.base.access[a].label for a in check.access)}" if check.access else ""
    line(out, f"About {valued.minutes:.0f} min{people}{access}.")
    line(out, f"Why: {why_check(valued, runner_up)}.")
    if check.tools:
        line(out, f"Tools: {', '.join(check.tools)}.")
    line(out, f"How: {check.how}")
    if check.refit:
        line(out, f"Afterwards, for the record: {check.refit}")
    if check.not_here:
        line(out, f"Not here: {check.not_here}")
    warnings = step_warnings(network.base, valued, assessment.plan, assessment.trouble.access, assessment.trouble.aircraft)
    for caution in (*cautions_of(network.base, check.cautions, check.access), *warnings):
        line(out, f"! {caution}", "bold")
    order = " (read in this order; the first abnormal one decides)" if len(valued.located.nodes) > 1 else ""
    line(out, f"What each result would do{order}:")
    for outcome in _telling(valued.outcomes()):
        _outcome_line(out, network, outcome, assessment.prepared.stands)


def _telling(outcomes: Sequence[Outcome]) -> list[Outcome]:
    """Return the outcomes worth showing: the likeliest five and the last (all normal), but none the results so far exclude."""
    likely = sorted(outcomes[:-1], key=lambda o: -o.probability)[:5]
    shown = [o for o in outcomes[:-1] if o in likely and o.probability > 0.002] + [outcomes[-1]]
    return [o for o in shown if o.responsible]


def _outcome_line(out: Console, network: Network, outcome: Outcome, stands: Mapping[str, str]) -> None:
    cause, share = outcome.top(1)[0]
    last = outcome.results[-1]
    normal = all(r.endswith(("=no", "=normal")) for r in outcome.results)
    what = "all normal" if normal and len(outcome.results) > 1 else result_words(network, last)
    seen = f"{percent(outcome.probability):>6}  {what}"
    leads = f"-> {cause_name(network, cause, stands.get(cause, ''))}, {words(share)} {percent(share)}"
    if out.width >= WIDE and max(len(seen), out.width // 3) + len(leads) + 4 <= out.width:
        line(out, f"{seen.ljust(out.width // 3)}  {leads}", "", 2)
        return
    line(out, seen, "", 2)
    line(out, leads, "dim", 12)


def show_repair(out: Console, network: Network, assessment: Assessment) -> None:
    """Print the remedies in the order that costs least: no check pays any more."""
    order = remedy_order(network, assessment)
    told = "a check would still pay, see above" if assessment.plan.paying else "no further check pays for itself"
    heading(out, f"NEXT: repair - {told}")
    for key in held_back(assessment):
        group = assessment.groups[key]
        line(
            out,
            f"Not yet: {group.remedy.label}, {place_words(network, group.place)} ({percent(assessment.finding.group_shares[key])}) - "
            f"{group.remedy.minutes.value:.0f} min of work and no check has seen the fault. A share alone is not enough.",
        )
    if not order:
        line(out, "No remedy of this rule base stands out. Get help, or start again from the complaint with more detail.")
        return
    for number, key in enumerate(order, 1):
        group = assessment.groups[key]
        show_remedy(out, network, group, assessment.finding.group_shares[key], number)
        if number == 1:
            for text in _before(network, assessment, group.remedy):
                line(out, f"! {text}", "bold", 3)
    if assessment.bars.powered:
        line(out, "No run until what bars it (above) is made good and looked at; then look at the complaint again.")
    else:
        line(out, "After the remedy, repeat the run under the conditions of the complaint and enter what you see.")


def show_remedy(out: Console, network: Network, group: RepairGroup, share: float, number: int) -> None:
    """Print one remedy: the first in full, the others in a line."""
    remedy = group.remedy
    line(out, f"{number}. {remedy.label}, {place_words(network, group.place)}  [{group.key}]", "bold" if number == 1 else "")
    line(out, f"ends it with {percent(share)}; about {remedy.minutes.value:.0f} min", "", 3)
    if number == 1:
        line(out, f"How: {remedy.how}", "", 3)
        for caution in cautions_of(network.base, remedy.cautions, remedy.access):
            line(out, f"! {caution}", "bold", 3)


def show_accounts(out: Console, network: Network, found: Mapping[str, Account], every: bool = False) -> None:
    """Print how causes came to their shares: the entries that matter, heaviest first, the rest as one factor unless `every`."""
    for cause, account in found.items():
        located = network.causes[cause]
        heading(out, f"{cause_name(network, cause)}, {words(account.share)} {percent(account.share)}")
        if located.cause.note:
            line(out, located.cause.note, "", 2)
        if not account.reasons:
            line(out, "Nothing entered speaks for or against it yet.", "", 2)
            continue
        line(out, f"Before anything was told: {percent(account.start)}, odds {odds(account.start):.3g}", "", 2)
        shown = account.heaviest if every else [r for r in account.heaviest if r.matters][:MOST_REASONS]
        for reason in shown:
            line(out, f"x{reason.factor:<8.3g} {entry_words(network, reason)} - {reason.words}", "", 2)
        rest = math.prod(r.factor for r in account.reasons) / math.prod(r.factor for r in shown)
        folded = len(account.reasons) - len(shown)
        if folded:
            line(out, f"x{rest:<8.3g} {'one other entry' if folded == 1 else f'{folded} other entries together'}", "", 2)
        line(out, f"= odds {odds(account.share):.3g}, {percent(account.share)}", "", 2)
    line(out, "")
    line(
        out,
        "x is what an entry does to the odds, all recorded before it being known. From the complaint on the odds are of being "
        "responsible for it, not only of being there: a fault that explains none of it is there all the same.",
        "dim",
    )


def entry_words(network: Network, reason: Reason) -> str:
    """Return an entry in words."""
    if reason.kind == "result":
        return result_after(network, reason.entry, reason.looks, reason.newest)
    if reason.kind == "repair":
        return "; ".join(_done_words(network, one) for one in reason.entry.split(", "))
    return f"parts exchanged ({reason.entry.partition('@')[2].replace(',', ' and ')})"


def _done_words(network: Network, text: str) -> str:
    name, _, place = text.partition("@")
    return f"done: {network.base.remedies[name].label} ({place_words(network, place)})"
