"""Short words for one screen: a suspect place first, a caution by its first words, the state in a word."""

from __future__ import annotations

import re
from collections.abc import Sequence

from diagnose.assessment.assess import Assessment
from diagnose.assessment.finding import Ranked
from diagnose.plan.outcomes import Outcome
from diagnose.report import screens
from diagnose.report.glance import Row
from diagnose.report.said import cause_name, cause_now
from diagnose.trouble.network import Network

ALIKE = 1.25  # the same fault at another place stands on the same line where the shares differ by less than this
LEAST = 0.005  # below this share a cause is no suspect
SHORT = 44  # a caution is cut to about so many characters


def suspects(network: Network, a: Assessment, count: int = 3) -> tuple[Row, ...]:
    """Return the likeliest causes, the same fault at places that are equally likely on one line."""
    rows = _ordered(a)
    found: list[list[Ranked]] = []
    for row in rows:
        like = next((g for g in found if _alike(network, g[0], row)), None)
        if like is not None:
            like.append(row)
        else:
            found.append([row])
    return tuple(_suspect(network, a, group) for group in found[:count])


def rest_of(a: Assessment, network: Network, count: int = 3) -> int:
    """Return how many likely causes stand on no line of `suspects`."""
    shown = suspects(network, a, count)
    every = suspects(network, a, len(a.finding.causes))
    return len(every) - len(shown)


def _ordered(a: Assessment) -> list[Ranked]:
    rows = sorted(a.finding.causes, key=lambda r: (-round(r.share, 12), r.id))
    return [r for r in rows if r.share >= LEAST] or rows[:3]


def _alike(network: Network, first: Ranked, other: Ranked) -> bool:
    same = network.causes[first.id].cause.id == network.causes[other.id].cause.id and first.removed == other.removed
    return same and first.share < ALIKE * other.share


def _suspect(network: Network, a: Assessment, group: Sequence[Ranked]) -> Row:
    first = group[0]
    also = [network.causes[r.id].place for r in group[1:]]
    words = cause_now(network, a, first.id, also)
    gone = " (repaired)" if first.removed else ""
    return Row(f"{words}{gone}", screens.percent(first.share) + (" each" if also else ""))


def short_caution(text: str) -> str:
    """Return the first words of a caution: to its first stop, or to a comma where that is long."""
    head = re.split(r" - |[.:;] |\.$", text, maxsplit=1)[0]
    if len(head) > SHORT:
        at = max(head.rfind(", ", 24, SHORT), head.find(", ", SHORT))
        head = head[:at] if at > 0 else head
    return head


def telling(outcomes: Sequence[Outcome], count: int = 4) -> list[Outcome]:
    """Return the outcomes that can happen, the likeliest first."""
    possible = [o for o in outcomes if o.responsible and o.probability > 0.002]
    return sorted(possible, key=lambda o: -round(o.probability, 12))[:count]


def outcome_row(network: Network, a: Assessment, outcome: Outcome) -> Row:
    """Return an outcome as what is seen, how often, and whom it makes the first suspect."""
    cause, share = outcome.top(1)[0]
    normal = len(outcome.results) > 1 and all(r.endswith(("=no", "=normal")) for r in outcome.results)
    seen = "all normal" if normal else screens.result_words(network, outcome.results[-1])
    who = cause_name(network, cause, a.prepared.stands.get(cause, ""))
    return Row(f"{screens.percent(outcome.probability):>6}  {seen}", f"-> {screens.percent(share)} {who}")


def state_words(a: Assessment, kind: str) -> str:
    """Return the state in a word, such that it never speaks against the step of this kind."""
    if kind == "make_good":
        return "COMPLAINT GONE - close up" if a.finding.state == "confirmed" and not a.make_good else "MAKE GOOD FIRST"
    if kind == "finish_run":
        return "COMPLAINT GONE - the run is not finished" if a.finding.state == "confirmed" else "REPAIRED - to be proved by a run"
    if kind == "help":
        return "NO STEP STANDS OUT"
    named = {
        "confirmed": "COMPLAINT GONE",
        "isolated": "ONE REPAIR STANDS OUT",
        "ambiguous": f"DOWN TO {len(a.finding.ambiguity)}",
        "unexplained": "FITS NOTHING WELL",
    }
    unsettled = "NOT PROVED - trying the repair is the quickest test" if kind == "repair" else "NOT YET FOUND"
    return named.get(a.finding.state, unsettled)
