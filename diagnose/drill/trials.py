"""Trials that change the engine for one run and are put back: a plug or lead exchanged, a ground lead taken off, plugs burnt clean."""

from __future__ import annotations

from diagnose.drill.look import Look, run_at
from diagnose.drill.seen_running import mag_grades
from diagnose.stand.conditions import RUN_UP
from diagnose.stand.engine import Engine
from diagnose.stand.parts import Lead, PLead
from diagnose.stand.repairs import exchange_plugs
from diagnose.stand.runs import mag_check
from diagnose.stand.start_checks import start

MISSES = 0.2  # share of cycles that do not light from which a cold or falling cylinder is seen: estimate


def misses(engine: Engine, circuit: str) -> bool:
    """Return whether a circuit's cylinder misses on its own magneto alone."""
    steady = run_at(engine, RUN_UP, engine.layout.side_of[circuit])
    return steady.stopped or 1 - steady.firings[int(circuit.split("-")[0])].lit > MISSES


def follows_plug(look: Look, regime: str, place: str) -> str:
    """Return whether the fault goes with the plug to a sound circuit of the same magneto; the plugs go back afterwards."""
    engine, circuits = look.engine, look.engine.layout.fires[look.engine.layout.side_of[place]]
    if not misses(engine, place):
        return "no"
    other = next((c for c in circuits if c != place and not misses(engine, c)), "")
    if not other:
        return ""
    exchange_plugs(engine, place, other)
    moved = misses(engine, other) and not misses(engine, place)
    exchange_plugs(engine, place, other)
    return "yes" if moved else "no"


def follows_lead(look: Look, regime: str, place: str) -> str:
    """Return whether the fault is gone with a good lead on this circuit; the aircraft's own lead goes back."""
    engine, own = look.engine, look.engine.build.leads[place]
    before = misses(engine, place)
    engine.build.leads[place] = Lead()
    gone = before and not misses(engine, place)
    engine.build.leads[place] = own
    return "yes" if gone else "no"


def p_lead_off(look: Look, regime: str, place: str) -> str:
    """Return whether what was wrong on this magneto is gone with its ground lead off; the lead goes back on."""
    engine = look.engine
    magneto, own = engine.build.magnetos[place], engine.build.magnetos[place].p_lead
    before = _bad(engine, place, regime)
    magneto.p_lead = PLead("open")
    gone = before and not _bad(engine, place, regime)
    magneto.p_lead = own
    return "yes" if gone else "no"


def _bad(engine: Engine, side: str, regime: str) -> bool:
    if regime == "start":
        return start(engine).start.words != ("starts at once",)
    found = mag_grades(mag_check(engine), engine.layout, "runup")
    return found.get(f"mag_drop@{side}", "dies") in ("excessive", "severe", "dies", "excessive|severe")


def reads_differently(look: Look, regime: str, place: str) -> str:
    """Return whether the check repeated by the book reads otherwise than the one before: what comes and goes may have gone."""
    engine = look.engine
    before, again = (mag_grades(mag_check(engine), engine.layout, "runup").get(f"mag_drop@{place}", "") for _ in range(2))
    return "yes" if before in ("excessive", "severe", "dies") and again == "normal" else "no"
