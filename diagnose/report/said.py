"""What must be said of a trouble wherever it is shown, screen, document or paper."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.assessment.assess import Assessment
from diagnose.places import kind_of
from diagnose.plan.rules import Bars
from diagnose.plan.warnings import standing_warnings
from diagnose.trouble.aircraft import Aircraft
from diagnose.trouble.aircraft_words import left_as
from diagnose.trouble.evidence import parts_elsewhere
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network
from diagnose.trouble.sentences import sentence_of
from diagnose.trouble.trouble import Trouble

PARTS = {"circuit": ("Plug", "Lead"), "side": ("Magneto",), "cylinder": ("Cylinder",)}  # what a label may begin with at such a place
PLACED = {"circuit": "No. {0} {1}", "side": "{0} magneto", "cylinder": "No. {0} cylinder"}


def cause_name(network: Network, cause: str, away: str = "", also: Sequence[str] = (), when: str = "now") -> str:
    """Return a located cause, place first and the part named once: "No. 3 bottom plug: fouled with lead".

    `away`: where the part stands since an exchange, `when` (now, then); `also`: further places of the same fault.
    """
    located = network.causes[cause]
    kind, label = kind_of(located.place), located.cause.label
    if kind not in PLACED:
        return label
    where, others = _together([PLACED[kind].format(*place.split("-")) for place in (located.place, *also)])
    part, _, rest = label.partition(" ")
    if part in PARTS[kind] and rest:
        label = rest
        where = where if where.endswith(part.lower()) else f"{where} {part.lower()}"
    label = label[0].lower() + label[1:] if label[1:2].islower() or label[1:2] == " " else label
    return f"{where}{others}{f', {when} in {away}' if away else ''}: {label}"


def cause_now(network: Network, a: Assessment, cause: str, also: Sequence[str] = ()) -> str:
    """Return a located cause with where its part stands since an exchange; of a part changed since, where it stood then."""
    away = a.prepared.stands.get(cause, "")
    elsewhere = {home for (_, home), now in parts_elsewhere(network, a.trouble.looks).items() if now == away} if away else set()
    return cause_name(network, cause, away, also, "now" if network.causes[cause].place in elsewhere else "then")


def result_after(network: Network, text: str, looks: Sequence[LookResults], newest: Sequence[LookResults] | None = None) -> str:
    """Return a result told in the last of some looks as a mechanic says it; of a part an exchange took to its place, whose that is.

    `newest`: the looks by which the part is said to stand there now, else then; left out: the same. Raises KeyError where this rule
    base does not know it.
    """
    told = sentence_of(network.base, network.layout, text)
    place = text.rpartition("=")[0].rpartition("@")[2]
    if kind_of(place) != "circuit" or not any(look.exchange for look in looks):
        return told
    where = PLACED["circuit"].format(*place.split("-"))
    for (check, home), there in parts_elsewhere(network, looks).items():
        part = network.base.checks[check].part
        if there == place and told.startswith(f"{where} {part}"):
            still = newest is None or parts_elsewhere(network, newest).get((check, home)) == place
            own = f"{part} from {PLACED['circuit'].format(*home.split('-'))} ({'now' if still else 'then'} in {where})"
            return own + told.removeprefix(f"{where} {part}")
    return told


def _together(said: Sequence[str]) -> tuple[str, str]:
    """Return places as they are said, and a count of those not named: "left or right magneto", "No. 1 or 3 bottom"."""
    heads, tails = [s.rpartition(" ")[0] for s in said], {s.rpartition(" ")[2] for s in said}
    if len(said) == 1:
        return said[0], ""
    if len(tails) > 1 or len(said) > 3:
        return said[0], f" or {len(said) - 1} other{'s' if len(said) > 2 else ''}"
    shown = [heads[0], *(head.removeprefix("No. ") for head in heads[1:])]
    return f"{' or '.join(shown)} {said[0].rpartition(' ')[2]}", ""


def alarms(network: Network, a: Assessment) -> tuple[str, ...]:
    """Return what must stand on every screen of this trouble; what always holds comes last."""
    return alarms_of(network, a.trouble, a.bars)


def alarms_of(network: Network, trouble: Trouble, bars: Bars) -> tuple[str, ...]:
    """Return the same from what forbids a step."""
    labels = dict.fromkeys(network.causes[c].cause.label for c in bars.suspects[:3])
    return standing_warnings(bars, trouble.aircraft, "; ".join(labels))


def aircraft_words(aircraft: Aircraft) -> str:
    """Return the state of the aircraft as recorded, what is not as it is left first; empty where nothing is recorded.

    The same line stands under `rank`, `next` and a step of the interview; the papers give it whole, with who and when.
    """
    facts = aircraft.facts.items()
    off = [f"{thing} {fact.now}" for thing, fact in facts if fact.now not in left_as(thing)]
    usual = [f"{thing} {fact.now}" for thing, fact in facts if fact.now in left_as(thing)]
    due = ["OFF check due"] if aircraft.off_due is not None else []
    left = [f"{len(aircraft.left)} to be made good"] if aircraft.left else []
    asked = [f"not recorded: {' and '.join(aircraft.leads_unasked)}"] if facts and aircraft.leads_unasked else []
    return "; ".join(", ".join(words) for words in ([*off, *left, *due], usual, asked) if words)
