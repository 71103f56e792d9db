"""What each kind of step says at a glance: check, repair, run, what is to be made good, and where nothing stands out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from diagnose.assessment.assess import Assessment
from diagnose.assessment.steps import Step, held_back, next_step, remedy_order
from diagnose.plan.make_good import MakeGood
from diagnose.plan.plan import Valued
from diagnose.plan.to_run import WHOLE_RUN
from diagnose.plan.warnings import ALWAYS, before_turning, cautions_of, step_warnings
from diagnose.report import screens
from diagnose.report.brief import outcome_row, rest_of, short_caution, state_words, suspects, telling
from diagnose.report.glance import Glance, Row
from diagnose.report.said import aircraft_words, alarms
from diagnose.rulebase.records import Check, Remedy
from diagnose.trouble.aircraft import turning
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup
from diagnose.trouble.results import NOTHING

FIRST_LEADS = "Before it turns: are the P-leads on? It is asked first."
CHECK_KEYS = "d do{m}  n not here  o other  f repair  t tell  p past  w why  ? b q"
REPAIR_KEYS = "1-{n} done  o a check instead  t tell  p past  w why  ? b q"
RUN_KEYS = "d do it, then answer  o a check instead  t tell  ? b q"
MADE_KEYS = "d done  o something else first  ? b q"
HELP_KEYS = "o a check  t tell  p past  ? b q"


def glance_of(network: Network, a: Assessment, step: Step | None = None, at: str = "", noted: str = "") -> Glance:
    """Return the screen of a step, the next one where none is given; `at`: where in the work, `noted`: what was kept last."""
    step = step if step is not None else next_step(network, a) or Step("help")
    if step.make_good is not None:
        return _made(network, a, step.make_good, at, noted)
    if step.kind == "finish_run":
        return _run(network, a, step, at, noted)
    if step.check is not None:
        return of_check(network, a, step.check, at, noted)
    if step.group is not None:
        return of_repair(network, a, at, noted)
    return _help(network, a, at, noted)


def of_check(network: Network, a: Assessment, valued: Valued, at: str = "", noted: str = "", numbers: bool = False) -> Glance:
    """Return the screen of one check."""
    check, base = valued.located.check, network.base
    first = before_turning(turning(base, check), a.trouble.aircraft, check.access)
    shown = telling(valued.outcomes())
    return replace(
        _common(network, a, "check", at, noted),
        do=screens.check_words(network, valued),
        keys=CHECK_KEYS.format(m="  m numbers" if numbers else ""),
        facts=_facts(network, valued.minutes, check.people, check.access, _is_run(network, check)),
        how=check.how,
        cautions=_short(network, full_cautions(network, a, valued)),
        first=_first(network, a, first),
        then="WHAT IT MAY SHOW, likeliest first",
        leads=tuple(outcome_row(network, a, o) for o in shown),
    )


def of_repair(network: Network, a: Assessment, at: str = "", noted: str = "", order: Sequence[str] = ()) -> Glance:
    """Return the screen of the repairs worth doing, the first of them in full."""
    order = order or remedy_order(network, a)
    if not order:
        return _help(network, a, at, noted)
    group = a.groups[order[0]]
    rows = [Row(f"{n}  {group_words(network, a.groups[k])}", _ends(a, k)) for n, k in enumerate(order, 1)]
    waits = [f"Not yet, nobody has seen it: {group_words(network, a.groups[k])} {_ends(a, k)}" for k in held_back(a)]
    then = "No run until what bars it is made good." if a.bars.powered else "Then repeat the run under the conditions of the complaint."
    return replace(
        _common(network, a, "repair", at, noted),
        do=group_words(network, group),
        keys=REPAIR_KEYS.format(n=len(order)) if len(order) > 1 else REPAIR_KEYS.format(n=1).replace("1-1", "1"),
        facts=_facts(network, group.remedy.minutes.value, group.remedy.people, group.remedy.access, _is_run(network, group.remedy)),
        how=group.remedy.how,
        cautions=_short(network, repair_cautions(network, a, group)),
        first=_first(network, a, before_turning(turning(network.base, group.remedy), a.trouble.aircraft, group.remedy.access)),
        then=then,
        leads=(*rows, *(Row(text) for text in waits[:1])),
    )


def group_words(network: Network, group: RepairGroup) -> str:
    """Return a remedy and where."""
    where = "" if group.place == "engine" else f", {screens.place_words(network, group.place)}"
    return f"{group.remedy.label}{where}"


def full_cautions(network: Network, a: Assessment, valued: Valued) -> tuple[str, ...]:
    """Return everything to be minded at a check, in full, each once."""
    check = valued.located.check
    warnings = step_warnings(network.base, valued, a.plan, a.trouble.access)
    return tuple(dict.fromkeys((*cautions_of(network.base, check.cautions, check.access), *warnings)))


def repair_cautions(network: Network, a: Assessment, group: RepairGroup) -> tuple[str, ...]:
    """Return everything to be minded at a repair, in full."""
    return cautions_of(network.base, group.remedy.cautions, group.remedy.access)


def run_cautions(network: Network) -> tuple[str, ...]:
    """Return everything to be minded at a run, in full."""
    return cautions_of(network.base, (), ("engine_running",))


def _common(network: Network, a: Assessment, kind: str, at: str, noted: str) -> Glance:
    """Return what every screen says the same way: state, complaint, alarms, suspects."""
    told = "; ".join(screens.result_words(network, c) for c in a.complaint) or "nothing is complained of yet"
    said = alarms(network, a)[: -len(ALWAYS)]
    rest = rest_of(a, network)
    something = a.finding.unmodelled
    more = [f"{rest} more (l)"] if rest else ["(l all)"]
    more += [f"something else {screens.percent(something)}"] if something is not None and something >= 0.05 else []
    more += _set_aside(a)
    return Glance(
        state=f"{state_words(a, kind)}{f'   {at}' if at else ''}",
        do="",
        keys="",
        about=told,
        noted=noted,
        alarms=said,
        aircraft=aircraft_words(a.trouble.aircraft),
        suspects=suspects(network, a),
        more="   ".join(more),
    )


def _set_aside(a: Assessment) -> list[str]:
    """Return how many results are set aside for a reason worth knowing: what nobody knows is no such thing."""
    count = sum(i.result.grade not in NOTHING for i in a.prepared.ignored)
    return [f"{count} result{'s' if count > 1 else ''} set aside (l)"] if count else []


def _is_run(network: Network, entry: Check | Remedy) -> bool:
    """Return whether the work itself is an engine run; not where one only comes before it."""
    own = {network.base.cautions[c].turns for c in entry.cautions if c in network.base.cautions}
    return "engine_running" in entry.access or "run" in own


def _facts(network: Network, minutes: float, people: int, access: Sequence[str], run: bool = False) -> str:
    needs = ", ".join(network.base.access[name].label.partition(",")[0] for name in access if name in network.base.access)
    alone = "1 person" if people == 1 and "second_person" not in access else f"{max(2, people)} people"
    alone += (" at the controls" if alone == "1 person" else ", one at the controls") if run else ""
    return f"about {minutes:.0f} min, {alone}{f'; needs {needs}' if needs else ''}"


def _short(network: Network, cautions: Sequence[str]) -> tuple[str, ...]:
    """Return cautions in their short form, those of a turning propeller or a live magneto first."""
    turning_ = {c.label for c in network.base.cautions.values() if c.turns or c.prove_off}
    ordered = sorted(cautions, key=lambda text: text not in turning_)
    return tuple(dict.fromkeys(short_caution(text) for text in ordered))


def _first(network: Network, a: Assessment, before: Sequence[str]) -> tuple[str, ...]:
    """Return what comes before a step that turns the engine; what nobody recorded is asked, not told."""
    asked = bool(before) and bool(a.trouble.aircraft.leads_unasked)
    told = [t.partition(": ")[2] or t for t in before if "Not recorded" not in t]
    return (*([FIRST_LEADS] if asked else []), *told)


def _ends(a: Assessment, key: str) -> str:
    return f"{a.groups[key].remedy.minutes.value:.0f} min, ends it {screens.percent(a.finding.group_shares[key])}"


def _made(network: Network, a: Assessment, item: MakeGood, at: str, noted: str) -> Glance:
    check = network.base.checks.get(item.check.partition("@")[0])
    cautions = made_cautions(network, item)
    return replace(
        _common(network, a, "make_good", at, noted),
        do=item.label,
        keys=MADE_KEYS,
        facts=f"about {item.minutes:.0f} min. Why: {item.why}",
        how=check.how if check is not None else "",
        cautions=_short(network, cautions),
        first=_first(network, a, _before(network, a, check)) if check is not None else (),
    )


def made_cautions(network: Network, item: MakeGood) -> tuple[str, ...]:
    """Return everything to be minded where something is made good, in full."""
    check = network.base.checks.get(item.check.partition("@")[0])
    return cautions_of(network.base, check.cautions, check.access) if check is not None else ()


def _before(network: Network, a: Assessment, entry: Check | Remedy) -> tuple[str, ...]:
    return before_turning(turning(network.base, entry), a.trouble.aircraft, entry.access)


def _run(network: Network, a: Assessment, step: Step, at: str, noted: str) -> Glance:
    rows = [Row(run_words(network, name)) for name in step.look_at]
    return replace(
        _common(network, a, "finish_run", at, noted),
        do="Confirming run: the complaint again under its own conditions" if rows else "The rest of the confirming run",
        keys=RUN_KEYS,
        facts=_facts(network, network.base.settings.retest_minutes, 1, ("engine_running",), True),
        how=f"{'Also' if rows else 'Not entered yet'}: {'; '.join(step.rest)}." if step.rest else "",
        cautions=_short(network, run_cautions(network)),
        first=_first(network, a, before_turning(WHOLE_RUN, a.trouble.aircraft)),
        then="LOOK AT" if rows else "",
        leads=tuple(rows),
    )


def run_words(network: Network, name: str) -> str:
    """Return a located symptom as it is looked at again: what, where, when."""
    return screens.question_words(network, name)


def _help(network: Network, a: Assessment, at: str, noted: str) -> Glance:
    waits = [Row(f"Not yet, nobody has seen it: {group_words(network, a.groups[k])}", _ends(a, k)) for k in held_back(a)]
    return replace(
        _common(network, a, "help", at, noted),
        do="Get help, or say more about the complaint: no check pays and no remedy stands out",
        keys=HELP_KEYS,
        then="WAITS FOR A LOOK" if waits else "",
        leads=tuple(waits[:4]),
    )
