"""What a person says of a check done: which one, at which place, and with a tool whose calibration may have run out."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from diagnose.case import log
from diagnose.case.case import Case
from diagnose.case.kinds import CONFIRMING
from diagnose.case.log import Event
from diagnose.case.readings import expired
from diagnose.places import inside
from diagnose.plan.checks import gives
from diagnose.plan.to_run import otherwise
from diagnose.problems import BadInput, did_you_mean
from diagnose.report.text import say
from diagnose.trouble.aircraft_words import P_LEADS
from diagnose.trouble.network import Network
from diagnose.trouble.results import Result, read_result


def check_at(text: str, network: Network) -> str:
    """Return `CHECK@PLACE` as written, its place filled in where there is only one; BadInput for a check or place that is not there."""
    name, _, place = text.partition("@")
    if not name:
        return ""
    if name == CONFIRMING and place in ("", "engine"):
        return CONFIRMING
    if name not in network.base.checks:
        raise BadInput(f"check '{text}' is not known; {did_you_mean(name, (*network.base.checks, CONFIRMING))}")
    places = network.layout.places(network.base.checks[name].at)
    if place and place not in places:
        raise BadInput(f"check '{text}': it is not done at '{place}'; {did_you_mean(place, places)}")
    return f"{name}@{place or places[0]}" if place or len(places) == 1 else name


def held_against(done: str, results: Iterable[Result], network: Network, whole: bool = False) -> None:
    """Raise BadInput for a result that a check done (as from `check_at`) cannot give: what it can give, and what gives this one.

    `whole`: they are one calculation, which may hold more than the check asks for; one of them must be its own.
    """
    name, _, place = done.partition("@")
    if name in ("", CONFIRMING):
        return
    able, known = gives(network, network.base.checks[name], place), list(results)
    foreign = [r for r in known if not _comes_of(able, r)]
    if foreign and not (whole and len(foreign) < len(known)):
        result = foreign[0]
        can = f"{result.symptom} at {_few(able[result.symptom])}" if result.symptom in able else _few(able)
        mend = f"leave --check out, or name what gave it: {_few(_that_give(result, network)) or 'no check does'}"
        raise BadInput(f"result '{result}' cannot come of check '{done}', which gives {can}; {mend}")


def _comes_of(able: Mapping[str, Collection[str]], result: Result) -> bool:
    return result.history or result.course or not set(result.places).isdisjoint(able.get(result.symptom, ()))


def beside(done: str, result: Result, network: Network) -> str:
    """Return the check that a result measured beside a check done came of: that one where it gives it, else one at the result's own place.

    Empty where none there gives it: it was seen, by whatever shows it.
    """
    name, _, place = done.partition("@")
    if name in ("", CONFIRMING) or _comes_of(gives(network, network.base.checks[name], place), result):
        return done
    return next((text for text in _that_give(result, network) if text.partition("@")[2] == result.place), "")


def _that_give(result: Result, network: Network) -> Iterator[str]:
    """Yield the checks that give a result, each at the first place where it does."""
    for check in network.base.checks.values():
        places = network.layout.places(check.at)
        at = next((p for p in places if not set(result.places).isdisjoint(gives(network, check, p).get(result.symptom, ()))), None)
        if at is not None:
            yield f"{check.id}@{at}" if len(places) > 1 else check.id


def _few(names: Iterable[str], most: int = 12) -> str:
    told = list(names)
    return ", ".join(told[:most]) + (", ..." if len(told) > most else "")


def check_moved(check: str, was: str, now: str, network: Network) -> str:
    """Return the check of a result whose place is corrected: the same check where it looks at the new place, and was at the old one.

    Empty where the check stays: it names no place, it holds both, or it cannot be done there.
    """
    name, _, place = check.partition("@")
    entry, layout = network.base.checks.get(name), network.layout
    if entry is None or not place or not inside(layout, was, place) or inside(layout, now, place):
        return ""
    found = next((p for p in layout.places(entry.at) if inside(layout, now, p)), "")
    return f"{name}@{found}" if found else ""


def say_expired(events: Iterable[Event]) -> None:
    """Say in one line that the tool of some entries was out of calibration; the papers mark it too."""
    for event in events:
        due = str(event.data.get("calibration", ""))
        if expired(due, event.time[:10]):
            tool = event.data.get("tool") or "the tool"
            say(f"note: calibration EXPIRED: {tool} was due {due}; the reading is kept and marked on every paper")
            return


def keep_run_against(case: Case, network: Network, made: Iterable[Event], person: str) -> None:
    """Keep and say a warning where results of a run stand beside a state that forbids the run: one of the two is not so."""
    ran = [e.seq for e in made if e.kind == "result" and not e.data.get("complaint") and _of_a_run(str(e.data["result"]), network)]
    aircraft = case.trouble.aircraft
    off = [f"{name} {aircraft.now(name)}" for name in P_LEADS.values() if aircraft.now(name) == "off"]
    off += [f"{item.thing} {item.fact.now}" for item in otherwise(aircraft, {"run"})]
    if not ran or not off:
        return
    told = f"entered of a run while the record says: {'; '.join(off)}. A magneto with its P-lead off is live. Correct what is not so"
    log.append(case.path, "warning", person, {"about": ran[0], "warning": told})
    say(f"warning: {told}: `diagnose note CASE --state ...` or `diagnose correct CASE {ran[0]}`")


def _of_a_run(result: str, network: Network) -> bool:
    return any(r.regimes != ("static",) for r in read_result(result, network.base, network.layout))
