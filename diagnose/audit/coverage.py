"""What is left unconnected: symptoms nothing shows or gives, checks that give nothing anything shows, idle cautions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from diagnose.audit.findings import NOTICE, PROBLEM, Found
from diagnose.plan.checks import available
from diagnose.rulebase.records import Access, Check, Remedy, RuleBase
from diagnose.trouble.network import Network


def findings(networks: Sequence[Network]) -> list[Found]:
    """Return what stays unconnected on every one of these layouts of one rule base.

    With some layouts left out, what another layout may connect (a coupling, a radial's low cylinders) is no finding.
    """
    base = networks[0].base
    linked = _linked(base) if {n.layout.id for n in networks} < set(base.layouts) else frozenset()
    named = {r.symptom for c in base.checks.values() for r in c.gives} if linked else set()
    shown = {_bare(n) for network in networks for n in network.symptoms if network.graph.in_degree(n)}
    checks = [c for network in networks for c in available(network, (), ())]
    given = {_bare(n) for c in checks for n in c.nodes}
    return [
        *_symptoms(base, {s for s, _ in shown} | linked, {s for s, _ in given} | (named & linked)),
        *_regimes(base, shown - given, {s for s, _ in given}),
        *_checks(base, {c.check.id for c in checks} | {c.id for c in base.checks.values() if {r.symptom for r in c.gives} & linked}),
        *_cautions(base),
    ]


def _linked(base: RuleBase) -> frozenset[str]:
    """Return the symptoms some cause shows, whatever the layout."""
    return frozenset(s.ref.symptom for c in base.causes.values() for e in (*c.effects, *c.goes) for s in e.shows)


def _bare(node: str) -> tuple[str, str]:
    """Return (symptom, regime) of a located symptom."""
    name, _, regime = node.partition("@")[0].partition(".")
    return name, regime


def _symptoms(base: RuleBase, shown: set[str], given: set[str]) -> Iterable[Found]:
    for symptom in base.symptoms.values():
        if symptom.id not in shown:
            yield Found(
                PROBLEM,
                "symptom-never-shown",
                symptom.id,
                f"no cause shows {symptom.id}",
                "link it to the causes it speaks of, or take it out",
            )
        named = any(r.symptom == symptom.id for c in base.checks.values() for r in c.gives)
        if symptom.id not in given and (symptom.id in shown or not named):
            severity = NOTICE if symptom.kind == "squawk" else PROBLEM
            yield Found(
                severity,
                "symptom-no-check",
                symptom.id,
                f"no check gives {symptom.id} ({symptom.kind})",
                "let a check give it" if symptom.kind != "squawk" else "right where only the reporter can tell it",
            )


def _regimes(base: RuleBase, lost: set[tuple[str, str]], given: set[str]) -> Iterable[Found]:
    for symptom in base.symptoms:
        regimes = sorted(regime for name, regime in lost if name == symptom)
        if regimes and symptom in given:
            yield Found(
                NOTICE,
                "result-no-check",
                symptom,
                f"causes show {symptom} in {', '.join(regimes)}, but no check gives it there",
                "let a check of that regime give it, or leave it to the complaint",
            )


def _checks(base: RuleBase, useful: set[str]) -> Iterable[Found]:
    for check in base.checks:
        if check not in useful:
            yield Found(
                PROBLEM,
                "check-gives-nothing",
                check,
                f"{check} gives nothing that any cause shows, on any layout",
                "link what it gives, or take it out",
            )


def _cautions(base: RuleBase) -> Iterable[Found]:
    entries: list[Check | Remedy | Access] = [*base.checks.values(), *base.remedies.values(), *base.access.values()]
    used = {c for e in entries for c in e.cautions}
    for caution in base.cautions:
        if caution not in used:
            yield Found(NOTICE, "caution-unused", caution, f"nothing names the caution {caution}", "name it where it belongs")
