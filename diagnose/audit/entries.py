"""Problems of single entries: thin causes, priors out of scale, missing codes and sources, remedies, history means."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from statistics import median

from diagnose.audit.findings import NOTICE, PROBLEM, Found
from diagnose.audit.numbers import links_of
from diagnose.rulebase.principles import principles_of
from diagnose.rulebase.records import Cause, Check, History, RuleBase
from diagnose.trouble.network import Network

LEAST_LINKS, LEAST_REGIMES = 4, 2  # the house rule of a good entry
PRIOR_BAND = (1e-5, 0.05)  # estimate: rarer than any part ever fails, commoner than the commonest plug trouble
FAMILY_FACTOR = 10.0  # estimate: how far a prior may lie from the median of its family
MOST_OF_ONE, MOST_OF_ALL = 0.25, 2.0  # estimate: expected faults at once on one engine, of one cause and of all
MEAN_OFF = 0.1
# A remedy ends causes at its own place or inside it: which kinds of place hold which (as `places.inside` has it).
HOLDS = {
    "circuit": {"circuit", "cylinder", "side", "engine"},
    "cylinder": {"cylinder", "engine"},
    "side": {"side", "engine"},
    "switch": {"switch", "engine"},
    "start": {"start", "engine"},
    "engine": {"engine"},
}


def findings(base: RuleBase) -> list[Found]:
    """Return every finding that single entries give."""
    return [
        *(f for cause in base.causes.values() for f in _cause(base, cause)),
        *(f for history in base.history.values() for f in _history(history)),
        *_remedies(base),
        *_families(base),
        *_unexplained(base),
    ]


def _unexplained(base: RuleBase) -> Iterator[Found]:
    """Yield every check and cause that no principle explains, where the rule base has principles at all."""
    entries: tuple[Check | Cause, ...] = (*base.checks.values(), *base.causes.values())
    for entry in entries if base.principles else ():
        if not principles_of(base, entry):
            key = "checks" if isinstance(entry, Check) else "causes"
            message = f"no principle explains {entry.id} to a trainee"
            yield Found(NOTICE, "no-principle", entry.id, message, f"name it under `{key}:` of the topic it works by (principles.yaml)")


def _cause(base: RuleBase, cause: Cause) -> Iterator[Found]:
    links = links_of(base, cause)
    regimes = {regime for _, regime, _ in links}
    if len(links) < LEAST_LINKS:
        yield Found(
            PROBLEM,
            "few-links",
            cause.id,
            f"{cause.id} shows {len(links)} results; the rule is {LEAST_LINKS}",
            "say what else it shows, or fold it into a neighbour",
        )
    if len(regimes) < LEAST_REGIMES:
        yield Found(
            PROBLEM,
            "few-regimes",
            cause.id,
            f"{cause.id} shows only in: {', '.join(sorted(regimes)) or 'no regime'}",
            "say how it shows in another regime",
        )
    if cause.jasc is None and "jasc" not in cause.note.lower():
        yield Found(
            PROBLEM,
            "jasc-missing",
            cause.id,
            f"{cause.id} has no JASC code and its note does not say why",
            "give the code, or write in the note why no JASC code fits",
        )
    if any(t.goes == "course" for t in base.templates.values()) and not base.courses(cause):
        yield Found(
            PROBLEM,
            "no-course",
            cause.id,
            f"{cause.id} does not say how the trouble goes",
            "name one template of the kind `course` under `goes:`, and those of the kind `change` that fit",
        )
    yield from _cited(cause, len(links))
    yield from _ends(base, cause)
    yield from _scale(cause)


def _cited(cause: Cause, links: int) -> Iterator[Found]:
    unsourced = sum(1 for e in cause.effects for s in e.shows for n in s.levels.values() if not n.source)
    if not cause.source:
        yield Found(
            PROBLEM,
            "link-without-source",
            cause.id,
            f"{cause.id} cites no source for its {links} links",
            "cite one, or `common` or `memory` where there is none",
        )
    if unsourced:
        yield Found(
            PROBLEM,
            "number-without-source",
            cause.id,
            f"{unsourced} numbers of {cause.id} do not say where they come from",
            "add `numbers:`, with `estimate` where nothing better is known",
        )


def _ends(base: RuleBase, cause: Cause) -> Iterator[Found]:
    known = [base.remedies[r] for r in cause.remedies if r in base.remedies]
    if not any(r.at in HOLDS[cause.at] for r in known):
        why = "none of its remedies is done at a place that holds it" if known else "has no remedy"
        yield Found(PROBLEM, "remedy-missing", cause.id, f"{cause.id} ({cause.at}): {why}", "name a remedy that ends it there")
    elif (quickest := min(known, key=lambda r: (r.minutes.value, r.id))).at not in HOLDS[cause.at]:
        # The group of the quickest remedy stands at the place that holds the cause; where none does it would end nothing.
        yield Found(
            PROBLEM,
            "remedy-place",
            cause.id,
            f"the plan proposes {quickest.id} for {cause.id}, but no {quickest.at} holds a {cause.at}",
            f"let a remedy done at a place that holds a {cause.at} be its quickest",
        )


def _scale(cause: Cause) -> Iterator[Found]:
    for prior in [cause.prior] if cause.prior else list(cause.prior_by.values()):
        if not PRIOR_BAND[0] <= prior.value <= PRIOR_BAND[1]:
            yield Found(
                PROBLEM,
                "prior-scale",
                cause.id,
                f"prior {prior.value:g} of {cause.id} is outside {PRIOR_BAND[0]:g} to {PRIOR_BAND[1]:g} per place",
                "check the decimal point; a prior is per place, not per engine",
            )


def _families(base: RuleBase) -> Iterator[Found]:
    by_family: dict[str, dict[str, float]] = {}
    for cause in base.causes.values():
        values = [n.value for n in ([cause.prior] if cause.prior else cause.prior_by.values())]
        by_family.setdefault(cause.family, {})[cause.id] = max(values, default=0.001)
    for family, priors in by_family.items():
        middle = median(priors.values())
        for cause_id, prior in priors.items():
            if not middle / FAMILY_FACTOR <= prior <= middle * FAMILY_FACTOR:
                yield Found(
                    NOTICE,
                    "prior-scale",
                    cause_id,
                    f"prior {prior:g} of {cause_id} is {prior / middle:.2g} times the median {middle:g} of its family {family}",
                    "check it against its neighbours, or say in a comment why it stands apart",
                )


def sums(networks: Iterable[Network]) -> list[Found]:
    """Return the causes, and the layouts, whose priors sum over all places to more faults than an engine has."""
    found = []
    for network in networks:
        expected: dict[str, float] = {}
        for name, located in network.causes.items():
            expected[located.cause.id] = expected.get(located.cause.id, 0.0) + network.graph.nodes[name]["prior"]
        every = {"all causes together": sum(expected.values())}
        for names, most in ((expected, MOST_OF_ONE), (every, MOST_OF_ALL)):
            found += [
                Found(
                    PROBLEM,
                    "prior-scale",
                    name,
                    f"{total:.2f} faults expected of {name} on {network.layout.id} at any time",
                    f"lower the priors: more than {most:g} is out of all experience",
                )
                for name, total in names.items()
                if total > most
            ]
    return found


def _history(history: History) -> Iterator[Found]:
    for target, factors in history.acts_on.items():
        mean = sum(history.probability[a].value * factors[a].value for a in history.answers if a in factors)
        if abs(mean - 1) > MEAN_OFF:
            yield Found(
                PROBLEM,
                "history-mean",
                f"{history.id} {target}",
                f"{history.id} multiplies {target} by {mean:.2f} on average over its answers",
                "balance the factors: not asking must equal not knowing, a mean of 1",
            )


def _remedies(base: RuleBase) -> Iterator[Found]:
    named = {r for c in base.causes.values() for r in c.remedies}
    first = {
        min(c.remedies, key=lambda r: (base.remedies[r].minutes.value, r))
        for c in base.causes.values()
        if c.remedies and all(r in base.remedies for r in c.remedies)
    }
    for remedy in base.remedies:
        if remedy not in named:
            yield Found(PROBLEM, "remedy-unused", remedy, f"no cause names the remedy {remedy}", "name it or take it out")
        elif remedy not in first:
            yield Found(
                NOTICE,
                "remedy-unused",
                remedy,
                f"{remedy} is no cause's quickest remedy, so no plan proposes it",
                "right where it is the fallback; else check the minutes",
            )
