"""The numbers and words behind the grades of a check, as a person would write them down: from the same occasion, so from the same run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence

from diagnose.drill.bridge import bridge
from diagnose.drill.look import Look
from diagnose.places import SIDES
from diagnose.stand.reading import Reading
from diagnose.stand.runs import OneMagneto

Spot = tuple[str, str, str]  # symptom, regime, place
Told = Callable[[Look, str, str], Iterator[str]]
REGIMES = {
    "runup": "run-up",
    "idle": "idle",
    "cold": "cold",
    "cruise_lean": "leaned",
    "high_power": "high power",
    "hot": "hot",
    "wet": "damp",
    "start": "as found",
    "static": "engine stopped",
}
# What an answer is read from where it is one observation of its own place, or (True) of the whole engine.
OBSERVED: Mapping[str, tuple[tuple[str, bool], ...]] = {
    "plug-gap": (("plug-gap", False),),
    "plug-resistance": (("plug-resistance", False),),
    "lead-open": (("lead-continuity-flexed", False),),
    "lead-leaks": (("lead-insulation", False),),
    "lead-order": (("lead-goes-to", False),),
    "burnt": (("points-look", False),),
    "tracked": (("distributor-look", False),),
    "clearance": (("points-clearance", False),),
    "e-gap": (("e-gap", False),),
    "timing": (("timing-to-engine", False),),
    "capacitor": (("capacitor", False),),
    "stays-grounded": (("capacitor", False), ("points-look", False)),
    "coil": (("coil-primary", False), ("coil-secondary", False)),
    "battery": (("battery-volts", True),),
    "compression": (("compression-hot", False),),
    "nozzle": (("injector-flow", False),),
    "tachometer": (("tachometer-error", True),),
    "rise-high": (("shut-down", True),),
    "rise-none": (("shut-down", True),),
    "p-lead": (("p-lead-off", False), ("p-lead-both", False)),
}
NAMES = {"e-gap": "e gap, error from the mark, + is late"}  # an error of nothing is a good reading, and must not look like a gap of nothing


def readings(look: Look, spots: Sequence[Spot]) -> list[str]:
    """Return what stands behind the answers of a check, each line once; nothing for what only a person's eye or memory gives."""
    found: list[str] = []
    asked = Counter(
        str(words[1]) for words in (bridge().answers.get(s) for s in {spot[0] for spot in spots}) if words and words[0] == "word"
    )
    for symptom, regime, place in spots:
        for line in _of(look, symptom, regime, place, asked):
            if line not in found:
                found.append(line)
    return found


def _of(look: Look, symptom: str, regime: str, place: str, asked: Mapping[str, int]) -> Iterator[str]:
    words = bridge().answers.get(symptom)
    if words is None or (symptom in bridge().running and regime != "start" and look.starts() > 1):
        return
    name = str(words[0])
    if name == "word" and asked.get(str(words[1]), 0) < 2:
        yield from _part(look, str(words[1]), place, [str(w) for w in words[2:]])
    elif name in ("word", "looks-other"):
        yield _seen(look, str(words[1]), place)
    elif name in ("word-of-engine", "looks-other-of-engine"):
        yield _seen(look, str(words[1]), "engine")
    elif name == "comes-in":
        yield _seen(look, "coming-in-hot" if words[1] else "coming-in", place)
    elif name in OBSERVED:
        yield from (_seen(look, seen, "engine" if whole else place) for seen, whole in OBSERVED[name])
    elif name in RUNS:
        yield from RUNS[name](look, regime, place)


def _part(look: Look, name: str, place: str, wanted: Sequence[str]) -> Iterator[str]:
    """Yield only what a look that sees one thing of a part sees of it: not the firing end of a plug that stays in."""
    words = [w for w in look.see(name, place).words if any(part in w for part in wanted)]
    if words:
        yield f"{place}: {', '.join(words)}"


def _seen(look: Look, name: str, place: str) -> str:
    where = "" if place == "engine" else f", {place}"
    return f"{NAMES.get(name, name.replace('-', ' '))}{where}: {look.see(name, place)}"


def _mag(look: Look, regime: str, place: str) -> Iterator[str]:
    check = look.mag(regime)
    yield f"BOTH, {REGIMES[regime]}: {_join(check.both, check.both_run, check.noise)}"
    for side, one in check.sides.items():
        yield f"{side.upper()}, {REGIMES[regime]}: {_alone(one)}"


def _alone(one: OneMagneto) -> str:
    if one.died:
        return "dies"
    parts, whole = one.at_once + one.slowly, one.drop.number or 0.0
    # The tachometer's own reading is shared out: what the needle shows is all that anybody sees.
    at_once = round(whole * one.at_once / parts) if parts > 0 else 0
    how = f" ({at_once} at once, {round(whole) - at_once} slowly)" if parts > 0 and whole > 0 else ""
    return f"{one.rpm}, drop {one.drop}{how}, {_join(one.run, one.noise)}"


def _join(*told: Reading) -> str:
    """Return readings on one line; of how it runs only the word, as a person has no number for it."""
    parts = [", ".join(r.words) if r.words and not r.unit.startswith("rpm") else str(r) for r in told if r.words or r.unit == "rpm"]
    return ", ".join(parts)


def _power(look: Look, regime: str, place: str) -> Iterator[str]:
    if place in SIDES:
        yield from _mag(look, regime, place)
        return
    run = look.power(regime)
    pressure = "" if run.manifold.number is None else f", {run.manifold}"
    yield f"BOTH held, {REGIMES[regime]}: {_join(run.rpm, run.run, run.noise)}{pressure}"


def _heads(look: Look, regime: str, place: str) -> Iterator[str]:
    heads = look.power(regime).cht
    if heads:
        yield f"head over air, {REGIMES[regime]}: " + ", ".join(f"{n} {r}" for n, r in heads.items())


def _egt(look: Look, regime: str, place: str) -> Iterator[str]:
    if "-" in place or place in SIDES:
        for side, one in look.mag(regime).sides.items():
            yield f"exhaust, BOTH to {side.upper()}, {REGIMES[regime]}: " + _channels(one.egt)
        return
    yield f"exhaust against the mean, BOTH, {REGIMES[regime]}: " + _channels(look.picture(regime))


def _channels(found: Mapping[int, Reading]) -> str:
    shown = (str(r).replace(", steady", "") if r.number is not None else ", ".join(r.words) for r in found.values())
    return ", ".join(f"no. {n} {text}" for n, text in zip(found, shown, strict=True))


def _cold(look: Look, regime: str, place: str) -> Iterator[str]:
    position = look.engine.layout.side_of[place] if "-" in place else "both"
    shares: Sequence[float | None] = look.once(("spots", regime, position), list)
    if shares:
        told = ", ".join(f"no. {n} {'-' if s is None else format(s, '.0%')}" for n, s in enumerate(shares, 1))
        yield f"warmth beside the others on {position.upper()}, {REGIMES[regime]}: {told}"


def _start(look: Look, regime: str, place: str) -> Iterator[str]:
    seen = look.start(regime)
    kick = "" if seen.kick_back.words == ("none",) else ", kicks back"
    yield f"start, {REGIMES[regime]}: {'; '.join(seen.start.words)}, cranks at {seen.cranking}{kick}, {'; '.join(seen.click.words)}"


RUNS: Mapping[str, Told] = {
    "mag": _mag,
    "reads-differently": _mag,
    "better-single": _mag,
    "rough": _power,
    "noise": _power,
    "pressure": _power,
    "power-low": _power,
    "pitch-off": _power,
    "cht-high": _heads,
    "egt": _egt,
    "cold": _cold,
    "start-hard": _start,
    "start-none": _start,
    "cranks-slowly": _start,
    "kicks": _start,
    "on-release": _start,
}
