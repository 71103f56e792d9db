"""Words of the magneto check: what a drop looks like, what to do next, what to beware of."""

from diagnose.calc.answer import Instruction
from diagnose.calc.propeller_load import DropEstimate, degrees_late_for

CAUTIONS = (
    "Treat the propeller as live at all times. Run into wind, chocks in, a qualified person at the controls, nobody in the "
    "propeller's arc or its line.",
    "Never advance the timing to make a drop smaller.",
)


USUAL_DROP = (25, 75)  # rpm on each side, even from side to side (FAA-H-8083-32B p4-31)


def likeness(drop: float, estimate: DropEstimate, run: str, change: str, grade: str) -> str:
    """Return what a drop of this size and grade looks like on this engine; the number alone never settles it."""
    one, two = estimate.one_silent, estimate.two_silent
    if drop < (estimate.normal + one) / 2:
        return _ordinary(drop, run) if grade == "normal" else _small(drop, estimate)
    if drop > two * 1.15:
        return f"{drop:.0f} rpm is beyond two silent cylinders (about {two:.0f}, estimate): more like several plugs or the magneto itself."
    count = "one dead cylinder" if drop - one < two - drop else "two dead cylinders"
    near = one if count.startswith("one") else two
    text = f"{drop:.0f} rpm is more like {count} on this magneto (about {near:.0f}, estimate)"
    late = degrees_late_for(estimate.rpm, drop)
    if run == "smooth" or change == "slow":
        also = f" about {late:.0f} degrees late" if late else ""
        return f"{text}, but smooth or slow speaks for late timing{also}, mixture or valves: look at EGT."
    if run == "rough" or change == "fast":
        return f"{text}, and rough or fast agrees: plug or lead first."
    return f"{text}; rough or fast would speak for a plug or lead, smooth and slow for timing or mixture."


def _ordinary(drop: float, run: str) -> str:
    """Return the words for a drop within its limit: it accuses nothing by its size."""
    usual = f"{USUAL_DROP[0]} to {USUAL_DROP[1]} rpm (FAA-H-8083-32B p4-31)"
    text = f"{drop:.0f} rpm; usual is {usual}, even from side to side."
    if drop > USUAL_DROP[1]:
        text = f"{drop:.0f} rpm is within the limit, above the usual {usual}: compare it with this engine's last check."
    return f"{text} Rough all the same: a plug that misses now and then would do it; look at EGT." if run == "rough" else text


def _small(drop: float, estimate: DropEstimate) -> str:
    late = degrees_late_for(estimate.rpm, drop)
    timing = f"late timing (about {late:.0f} crank degrees would do it, estimate)" if late else "late timing"
    return (
        f"{drop:.0f} rpm is less than one dead cylinder costs (about {estimate.one_silent:.0f}, estimate): more like {timing}, a rich "
        "mixture, or a plug that misses now and then."
    )


_REPEAT = Instruction(
    "Repeat the check: settle on both, select one side, wait until rpm stands still, go back to both, wait, then the other side. Tap "
    "a mechanical tachometer: a sticking one can hide 100 rpm (FAA-H-8083-32B p10-27).",
    minutes="3 min",
)
_LEAN = Instruction(
    "Over the limit: lean to peak rpm at the check speed and repeat. A drop that then passes points to mixture or fouling before the "
    "magneto (trade text, 2010). A late side can look cured by this too.",
    minutes="3 min",
)
_GROUND = Instruction(
    "No drop, or hardly any: do the OFF check at lowest idle, a moment only.",
    "if the engine keeps firing, treat the propeller as live: stop by mixture, tag the propeller and the switch, keep everybody "
    "clear until the P-lead is mended.",
    "1 min",
)
_DIES = Instruction(
    "Engine died on one side: throttle closed, mixture to idle cut-off, let it stop, OFF; restart on BOTH.",
    "snapping back to BOTH with fuel in the exhaust can bang hard enough to do damage.",
)
_RISE = Instruction("Rise: find out what feeds the tachometer, then compare roughness on both with each side alone.")
_COLD = Instruction(
    "Find the cylinder: compare EGT on both and on the bad side, or do the cold-cylinder check.",
    "hot exhaust, and a magneto that is hot to ground can fire on a touch of the propeller.",
    "10 min",
)
_ALL = Instruction(
    "A confirming run after any repair is all of it: both drops, static rpm, the OFF check at idle, and the condition the complaint "
    "was made in."
)


def next_steps(grades: set[str], no_drops: set[str], rise: bool) -> tuple[Instruction, ...]:
    """Return the steps for the worst of what was found."""
    graded = " ".join(grades)
    over = "excessive" in graded or "severe" in graded
    wanted = (
        ("dies" in grades, _DIES),
        (any("|" in grade for grade in grades | no_drops) or rise, _REPEAT),
        (bool(no_drops & {"yes", "no|yes"}), _GROUND),
        (rise, _RISE),
        (over, _LEAN),
        (over, _COLD),
        (True, _ALL),
    )
    return tuple(step for condition, step in wanted if condition)
