"""Which suspects a check tells apart and by what physics, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.assessment.assess import Assessment
from diagnose.plan.outcomes import Outcome
from diagnose.plan.plan import Valued
from diagnose.report import screens
from diagnose.report.brief import telling
from diagnose.report.said import cause_name
from diagnose.rulebase.principles import principles_of
from diagnose.rulebase.records import Cause, Check, RuleBase
from diagnose.trouble.network import Network

FACTOR = 1.5  # a suspect is told of where its share changes by more than this
LEAST = 0.02  # and where it has this share before or after
MOST = 2  # suspects named for one outcome


def tells_apart(network: Network, a: Assessment, valued: Valued) -> list[str]:
    """Return a line for what the check rests on, then one for each likely outcome: whom it brings forward and whom it sets back."""
    now = {r.id: r.share for r in a.finding.causes}
    lines = physics(network.base, valued.located.check)
    for outcome in telling(valued.outcomes()):
        up, down = _moved(now, outcome)
        lines.append(f"  If {seen(network, outcome)}{':' if up or down else ': little changes'}")
        lines += [f"    points to {_named(network, now, outcome, up)}"] if up else []
        lines += [f"    away from {_named(network, now, outcome, down)}"] if down else []
    return lines


def physics(base: RuleBase, entry: Check | Cause) -> list[str]:
    """Return what a check rests on, or what is behind a cause, in one line; nothing where no principle explains it."""
    found = principles_of(base, entry)
    return [f"{found[0].short[0].upper()}{found[0].short[1:]}. In full: diagnose explain {found[0].id}"] if found else []


def seen(network: Network, outcome: Outcome) -> str:
    """Return an outcome as what is seen: its last result, or that all is normal."""
    normal = all(r.endswith(("=no", "=normal")) for r in outcome.results)
    return "all is normal" if normal and len(outcome.results) > 1 else screens.result_words(network, outcome.results[-1])


def _moved(now: Mapping[str, float], outcome: Outcome) -> tuple[list[str], list[str]]:
    """Return the causes an outcome brings forward and those it sets back, those that move furthest first."""
    change = {cause: outcome.responsible.get(cause, 0.0) - share for cause, share in now.items()}
    order = sorted(change, key=lambda c: (-round(abs(change[c]), 12), c))
    worth = [c for c in order if max(now[c], outcome.responsible.get(c, 0.0)) >= LEAST and _far(now[c], outcome.responsible.get(c, 0.0))]
    return [c for c in worth if change[c] > 0][:MOST], [c for c in worth if change[c] < 0][:MOST]


def _far(before: float, after: float) -> bool:
    low, high = sorted((before, after))
    return high > FACTOR * low


def _named(network: Network, now: Mapping[str, float], outcome: Outcome, causes: Sequence[str]) -> str:
    def share(value: float) -> str:
        return screens.percent(value).replace(" ", "")  # so that no line ends between number and sign

    return ", ".join(f"{cause_name(network, c)} ({share(now[c]).rstrip('%')} to {share(outcome.responsible.get(c, 0.0))})" for c in causes)
