"""Plug service in order: steps with times and cautions, and torque in the units of the wrench."""

from diagnose.calc.answer import Answer, Instruction, Limit, Value, shown
from diagnose.calc.units import Quantity, plausible, value_in, written_in
from diagnose.problems import BadInput

SCHEMA = "calc-plug-service/1"
# Published aviation figures run from 20 to 35 lb-ft; well outside this span a unit is mixed up (estimate).
TORQUE_SPAN = (10.0, 50.0, "lb-ft")
TYPICAL_TORQUE = (
    Limit("torque, from", 300, "lb-in", source="one engine maker 300-360, another 420; a twin 360-420"),
    Limit("torque, to", 420, "lb-in", source="one engine maker 300-360, another 420; a twin 360-420"),
)

STEPS = (
    Instruction(
        "Engine cold. Switch OFF, mixture cut-off, leads off straight along their axis, propeller treated as live.",
        "a lead that is off can shock; a propeller that is moved can fire.",
        "10 min",
    ),
    Instruction(
        "Plugs out into a numbered tray, each with its gasket. Look first: deposits belong to the cylinder. Thin tan is normal; hard "
        "clinker on all plugs, lead and a case for a hotter approved plug; fluffy black, rich or too cold; oily, rings or guides "
        "(common practice, no source).",
        minutes="2 min a plug",
    ),
    Instruction(
        "Reject: cracked or chipped nose or well, electrodes at half size, bad threads, dented barrel, dropped.",
        minutes="1 min a plug",
    ),
    Instruction(
        "Oil off: firing ends only in an approved solvent per the current manual, 20 to 30 minutes, terminal well kept dry (common "
        "practice). The handbook says do not soak: wipe the barrel with a moist cloth (FAA-H-8083-32B p4-36). Follow the plug maker.",
        "solvent is flammable and harmful: air, gloves, no flame. Older chlorinated solvents are toxic and banned or being banned: "
        "do not use them.",
        "20-30 min",
    ),
    Instruction(
        "Dry fully, then loosen lead with a vibrating cleaner or pick, along the insulator.",
        "never press on the nose. Dust holds lead: eye and breathing protection, wash hands.",
        "2 min a plug",
    ),
    Instruction(
        "Abrasive blast only where the maker allows it, a few seconds, turning the plug, then air to get grit out. Five seconds can "
        "cost as much electrode as a couple of hundred hours (common practice, no source).",
        "grit left inside harms the engine; eye protection.",
        "3-5 s a plug",
    ),
    Instruction(
        "Gap with round wires, by moving the ground electrode only; clean threads with a brush.",
        "never lever against the centre electrode.",
        "2 min a plug",
    ),
    Instruction(
        "Resistance, then the bench test under pressure.",
        "high voltage: guard the terminal.",
        "1 min a plug",
    ),
    Instruction(
        "Anti-seize sparingly as the maker says, none on the first thread: on an electrode it is a lasting short. New gasket. Plug "
        "to its new place by the rotation plan; screw in by fingers all the way.",
        "if fingers will not run it in, clean the threads; do not force it.",
        "1 min a plug",
    ),
    Instruction(
        "Torque by the manual. Terminal wiped with an approved solvent, dry hands, lead in straight, nut not over-tightened.",
        "too much torque opens the insulator seal.",
        "1 min a plug",
    ),
    Instruction(
        "Run: the whole mag check, static rpm, the OFF check, and the complaint's own condition.",
        "live propeller, chocks, wind, qualified person.",
        "15 min",
    ),
)


def read_torque(torque: Quantity) -> Quantity:
    """Return `torque` if it can be a spark plug's; BadInput naming the likely unit otherwise."""
    return plausible(torque, "spark plug torque", *TORQUE_SPAN)


def service_answer(plugs: int, torque: tuple[Quantity, Quantity] | None, document: str = "", revision: str = "") -> Answer:
    """Return the service steps for so many plugs, with torque from the manual (None: typical, marked). Raises BadInput."""
    if plugs < 1:
        raise BadInput(f"plugs: {plugs} is too few; give 1 or more")
    inputs = [Value("plugs", plugs)]
    limits = TYPICAL_TORQUE
    if torque is not None:
        low, high = (read_torque(t) for t in torque)
        if value_in(low, "N m") > value_in(high, "N m"):
            raise BadInput("torque: the lower is above the upper; give lower, then upper")
        limits = tuple(
            Limit(f"torque, {name}", written_in(t, "lb-in"), "lb-in", document, revision, True) for name, t in (("from", low), ("to", high))
        )  # type: ignore[assignment]
        inputs += [shown(f"torque, {name}", t) for name, t in (("from", low), ("to", high))]
    values = tuple(_wrench(limit) for limit in limits)
    return Answer(
        SCHEMA,
        f"Service of {plugs} spark plugs",
        tuple(inputs),
        values,
        tuple(limits),
        steps=STEPS,
        says=_says(torque is not None),
    )


def _wrench(limit: Limit) -> Value:
    pounds_inch = Quantity(limit.value, "lb-in", "torque")
    name = limit.name + ", on the wrench"
    return Value(
        name,
        round(value_in(pounds_inch, "lb-ft"), 1),
        "lb-ft",
        Quantity(round(value_in(pounds_inch, "N m"), 1), "N m", "torque"),
    )


def _says(entered: bool) -> tuple[str, ...]:
    out = ("Where maker and common practice differ, the maker's current manual decides.",)
    return (
        out
        if entered
        else (
            *out,
            "No torque entered: the typical span is shown only to check a unit against. Do not use it on an engine.",
        )
    )
