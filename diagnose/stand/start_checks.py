"""What a try at starting gives, in the words of whoever turned the key."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.stand.engine import Engine
from diagnose.stand.reading import Reading, looked
from diagnose.stand.starting import StartTry, start_try

AT_ONCE, HARD, NEVER = 0.55, 0.12, 0.03  # chance that a compression fires: estimates


@dataclass(frozen=True)
class StartSeen:
    """How it started, cranking rpm, kick-back, whether it fires as the key is let go, clicks by side, buzz."""

    start: Reading
    cranking: Reading
    kick_back: Reading
    on_release: Reading
    click: Reading
    buzz: Reading


def start(engine: Engine, prime: float = 1.0, heat: str = "cold") -> StartSeen:
    """Try to start at the weather of the day; `prime` 1 right, 0.5 too little, 2 flooded; `heat` cold, warm or hot."""
    tried = start_try(engine.build, engine.weather, engine.begin(), prime, heat)
    return StartSeen(
        start=_how(engine, tried),
        cranking=Reading(float(round((tried.crank_rpm + engine.scatter.fresh("crank", 4.0)) / 5) * 5), "rpm"),
        kick_back=looked("kicks back" if _likely(engine, "kick", tried.kicks) else "none"),
        on_release=looked("fires as the key is let go" if tried.fires < NEVER and tried.fires_on_release > 0.15 else "no"),
        click=looked(*(f"click on {side}" for side in tried.click)) if tried.click else looked("no click"),
        buzz=looked("buzz" if tried.buzz else "no buzz"),
    )


def _likely(engine: Engine, name: str, chance: float, tries: int = 6) -> bool:
    return engine.scatter.toss(name) < 1 - (1 - chance) ** tries


def _how(engine: Engine, tried: StartTry) -> Reading:
    felt = tried.fires * (1 + engine.scatter.fresh("start", 0.1))
    if tried.crank_rpm < 20:
        return looked("does not turn")
    if felt > AT_ONCE:
        return looked("starts at once")
    if felt > HARD:
        return looked("starts after long cranking")
    return looked("fires now and then, does not start" if felt > NEVER else "does not start, no firing")
