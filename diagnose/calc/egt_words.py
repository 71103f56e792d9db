"""An EGT table as an `Answer`: table, sentences, steps."""

from diagnose.calc.answer import Answer, Instruction, Table, Value
from diagnose.calc.egt_table import ALIKE_F, Change, EgtFindings, RiseLimits, egt_results, examine, level, unstable
from diagnose.calc.readings_csv import Temperatures
from diagnose.places import SIDES, Layout

SCHEMA = "calc-egt/1"
WORDS = {
    "healthy": "rises as it should",
    "falls": "falls: this plug or lead does not fire here",
    "weak": "rises too little: repeat, give it time",
    "high": "rises too much",
    "already": "no rise; it ran on this plug alone on both",
    "unstable": "unstable on this magneto only: plug failing",
    "flat": "no change",
    "missing": "not read",
    "probe": "probe suspect",
}
_STEPS = (
    Instruction(
        "Falls on one cylinder: swap that plug with one of another cylinder on the same magneto and repeat. Fault moves with the "
        "plug = plug; stays = lead, then distributor tower (AC 43.13-1B 8-2a).",
        "engine stopped, mixture cut off, switch OFF, propeller treated as live, exhaust hot.",
        "30 min",
    ),
    Instruction(
        "Suspect probe: swap the probe or its channel with a neighbour before touching the ignition.",
        minutes="15 min",
    ),
)
CAUTION = "Give each position about a minute to settle; a quick check misleads (FAA-H-8083-32B p10-27)."


def egt_answer(table: Temperatures, layout: Layout, limits: RiseLimits | None = None, regime: str = "runup") -> Answer:
    """Grade a table of EGT (and CHT, where given) per cylinder."""
    limits = limits or RiseLimits()
    findings = examine(table, layout, limits)
    return Answer(
        schema=SCHEMA,
        title=f"EGT on one magneto against both, {layout.cylinders} cylinders",
        inputs=(
            *_cells(table, layout),
            Value("regime", regime),
        ),
        values=tuple(
            Value(
                f"middle change, {side}",
                round(d, 1),
                "degF of difference",
                note=f"{d / 1.8:.1f} degC of difference",
            )
            for side, d in findings.side_median.items()
        ),
        limits=(limits.low, limits.high),
        tables=(_table(table, findings),),
        says=_says(table, findings, layout),
        steps=_steps(findings),
        cautions=(CAUTION,),
        results=egt_results(findings, regime),
    )


def _cells(table: Temperatures, layout: Layout) -> tuple[Value, ...]:
    """Return every reading as it was given: of each column the cylinders in order, samples of one cell apart by strokes."""
    out = []
    for column in dict.fromkeys(column for column, _ in table.samples):
        cells = [table.samples.get((column, number), ()) for number in range(1, layout.cylinders + 1)]
        shown = ", ".join("/".join(f"{value:g}" for value in cell) or "-" for cell in cells)
        kind, _, position = column.partition("_")
        out.append(Value(f"{kind.upper()} on {position}, No. 1 to {layout.cylinders}", shown, table.unit))
    return tuple(out)


def _table(table: Temperatures, findings: EgtFindings) -> Table:
    unit = table.unit.removeprefix("deg")
    rows = tuple(
        (
            change.circuit,
            change.side,
            level(table, "egt_both", change.cylinder),
            level(table, f"egt_{change.side}", change.cylinder),
            _signed(change.degrees),
            _signed(change.against_neighbours),
            WORDS[change.kind],
        )
        for change in findings.changes
    )
    title = "Change from both, degF of difference; beside it, against the middle cylinder of that side"
    columns = ("circuit", "magneto", f"both {unit}", f"alone {unit}", "change", "against", "what it is")
    return Table(title, columns, rows)


def _signed(degrees: float | None) -> str | None:
    return None if degrees is None else f"{degrees:+.0f}"


def _steps(findings: EgtFindings) -> tuple[Instruction, ...]:
    kinds = {change.kind for change in findings.changes}
    wanted = (bool(kinds & {"falls", "unstable", "weak"}), bool(kinds & {"probe", "missing"}))
    return tuple(step for step, want in zip(_STEPS, wanted, strict=True) if want)


def _says(table: Temperatures, findings: EgtFindings, layout: Layout) -> tuple[str, ...]:
    out = [text for side in findings.side_median for text in _side_says(findings, side)]
    out += _between_sides(findings)
    for cylinder in range(1, layout.cylinders + 1):
        pair = [c for c in findings.changes if c.cylinder == cylinder and c.kind == "falls"]
        if len(pair) == 2:
            out.append(
                f"cylinder {cylinder} falls on both magnetos: both plugs, both leads, or the cylinder itself (injector, valve); the "
                "mag check alone may not show it."
            )
    out += [f"cylinder {n}: EGT on both is unstable too." for n in range(1, layout.cylinders + 1) if unstable(table, "egt_both", n)]
    if not findings.changes:
        out.append("Nothing to compare: give EGT on both and on at least one magneto.")
    return tuple(out)


def _side_says(findings: EgtFindings, side: str) -> list[str]:
    if side in findings.flat:
        other = "right" if side == "left" else "left"
        return [
            f"{side}: no cylinder moved. The {other} magneto may still be firing (not grounded), or was not firing before; single "
            "circuits are not graded on this side."
        ]
    changes = [change for change in findings.changes if change.side == side and change.degrees is not None]
    falling = [change for change in changes if change.kind == "falls"]
    out = []
    if changes and len(falling) == len(changes) > 1:
        out.append(f"{side}: every cylinder falls: the magneto, not a plug.")
    elif falling:
        names = ", ".join(change.circuit for change in falling)
        out.append(f"{side}: {names} - the plug circuit, for the other cylinders rise on the same magneto.")
    if _alike_high(changes):
        out.append(f"{side}: every cylinder rises too much alike: this magneto fires late, not one plug.")
    return out


def _alike_high(changes: list[Change]) -> bool:
    degrees = [change.degrees for change in changes if change.degrees is not None]
    high = [change for change in changes if change.kind == "high"]
    return len(high) == len(changes) > 1 and max(degrees) - min(degrees) <= 2 * ALIKE_F


def _between_sides(findings: EgtFindings) -> list[str]:
    if len(findings.side_median) < len(SIDES) or findings.flat:
        return []
    gap = findings.side_median["left"] - findings.side_median["right"]
    if abs(gap) <= ALIKE_F:
        return []
    later = "left" if gap > 0 else "right"
    return [
        f"The sides rise differently on the middle cylinder by {abs(gap):.0f} degF of difference: the {later} magneto may be timed "
        "later than the other (trade text, Jan 2012)."
    ]
