"""The bridge leaves nothing out on either side, and every id and name in it exists."""

from __future__ import annotations

from dataclasses import fields, is_dataclass

import pytest

from diagnose import loaded
from diagnose.drill.answers import ANSWERS
from diagnose.drill.bridge import bridge
from diagnose.drill.fault_causes import OUTSIDE, causes_of
from diagnose.drill.mends import BY_PLACE, OWN
from diagnose.stand.engine import Engine
from diagnose.stand.faults import KINDS, places_for, put_fault
from diagnose.stand.repairs import REPAIRS
from diagnose.trouble.repair_groups import place_of

BASE = loaded.rulebase()
BRIDGE = bridge()
LAYOUTS = ("opposed-4", "opposed-4-dual")


def test_every_fault_kind_is_some_cause_or_outside_the_rule_base():
    assert set(KINDS) == set(BRIDGE.faults) | OUTSIDE
    assert not set(BRIDGE.faults) & OUTSIDE
    assert len(OUTSIDE) >= 15
    assert {c for causes in BRIDGE.faults.values() for c in causes} <= set(BASE.causes)


def test_every_symptom_that_a_check_gives_is_answered_sound_or_said_to_be_silent():
    """Counted, so that the share the stand does not answer is known."""
    given = {ref.symptom for check in BASE.checks.values() for ref in check.gives}
    answered, sound, silent = set(BRIDGE.answers), BRIDGE.sound, set(BRIDGE.silent)
    assert given <= answered | sound | silent <= set(BASE.symptoms)
    assert len(answered) + len(sound) + len(silent) == len(answered | sound | silent)
    print(
        f"{len(given)} symptoms given by checks: {len(given & answered)} answered, {len(given & sound)} sound, {len(given & silent)} not answered"
    )
    told = {s for s in given & silent if BASE.symptoms[s].kind == "course"}  # what the owner remembers: nothing to compute
    told |= {r.symptom for r in BASE.checks["ask_what_was_noticed"].gives}  # what the pilot noticed: no more can be computed
    assert len(given & silent - told) <= 20
    assert {str(words[0]) for words in BRIDGE.answers.values()} <= set(ANSWERS)
    assert {stem.split(".")[0] for line in BRIDGE.noticed for stem, _ in line} <= answered


def test_every_remedy_changes_parts_or_is_said_to_change_none():
    assert set(BRIDGE.mends) | BRIDGE.without_effect == set(BASE.remedies)
    assert not set(BRIDGE.mends) & BRIDGE.without_effect
    build = Engine(loaded.network_of((), "opposed-4").layout, 1).build
    for steps in BRIDGE.mends.values():
        for step in steps:
            if "=" not in step:
                assert step in REPAIRS or step in OWN
                continue
            parts, _, field = step.partition("=")[0].partition(".")
            held = getattr(build, parts)
            part = next(iter(held.values())) if parts in BY_PLACE else held
            assert is_dataclass(part), step
            assert field in {f.name for f in fields(part)}, step


@pytest.mark.parametrize("kind", BRIDGE.faults)
def test_a_fault_has_causes_at_its_own_place_on_some_layout(kind):
    """A fault at a side is no cause at the other side; a whole-engine cause is at the engine."""
    found: set[str] = set()
    for name in (*LAYOUTS, "opposed-6", "radial-9"):
        network = loaded.network_of((), name)
        places = places_for(Engine(network.layout, 1), KINDS[kind])
        for place in places[-1:]:
            causes = causes_of(network, kind, place)
            found |= causes
            if KINDS[kind].place == "side" and place == "right" and network.layout.drive == "separate":
                assert not any(c.endswith("@left") for c in causes)
            if KINDS[kind].place == "circuit":
                assert all(c.split("@")[1] in ("engine", place, network.layout.side_of[place], place.split("-")[0]) for c in causes)
    assert found or kind.startswith(("vibrator", "retard"))


def _fields(thing, path=""):
    """Yield (path, value) of every plain field of an engine's parts."""
    if is_dataclass(thing) and not isinstance(thing, type):
        for f in fields(thing):
            if f.name != "layout":
                yield from _fields(getattr(thing, f.name), f"{path}.{f.name}")
    elif isinstance(thing, dict):
        for key, value in thing.items():
            yield from _fields(value, f"{path}[{key}]")
    else:
        yield path, str(thing)


@pytest.mark.parametrize("kind", BRIDGE.faults)
def test_a_remedy_of_each_of_its_causes_changes_the_part_that_is_wrong(kind):
    """What the rule base says ends a cause changes on the stand what the fault had changed: two ways to the same part."""
    from diagnose.drill.mends import mend

    network = loaded.network_of((), "opposed-4")
    engine = Engine(network.layout, 3)
    places, sound = places_for(engine, KINDS[kind]), dict(_fields(engine.build))
    if not places:
        pytest.skip("not on this layout")
    for cause in causes_of(network, kind, places[-1]):
        located, ended = network.causes[cause], False
        for remedy in located.cause.remedies:
            bad = Engine(network.layout, 3)
            put_fault(bad, kind, places[-1])
            wrong = dict(_fields(bad.build))
            hurt = {path for path, value in wrong.items() if sound.get(path) != value}
            whole = KINDS[kind].place == "engine" and located.place != "engine"
            mend(bad, remedy, "engine" if whole else place_of(network.layout, network.base.remedies[remedy], located))
            after = dict(_fields(bad.build))
            ended = ended or any(after.get(path) != wrong[path] for path in hurt)
        assert ended or located.cause.id in NOT_MENDED, f"{cause}: {located.cause.remedies}"


# A remedy that only reads again, or one of a cause that merely names the same sign.
NOT_MENDED = {"mixture_rich_run"}
