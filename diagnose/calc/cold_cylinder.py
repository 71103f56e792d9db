"""The cold-cylinder check: readings taken round the engine after running on one magneto.

Method: FAA-H-8083-32B p10-43, 10-44. Each cylinder is compared with the warm ones of the same run (the middle
of the hottest half): under half of their warmth it did not fire, under three quarters it missed now and then.
The handbook prints readings and verdicts but no rule; these two shares are estimates that give its verdicts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from diagnose.calc.answer import Answer, Instruction, Limit, Table, Value, result
from diagnose.calc.circuits import circuit_on
from diagnose.calc.units import finite
from diagnose.places import SIDES, Layout
from diagnose.problems import BadInput

SCHEMA = "calc-cold-cylinder/1"
DEAD = Limit("did not fire, under", 50, "% of the warm ones", source="estimate")
MISSES = Limit("missed now and then, under", 75, "% of the warm ones", source="estimate")
_WORDS = {"yes": "did not fire", "no|yes": "now and then", "no": "fired", "cannot": "not read"}
_STEPS = (
    Instruction(
        "Run on the roughest magneto at the roughest speed, 1200 to 1600 rpm, until head temperature settles.",
        "into wind, chocks, cowl flaps open, a qualified person at the controls.",
        "3 min",
    ),
    Instruction(
        "Stop by mixture on that magneto, without going back to BOTH; then ignition and master OFF.",
        "propeller stays live for anyone who touches it.",
    ),
    Instruction(
        "Read every cylinder at the same spot, in order from No 1; then the first ones again for cooling.",
        "hot metal; do not move the propeller.",
        "3 min",
    ),
)


@dataclass(frozen=True)
class ColdRun:
    """Readings of one run by cylinder (None = not read), and the air temperature they start from.

    `ambient` 0 is for the relative numbers the handbook uses; degrees F or C need the real one.
    """

    readings: Sequence[float | None]
    ambient: float = 0.0


def warmth(run: ColdRun) -> list[float | None]:
    """Return each reading above ambient as a share of the middle of the hottest half. Raises BadInput."""
    above = [None if r is None else finite(r, "reading") - run.ambient for r in run.readings]
    known = sorted((a for a in above if a is not None), reverse=True)
    if len(known) < 2:
        raise BadInput("readings: fewer than two cylinders read; read every cylinder of the run")
    reference = median(known[: (len(known) + 1) // 2])
    if reference <= 0:
        raise BadInput("readings: no cylinder is warmer than the air; read again, and check --ambient")
    return [None if a is None else a / reference for a in above]


def grade(share: float | None) -> str:
    """Return the grade of `stays_cold` for one share of warmth."""
    if share is None:
        return "cannot"
    if share < DEAD.value / 100:
        return "yes"
    return "no|yes" if share < MISSES.value / 100 else "no"


def grades(runs: Mapping[str, ColdRun], cylinders: int) -> dict[tuple[int, str], str]:
    """Return the grade by (cylinder, side) for the sides that were run. Raises BadInput."""
    out = {}
    for side, run in runs.items():
        if len(run.readings) != cylinders:
            raise BadInput(
                f"{side} run: {len(run.readings)} readings for {cylinders} cylinders; give one per cylinder in order, - where not read"
            )
        for cylinder, share in enumerate(warmth(run), 1):
            out[cylinder, side] = grade(share)
    return out


def cold_answer(runs: Mapping[str, ColdRun], layout: Layout, unit: str = "relative", regime: str = "runup") -> Answer:
    """Return which cylinders did not fire on which magneto."""
    found = grades(runs, layout.cylinders)
    sides = [side for side in SIDES if side in runs]
    rows = tuple(_row(number, sides, runs, found) for number in range(1, layout.cylinders + 1))
    columns = ("cylinder", *(f"{side} {what}" for side in sides for what in ("reading", "verdict")))
    return Answer(
        schema=SCHEMA,
        title=f"Cold-cylinder check, {layout.cylinders} cylinders",
        inputs=(
            Value("unit", unit),
            *(Value(f"air, {side}", runs[side].ambient, unit) for side in sides if unit != "relative"),
            Value("regime", regime),
        ),
        limits=(DEAD, MISSES),
        tables=(Table("Warmth after the run", columns, rows),),
        says=_says(found, sides, layout),
        steps=_STEPS,
        cautions=("Hot engine and live propeller: hands clear of both until it has cooled and is known dead.",),
        results=tuple(
            result("stays_cold", regime, circuit_on(layout, number, side), found[number, side])
            for side in sides
            for number in range(1, layout.cylinders + 1)
        ),
    )


def _row(number: int, sides: list[str], runs: Mapping[str, ColdRun], found: dict[tuple[int, str], str]) -> tuple[float | str | None, ...]:
    cells: list[float | str | None] = [str(number)]
    for side in sides:
        cells += [runs[side].readings[number - 1], _WORDS[found[number, side]]]
    return tuple(cells)


def _says(found: dict[tuple[int, str], str], sides: list[str], layout: Layout) -> tuple[str, ...]:
    out = []
    for side in sides:
        for wanted, words in (("yes", "did not fire"), ("no|yes", "fired now and then")):
            numbers = [n for n in range(1, layout.cylinders + 1) if found[n, side] == wanted]
            if numbers:
                places = ", ".join(f"{n} ({circuit_on(layout, n, side)})" for n in numbers)
                out.append(f"{side}: cylinder {places} {words}.")
    if len(sides) == 2:
        dead = [n for n in range(1, layout.cylinders + 1) if all(found[n, side] == "yes" for side in sides)]
        out += [
            f"Cylinder {n} is dead on both: the mag check does not show it; manifold pressure high for the rpm does. Both plugs, both "
            "leads, or injector or valves."
            for n in dead
        ]
    else:
        out.append("Only one magneto was run: nothing is known of the other, nor of a cylinder dead on both.")
    return tuple(out)
