"""Put one case to a rule base and say what of its expectation does not hold."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from diagnose.assessment.assess import assess
from diagnose.assessment.explain import accounts
from diagnose.assessment.finding import Ranked, conclude, rank
from diagnose.belief.model import Belief, Contradiction
from diagnose.plan.plan import Plan
from diagnose.problems import BadInput
from diagnose.rulebase.casebook import CaseSheet
from diagnose.trouble.evidence import prepare
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import repair_groups
from diagnose.trouble.results import as_complaint, default_complaint, read_results
from diagnose.trouble.trouble import Trouble

RISES = 1.05  # posterior over prior from which a cause counts as risen: below, it is the rounding of a weak link
FALLS = 0.5  # findings that take a cause under this part of what the complaint alone made of it have it fall
CLEARED = 0.5  # posterior over prior under which a cause counts as cleared
ALARM = 0.3  # no cause of a sound engine may be likelier than this, nor than three times its prior
ALARM_RISE = 3.0
# How often a cause shows a result, everything else being as common as ever: least and most for each word.
# The bands overlap: an entry at an edge, which any new cause elsewhere could push over it, belongs under the word beside.
# Estimates, no source; the edge of `hardly` was moved twice after first runs (.15, .09, .125), so it guards against change and proves nothing.
OFTEN = {"usual": (0.4, 1.0), "at_times": (0.05, 0.65), "seldom": (0.0, 0.25), "hardly": (0.0, 0.125)}
NO_PLAN = Plan((), (), 0.0, {})


@dataclass(frozen=True)
class Verdict:
    """What came out: failures (empty: all held), belief and ranking."""

    failures: tuple[str, ...]
    belief: Belief | None = None
    ranked: tuple[Ranked, ...] = ()


def trouble_of(case: CaseSheet, network: Network) -> Trouble:
    """Return the trouble a case tells; a sound engine has no complaint."""
    base, layout = network.base, network.layout
    named = as_complaint(read_results(case.complaint, base, layout))
    every = read_results((*case.complaint, *case.results, *case.history), base, layout)
    subjects = {r.subject for r in named}
    chosen = tuple(r for r in every if r.subject in subjects) or default_complaint(every, base)
    return Trouble((LookResults(every, chosen),))


def judge(case: CaseSheet, network: Network) -> Verdict:
    """Return the verdict on a case; a case that cannot be read or occur fails with the reason."""
    try:
        trouble = trouble_of(case, network)
        prepared = prepare(network, trouble.looks)
        belief, ranked = rank(network, prepared)
    except (BadInput, Contradiction) as error:
        return Verdict((str(error),))
    check = _Check(network, belief, ranked, _before(case, network), prepared.evidence.odds)
    failures = [*check.all_of(case)]
    if case.expect.state and not failures:
        found = _state(network, trouble, case.expect.state)
        if found not in case.expect.state:
            failures.append(f"state is {found}, not {' or '.join(case.expect.state)}")
    return Verdict(tuple(failures), belief, ranked)


def _state(network: Network, trouble: Trouble, wanted: Collection[str]) -> str:
    """Return the state. The plan costs most of a second and only tells `unsettled` from `ambiguous`: else it is left out."""
    if len({"unsettled", "ambiguous"} & set(wanted)) == 1:
        return assess(network, trouble).finding.state
    prepared = prepare(network, trouble.looks)
    return conclude(network, prepared, rank(network, prepared), repair_groups(network), NO_PLAN).state


def _before(case: CaseSheet, network: Network) -> Mapping[str, float]:
    """Return how likely each cause was on the complaint and the history alone, where a fall must be told; else nothing."""
    if not case.expect.falls or not case.complaint:
        return {}
    trouble = trouble_of(replace(case, results=()), network)
    return rank(network, prepare(network, trouble.looks))[0].present


class _Check:
    def __init__(
        self, network: Network, belief: Belief, ranked: tuple[Ranked, ...], before: Mapping[str, float], odds: Mapping[str, float]
    ) -> None:
        self.network, self.belief, self.ranked, self.before, self.odds = network, belief, ranked, before, odds
        self.prior = {c.id: c.prior for c in network.model.causes}
        self.groups = repair_groups(network)

    def all_of(self, case: CaseSheet) -> Iterator[str]:
        expect = case.expect
        lists = (expect.first, expect.rises, expect.falls, expect.kept, *expect.within.values(), *(getattr(expect, word) for word in OFTEN))
        for name in (n for names in lists for n in names):
            if not self.members(name):
                yield f"'{name}' names nothing on {case.layout}"
        if expect.first and self.ranked[0].id not in {m for name in expect.first for m in self.members(name)}:
            yield f"first is {self.ranked[0].id}, not {' or '.join(expect.first)}"
        yield from self.moves(case)
        for word, (least, most) in OFTEN.items():
            yield from self.often(word, getattr(expect, word), least, most)
        groups = self.leading_groups() if expect.within else []
        for count, names in expect.within.items():
            near = {m for group in groups[:count] for m in group}
            yield from (f"{name} is not within the first {count} repair groups" for name in names if not near & set(self.members(name)))
        if expect.alarm == "none":
            yield from self.alarms()
        wanted = expect.unexplained_at_least
        if wanted is not None and self.belief.unexplained < wanted:
            yield f"unexplained is {self.belief.unexplained:.3f}, below {wanted}"

    def moves(self, case: CaseSheet) -> Iterator[str]:
        for name in case.expect.rises:
            best = max((self.ratio(m) for m in self.members(name)), default=0.0)
            if best <= RISES:
                yield f"{name} does not rise: {best:.3g} times its prior"
        for name in case.expect.falls:
            worst = max((self.fall(m) for m in self.members(name)), default=9.0)
            if worst > FALLS:
                yield f"{name} does not fall: {worst:.3g} times what it was before the findings"
        for name in case.expect.kept:
            least = min((self.ratio(m) for m in self.members(name)), default=0.0)
            if least < CLEARED:
                yield f"{name} is cleared: {least:.3g} times its prior"

    def often(self, word: str, names: tuple[str, ...], least: float, most: float) -> Iterator[str]:
        """P(result | cause) by Bayes: posterior over prior, times the probability of the result; at the cause's best place."""
        for name in names:
            ratio = max((self.ratio(m) for m in self.members(name)), default=0.0)
            share = ratio * self.belief.likelihood
            if not least <= share <= most or (ratio <= RISES and word != "hardly"):
                told = f"it shows this in {share:.3f} ({word} is {least} to {most}), {ratio:.2g} times as often as all"
                yield f"{name} is no {word.replace('_', ' ')} cause: {told}; the words overlap, the one beside may fit better"

    def alarms(self) -> Iterator[str]:
        """A history answer moves the prior itself; an alarm is what the results add to that."""
        for one in self.ranked:
            odds = self.prior[one.id] / (1 - self.prior[one.id]) * self.odds.get(one.id, 1.0)
            rise = one.probability / (odds / (1 + odds))
            if one.probability > ALARM or rise > ALARM_RISE:
                yield f"{one.id} alarms on a sound engine: {one.probability:.3f}, {rise:.1f} times as likely as by history"

    def ratio(self, cause: str) -> float:
        return self.belief.present.get(cause, 0.0) / self.prior[cause]

    def fall(self, cause: str) -> float:
        return self.belief.present.get(cause, 0.0) / (self.before.get(cause) or self.prior[cause])

    def members(self, name: str) -> tuple[str, ...]:
        """Return the located causes a name stands for."""
        causes = self.network.causes
        if name in causes:
            return (name,)
        if name in self.groups:
            return self.groups[name].causes
        return tuple(c for c, x in causes.items() if x.cause.id == name)

    def leading_groups(self) -> list[set[str]]:
        """Return the repair groups in the order the ranking meets them."""
        of = {c: key for key, group in self.groups.items() for c in group.causes}
        return [set(self.groups[key].causes) for key in dict.fromkeys(of[one.id] for one in self.ranked)]


def story(case: CaseSheet, network: Network, verdict: Verdict) -> str:
    """Return what a failing case shows: what failed, the first eight, and what each result did to the leaders."""
    lines = [f"{case.name} ({case.title}) on {case.layout}", *(f"  {f}" for f in verdict.failures)]
    prior = {c.id: c.prior for c in network.model.causes}
    leaders = verdict.ranked if case.complaint else sorted(verdict.ranked, key=lambda r: -r.probability)
    for one in leaders[:8]:
        lines.append(f"  {one.responsible:7.4f} responsible {one.probability:7.4f} present {prior[one.id]:8.5f} before  {one.id}")
    if verdict.belief is not None:
        lines += [f"  nothing here explains it: {verdict.belief.unexplained:.3f}", *_reasons(case, network, verdict)]
    return "\n".join(lines)


def _reasons(case: CaseSheet, network: Network, verdict: Verdict) -> Iterator[str]:
    wanted = [n for n in (*case.expect.first, *case.expect.rises, *case.expect.falls) if n in network.causes][:2]
    for cause, account in accounts(network, trouble_of(case, network).looks, list(dict.fromkeys([verdict.ranked[0].id, *wanted]))).items():
        yield f"  {cause}: " + ", ".join(f"{r.entry} x{r.factor:.2g}" for r in account.heaviest[:6])
