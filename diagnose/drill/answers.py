"""Every symptom that a check gives: how the stand answers it, or that it does not.

The bridge says for each symptom which answer of `ANSWERS` it takes and from what; what is `sound` there no fault of the stand touches,
what is `silent` the stand does not compute: the mechanic says that it is unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache

from diagnose.drill import seen_running as running
from diagnose.drill import seen_stopped as stopped
from diagnose.drill import trials
from diagnose.drill.bridge import bridge
from diagnose.drill.look import Look
from diagnose.drill.seen_stopped import Answer
from diagnose.trouble.network import Network


def _plain(*answers: Answer) -> dict[str, Callable[..., Answer]]:
    """Return answers that take no words, by their names with hyphens."""
    return {answer.__name__.replace("_", "-"): lambda answer=answer: answer for answer in answers}


ANSWERS: Mapping[str, Callable[..., Answer]] = {
    **_plain(running.better_single, running.stays_leaned, running.rough, running.stops, running.power_low, running.cht_high),
    **_plain(running.cold, running.rise_high, running.rise_none, running.metered_off, running.one_band, running.pitch_off),
    **_plain(running.heat_no_change, running.start_hard, running.start_none, running.cranks_slowly, running.kicks, running.on_release),
    **_plain(trials.follows_plug, trials.follows_lead, trials.p_lead_off, trials.reads_differently),
    **_plain(stopped.plug_type, stopped.plug_resistance, stopped.lead_order, stopped.lead_leaks, stopped.lead_open, stopped.burnt),
    **_plain(stopped.e_gap, stopped.capacitor, stopped.stays_grounded, stopped.coil, stopped.tracked, stopped.battery, stopped.compression),
    **_plain(stopped.nozzle, stopped.exhaust_blocked, stopped.tachometer, stopped.metal_in_filter, stopped.p_leads_swapped),
    **_plain(stopped.start_grounds, stopped.start_leaves_free),
    "mag": running.mag,
    "pressure": running.pressure,
    "noise": running.noise,
    "egt": running.egt,
    "flow": running.flow,
    "word": stopped.word,
    "word-of-engine": stopped.word_of_engine,
    "looks-other": stopped.looks_other,
    "looks-other-of-engine": stopped.looks_other_of_engine,
    "plug-gap": stopped.plug_gap,
    "clearance": stopped.clearance,
    "timing": stopped.timing,
    "comes-in": stopped.comes_in,
    "p-lead": stopped.p_lead,
}


@cache
def _answers() -> Mapping[str, Answer]:
    return {symptom: ANSWERS[str(words[0])](*words[1:]) for symptom, words in bridge().answers.items()}


def answer(look: Look, symptom: str, regime: str, place: str) -> str:
    """Return the grade of a symptom as a truthful mechanic would give it, or `unknown`."""
    if symptom in bridge().sound:
        return "no"
    if symptom not in bridge().answers or (symptom in bridge().running and not _can_run(look, regime)):
        return "unknown"
    return _answers()[symptom](look, regime, place) or "unknown"


def _can_run(look: Look, regime: str) -> bool:
    """Return whether it can be run for this: an engine that does not start gives nothing that wants it running."""
    return regime == "start" or look.starts() <= 1


def results(network: Network, look: Look, nodes: Sequence[str], check: str = "") -> list[str]:
    """Return a check's results as texts, in the order of its located symptoms; a cleaning run burns the plugs clean first."""
    if check in bridge().burns_clean and look.starts() <= 1:
        look.engine.clear_plugs(0.5)
    located = [network.symptoms[node] for node in nodes]
    return [f"{s.id}={answer(look, s.symptom.id, s.regime, s.place)}" for s in located]
