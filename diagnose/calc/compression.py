"""Differential compression: leakage, the advisory circular's rule and the maker's, and where the air goes."""

import re
from dataclasses import dataclass

from diagnose.calc.answer import Answer, Instruction, Limit, Value, above, below, result, shown
from diagnose.calc.spans import COMPRESSION_LIMIT
from diagnose.calc.units import Quantity, plausible, read_quantity, value_in, written_in
from diagnose.problems import BadInput

SCHEMA = "calc-compression/1"
REGULATED = Quantity(80, "psi", "pressure")
LEAST_BARE = 10.0  # under this a number alone may be bar: a tester fed with 80 psi shows 5.5 bar at most
# The maker's figure has no typical value: only a shop's own file can give one.
MAKER = Limit("cylinder reading, at least", 0, "psi", ident="compression_min")
GAUGE_BAND_PSI = 1.0  # a test gauge reads to about 1 psi: estimate
AC_LEAKAGE = Limit(
    "leakage of the input, up to",
    25,
    "%",
    "AC 43.13-1B para 8-14",
    "CHG 1",
    entered=True,
    source="where the maker gives no data",
)
WHERE = {
    "exhaust": "Air at the exhaust: exhaust valve",
    "intake": "Air at the intake: intake valve",
    "breather": "Air at the breather or filler: rings or bore; if oil in the cylinder raises it, past the piston",
    "plug": "Air at a plug hole: plug seat or thread insert",
    "head": "Air between head and barrel, or a crack: soapy water shows it",
}
CAUTIONS = (
    "Air can spin the propeller and kill: two people, one holding the blade, path clear, ignition OFF, plugs grounded.",
    "Raise pressure slowly (15 to 20 psi first) and stay exactly at top centre of compression.",
)


@dataclass(frozen=True)
class CompressionReading:
    """One cylinder: regulator and cylinder gauge, hot (just run) or not, recheck or first, where air is heard.

    `maker_limit` is the lowest cylinder reading the maker allows (from the manual or its master orifice).
    """

    cylinder: int
    reading: Quantity
    regulated: Quantity = REGULATED
    hot: bool = False
    recheck: bool = False
    air: str = ""
    bore: Quantity | None = None
    maker_limit: Quantity | None = None
    document: str = ""
    revision: str = ""


def _bare(text: str) -> bool:
    return re.fullmatch(r"[\d.\s]+", text) is not None


def read_pressure(text: str, what: str) -> Quantity:
    """Return a pressure; a number alone is in psi, the unit of the gauges. Raises BadInput."""
    return read_quantity(f"{text} psi" if _bare(text) else text, "pressure", what)


def read_gauges(text: str, fed: str | None = None) -> tuple[Quantity, Quantity]:
    """Return cylinder and input pressure; `74/80` gives both, as the log has them; else the input is `fed`, or 80 psi. Raises BadInput."""
    written, slash, behind = text.partition("/")
    if not slash:
        reading = read_pressure(written, "cylinder pressure")
        if _bare(written) and 0 < reading.value < LEAST_BARE:
            raise BadInput(f"cylinder pressure: {written.strip()} may be bar or psi; write the unit, such as {written.strip()} psi")
        return reading, REGULATED if fed is None else read_pressure(fed, "regulated pressure")
    if fed is not None:
        raise BadInput(f"regulated pressure: given in {text!r} and in --regulated; give it once")
    unit = behind.strip().lstrip("0123456789. ")
    cylinder = f"{written} {unit}" if _bare(written) else written
    return read_pressure(cylinder, "cylinder pressure"), read_pressure(behind, "regulated pressure")


def leakage(reading: CompressionReading) -> float:
    """Return the share of the input pressure that is lost: 80 in and 60 out is 0.25. Raises BadInput."""
    source = value_in(plausible(reading.regulated, "regulated pressure", 30, 120, "psi"), "psi")
    cylinder = value_in(plausible(reading.reading, "cylinder pressure", 0, 120, "psi"), "psi")
    if cylinder > source:
        raise BadInput(
            f"cylinder pressure: {cylinder:.3g} psi is above the regulated {source:.3g}; check which gauge is which, and the units"
        )
    return 1 - cylinder / source


def orifice(bore: Quantity) -> float:
    """Return the diameter in inches of the tester's orifice for a bore (AC 43.13-1B 8-14): 0.040 under 5.00 in, else 0.060.

    Both are 0.250 in long with a 60 degree approach. Raises BadInput.
    """
    return 0.040 if value_in(plausible(bore, "bore", 2, 8, "in"), "in") < 5.0 else 0.060


def grade(reading: CompressionReading) -> str:
    """Return the grade of air_lost: by the maker's limit when given, else more than 25 % of the input lost."""
    source = value_in(reading.regulated, "psi")
    if reading.maker_limit is not None:
        leakage(reading)
        limit = value_in(plausible(reading.maker_limit, "maker's limit", *COMPRESSION_LIMIT), "psi")
        return below(value_in(reading.reading, "psi"), limit, GAUGE_BAND_PSI)
    return above(100 * leakage(reading), AC_LEAKAGE.value, 100 * GAUGE_BAND_PSI / source)


def compression_answer(reading: CompressionReading) -> Answer:
    """Grade one cylinder. Raises BadInput for a number that cannot be."""
    if reading.air and reading.air not in WHERE:
        raise BadInput(f"air heard at: {reading.air!r} is not known; use one of: {', '.join(WHERE)}")
    found = grade(reading)
    limit = AC_LEAKAGE
    if reading.maker_limit is not None:
        limit = Limit(
            "cylinder reading, at least",
            written_in(reading.maker_limit, "psi"),
            "psi",
            reading.document,
            reading.revision,
            entered=True,
        )
    return Answer(
        schema=SCHEMA,
        title=f"Differential compression, cylinder {reading.cylinder}",
        inputs=_inputs(reading),
        values=_values(reading),
        limits=(limit,),
        says=_says(reading, found),
        steps=_steps(reading, found),
        cautions=CAUTIONS,
        results=(result("air_lost", "hot" if reading.hot else "static", str(reading.cylinder), found),),
    )


def _inputs(reading: CompressionReading) -> tuple[Value, ...]:
    def other(quantity: Quantity) -> str:
        return "kPa" if quantity.unit == "psi" else "psi"

    rows = [
        shown("regulated", reading.regulated, other(reading.regulated)),
        shown("cylinder", reading.reading, other(reading.reading)),
        Value("engine", "just run" if reading.hot else "not just run"),
        Value("test", "recheck" if reading.recheck else "first"),
        Value("air heard at", reading.air or "not stated"),
    ]
    if reading.bore is not None:
        rows.append(shown("bore", reading.bore, "mm" if reading.bore.unit == "in" else "in"))
    return tuple(rows)


def _values(reading: CompressionReading) -> tuple[Value, ...]:
    rows = [Value("leakage", round(100 * leakage(reading), 1), "% of the input")]
    if reading.bore is not None:
        rows.append(Value("orifice of the tester", orifice(reading.bore), "in", note="0.250 in long, 60 deg approach"))
    return tuple(rows)


def _says(reading: CompressionReading, found: str) -> tuple[str, ...]:
    rule = "the maker's limit" if reading.maker_limit is not None else "a loss of 25 % of the input"
    out = [
        {
            "yes": f"Beyond {rule}: suspect.",
            "no": f"Within {rule}.",
            "no|yes": f"At {rule}, within gauge error: treat as suspect and recheck.",
        }[found]
    ]
    out += [f"{WHERE[reading.air]}."] if reading.air else []
    if reading.maker_limit is None:
        out.append(
            "The maker's own procedure, where there is one, comes before this rule; makers allow less (50/80 is quoted for one) when "
            "their procedure passes."
        )
    out.append("Good compression does not clear a broken ring.")
    return tuple(out)


def _steps(reading: CompressionReading, found: str) -> tuple[Instruction, ...]:
    if found == "no":
        return ()
    if not (reading.hot and reading.recheck):
        return (
            Instruction(
                "Run the engine 3 minutes or more and test again hot (AC 43.13-1B 8-14).",
                "hot engine, live propeller: all the cautions of a run and of the air test.",
                "20 min",
            ),
        )
    if found == "no|yes":
        return (Instruction("Still at the limit: read the gauges again, with a checked tester.", minutes="10 min"),)
    where = " Find where the air goes first." if not reading.air else ""
    return (
        Instruction(
            "Still low hot after the recheck: unless maker's data says otherwise, remove and inspect the cylinder (AC 43.13-1B "
            f"8-14).{where}",
            minutes="by the manual",
        ),
    )
