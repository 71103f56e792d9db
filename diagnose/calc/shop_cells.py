"""What a shop writes down of one place, the trade's way, and the calculation that judges each cell.

`.018`, `18 thou`, `0.45 mm`; `1.8k`, `1800`, `200M`, `over`; `74/80`. A bare number is taken only where it can mean one thing.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from diagnose.calc.answer import Answer, Limit
from diagnose.calc.compression import MAKER, WHERE, CompressionReading, compression_answer, read_gauges
from diagnose.calc.contact_points import CLEARANCE_HIGH, CLEARANCE_LOW, CLEARANCE_SPAN, PointsReadings, points_answer
from diagnose.calc.leads import CONTINUITY, INSULATION, LeadLimits, LeadReadings, lead_answer
from diagnose.calc.plugs import GAP_HIGH, GAP_LOW, GAP_SPAN, RESISTANCE_HIGH, PlugLimits, PlugReadings, plug_answer
from diagnose.calc.units import KINDS, Quantity, plausible, read_quantity
from diagnose.places import Layout, kind_of
from diagnose.problems import BadInput, did_you_mean

NOT_READ = ("", "-", "u", "?")  # an empty cell is not looked at: it says nothing, and never that it is sound
OVER = ("over", "ol", "o.l.", "o/l", "open", "inf", "infinite")  # what meters show and people write beyond a meter's range
_BARE = re.compile(r"\d*\.?\d+")
MOST_BARE_INCH = 0.1  # a gap or clearance written without a unit: under this in inches, from 5 up in thousandths, else not clear
LEAST_BARE_THOU = 5.0
LEAST_BARE_OHM = 100.0  # a plug's 1.8 may be ohm or kohm, its 1800 is ohm


def _as_typical(limit: Limit) -> Limit:
    return limit


@dataclass(frozen=True)
class Bench:
    """What holds for a whole sheet: the engine's layout, whose limits, whether it has just run, the tester's voltage.

    `limit` gives the limit in force in place of a typical one; `units` maps a column to the unit of its bare numbers.
    """

    layout: Layout
    limit: Callable[[Limit], Limit] = _as_typical
    hot: bool = False
    voltage: str = ""
    units: Mapping[str, str] = field(default_factory=dict)


Row = Mapping[str, str]  # column -> cell as written, of one place


@dataclass(frozen=True)
class Column:
    """One kind of reading: at which kind of place it is taken, what it is called, how it is written, what judges it.

    `of` names the column without which it says nothing; `kind` the kind of its unit, if it has one.
    """

    name: str
    at: str
    words: str
    example: str
    judge: Callable[[str, Row, Bench], Answer] | None = None
    of: str = ""
    kind: str = ""


def read(cell: str | None) -> bool:
    """Return whether a cell holds a reading."""
    return cell is not None and cell.strip().lower() not in NOT_READ


def _sole_unit(column: str, value: float) -> str:
    """Return the unit that a bare number of a column can only be in; empty where it may be in more than one."""
    if column in ("gap", "clearance"):
        return "in" if value < MOST_BARE_INCH else "thou" if value >= LEAST_BARE_THOU else ""
    return "ohm" if column == "resistance" and value >= LEAST_BARE_OHM else ""


def with_unit(column: str, text: str, bench: Bench) -> str:
    """Return a cell as it is kept: a bare number with its unit, that of the column or the only one it can be in; others as written."""
    written = text.strip()
    if not _BARE.fullmatch(written):
        return written
    return f"{written} {bench.units.get(column, '') or _sole_unit(column, float(written))}".strip()


def _quantity(column: str, text: str, kind: str, bench: Bench) -> Quantity:
    """Return a cell with its unit. Raises BadInput."""
    written = with_unit(column, text, bench)
    if _BARE.fullmatch(written):
        known = [u.symbol for u in KINDS[kind]]
        raise BadInput(f"may be in more than one unit; write it with its unit: {', '.join(known)}")
    try:
        return read_quantity(written, kind, "cell")
    except BadInput as error:
        milli = kind == "resistance" and re.search(r"\dm\b|\d m\b", written)
        told = str(error).removeprefix("cell: ")
        raise BadInput(f"{told.partition(';')[0]}; m is a thousandth: write M for megohm, k for kilohm" if milli else told) from None


def _length(column: str, text: str, bench: Bench, span: tuple[float, float, str]) -> Quantity:
    try:
        return plausible(_quantity(column, text, "length", bench), "cell", *span)
    except BadInput as error:
        raise BadInput(str(error).removeprefix("cell: ")) from None


def _ohms(column: str, text: str, bench: Bench) -> Quantity | None:
    """Return a resistance, None where it is beyond the meter."""
    return None if text.strip().lower() in OVER else _quantity(column, text, "resistance", bench)


def _gap(place: str, row: Row, bench: Bench) -> Answer:
    readings = PlugReadings(place, gap=_length("gap", row["gap"], bench, GAP_SPAN))
    return plug_answer(readings, PlugLimits(bench.limit(GAP_LOW), bench.limit(GAP_HIGH)))


def _resistance(place: str, row: Row, bench: Bench) -> Answer:
    ohms = _ohms("resistance", row["resistance"], bench)
    readings = PlugReadings(place, resistance=ohms, open_resistor=ohms is None)
    return plug_answer(readings, PlugLimits(resistance=bench.limit(RESISTANCE_HIGH)))


def _insulation(place: str, row: Row, bench: Bench) -> Answer:
    text, _, volts = re.sub(r"\s+at\s+", "@", row["insulation"], flags=re.I).partition("@")
    ohms = _ohms("insulation", text, bench)
    volts = volts or row.get("test_voltage", "") or bench.voltage
    if not read(volts):
        raise BadInput("no test voltage, and a pass at a low one proves nothing; write it behind the reading, such as 200M at 10 kV")
    voltage = _quantity("test_voltage", volts, "voltage", bench)
    readings = LeadReadings(place, ohms, ohms is None, voltage)
    return lead_answer(readings, LeadLimits(insulation=bench.limit(INSULATION)))


def _continuity(place: str, row: Row, bench: Bench) -> Answer:
    ohms = _ohms("continuity", row["continuity"], bench)
    readings = LeadReadings(place, continuity=ohms, continuity_over=ohms is None)
    return lead_answer(readings, LeadLimits(continuity=bench.limit(CONTINUITY)))


def _compression(place: str, row: Row, bench: Bench) -> Answer:
    cylinder, fed = read_gauges(row["compression"])
    own = bench.limit(MAKER)
    lowest = Quantity(own.value, "psi", "pressure") if own.entered else None
    air = row.get("air", "").strip().lower() if read(row.get("air")) else ""
    return compression_answer(
        CompressionReading(int(place), cylinder, fed, bench.hot, air=air, maker_limit=lowest, document=own.document, revision=own.revision)
    )


def _clearance(place: str, row: Row, bench: Bench) -> Answer:
    readings = PointsReadings(_length("clearance", row["clearance"], bench, CLEARANCE_SPAN), magneto=place)
    return points_answer(readings, bench.layout, bench.limit(CLEARANCE_LOW), bench.limit(CLEARANCE_HIGH))


COLUMNS = (
    Column("gap", "circuit", "plug gap", ".018, 18 thou or 0.45 mm", _gap, kind="length"),
    Column("resistance", "circuit", "plug resistance", "1.8k, 1800 or over", _resistance, kind="resistance"),
    Column("insulation", "circuit", "lead insulation", "200M at 10 kV, or over", _insulation, kind="resistance"),
    Column("test_voltage", "circuit", "test voltage", "10 kV", of="insulation", kind="voltage"),
    Column("continuity", "circuit", "lead continuity", "2 ohm or over", _continuity, kind="resistance"),
    Column("compression", "cylinder", "compression", "74/80", _compression),
    Column("air", "cylinder", "air heard at", ", ".join(WHERE), of="compression"),
    Column("clearance", "side", "point clearance", ".018, 18 thou or 0.45 mm", _clearance, kind="length"),
)
BY_NAME: Mapping[str, Column] = {column.name: column for column in COLUMNS}


def answer_of(column: Column, place: str, row: Row, bench: Bench) -> Answer:
    """Return what one cell comes to, by the calculation that `calc` has for it. Raises BadInput."""
    if column.judge is None:
        raise ValueError(f"{column.name} is no reading of its own")
    return column.judge(place, row, bench)


def places(layout: Layout) -> tuple[str, ...]:
    """Return the places of a sheet in the engine's order: each cylinder with its plugs, then the magnetos."""
    by_cylinder = [(c, *(x for x in layout.circuits if x.partition("-")[0] == c)) for c in layout.places("cylinder")]
    return (*(place for group in by_cylinder for place in group), *layout.places("side"))


def columns_at(place: str) -> tuple[Column, ...]:
    """Return what is read at a place."""
    return tuple(column for column in COLUMNS if column.at == kind_of(place))


def read_place(text: str, layout: Layout) -> str:
    """Return a place as a shop writes it: `3-bottom`, `3B`, `No. 3 bottom`, `L`. Raises BadInput."""
    written = " ".join(re.sub(r"[-_/]+", " ", re.sub(r"\b(no\.?|cyl\w*|plug|lead|mag(neto)?)(?![a-z])", " ", text.lower())).split())
    known = places(layout)
    for place in known:
        number, _, position = place.partition("-")
        short = (place, f"{number} {position[:1]}", f"{number}{position[:1]}", f"{number}{position}") if position else (place, place[:1])
        if written.replace(" ", "-") == place or written in short:
            return place
    raise BadInput(f"'{text.strip()[:40]}' is no place of this engine; {did_you_mean(written.replace(' ', '-'), known)}")
