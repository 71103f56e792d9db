"""One entry put to the program: what it believes, what it would do next."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from diagnose import loaded
from diagnose.assessment.assess import assess
from diagnose.assessment.explain import accounts
from diagnose.assessment.finding import _at_least_one, rank
from diagnose.belief.model import Contradiction
from diagnose.problems import BadInput
from diagnose.report.step_rows import next_rows
from diagnose.trouble.evidence import Prepared, prepare
from diagnose.trouble.network import Network
from diagnose.trouble.repair_groups import RepairGroup
from diagnose.trouble.results import node
from diagnose.trouble.trouble import Trouble
from tests.real.records import Entry

CONTRADICTION = "contradiction"


@dataclass(frozen=True)
class Told:
    """What the program says to an entry.

    `families`: exact probability that at least one cause of the family is responsible; `causes`: located cause -> responsible,
    likeliest first; `accepted`: exact probability that at least one cause of the accepted families is responsible; `next`: the
    first step offered; `seen`: an abnormal test result of the entry is one that the leading repair group shows.
    """

    id: str
    families: Mapping[str, float]
    causes: Mapping[str, float] = field(default_factory=dict)
    state: str = ""
    accepted: float = 0.0
    next: str = ""
    seen: bool = False
    exact: bool = True

    @property
    def order(self) -> list[str]:
        """Return the families by share, rounded as it is printed, ties by name; those with no share at all left out."""
        return sorted((f for f in self.families if self.families[f] > 0), key=lambda f: (-round(self.families[f], 12), f))


def network_and_trouble(entry: Entry) -> tuple[Network, Trouble]:
    """Return the network of the entry's layout and the trouble it tells; BadInput names the entry."""
    network = loaded.network_of((), entry.layout)
    try:
        return network, loaded.trouble_from(network.base, network.layout, entry.complaint, entry.results, frozenset())
    except BadInput as error:
        raise BadInput(f"{entry.id}: {error}") from error


def ask(entry: Entry, accepted: Collection[str] = (), causes: int = 5) -> Told:
    """Return everything the program says to an entry; results that cannot all be true give the state `contradiction`."""
    network, trouble = network_and_trouble(entry)
    try:
        found = assess(network, trouble)
    except Contradiction:
        return Told(entry.id, {}, state=CONTRADICTION)
    finding = found.finding
    first = next(iter(next_rows(network, found, with_results=False)), {})
    leading = max(sorted(found.groups), key=lambda k: round(finding.group_shares[k], 12))
    return Told(
        entry.id,
        finding.families,
        {c.id: c.responsible for c in finding.causes[:causes]},
        finding.state,
        _any_of(network, found.prepared, accepted),
        first.get("action") or (f"{first['check']}@{first['place']}" if first else ""),
        _seen(network, trouble, found.groups[leading]),
        not found.prepared.narrowed,
    )


def believe(entry: Entry) -> Told:
    """Return what the program believes of an entry, without a plan: a third of the time of `ask`."""
    network, trouble = network_and_trouble(entry)
    prepared = prepare(network, trouble.looks)
    sets: dict[str, set[str]] = {}
    for located in network.causes.values():
        sets.setdefault(located.cause.family, set()).add(located.id)
    try:
        ranked = rank(network, prepared)[1]
        shares = _at_least_one(network, prepared.evidence, {f: frozenset(ids) for f, ids in sorted(sets.items())})
    except Contradiction:
        return Told(entry.id, {}, state=CONTRADICTION)
    return Told(entry.id, shares, {c.id: c.responsible for c in ranked[:5]}, exact=not prepared.narrowed)


def _any_of(network: Network, prepared: Prepared, families: Collection[str]) -> float:
    ids = frozenset(c for c, located in network.causes.items() if located.cause.family in families)
    return _at_least_one(network, prepared.evidence, {"": ids})[""]


def _seen(network: Network, trouble: Trouble, group: RepairGroup) -> bool:
    """Return whether a test (no squawk) came out abnormal that a cause of the group is linked to."""
    tests = [r for look in trouble.looks for r in look.results if r.abnormal and network.base.symptoms[r.symptom].kind == "test"]
    shown = {node(r.symptom, regime, place) for r in tests for regime in r.regimes for place in r.places}
    links = {link.finding for c in network.model.causes if c.id in group.causes for e in c.effects for link in e.links}
    return bool(shown & links)


def why(entry: Entry, count: int = 3) -> Mapping[str, list[str]]:
    """Return, for the leading causes of an entry, what each result did to their odds in the order given; what hardly matters left out."""
    network, trouble = network_and_trouble(entry)
    leaders = [c.id for c in assess(network, trouble).finding.causes[:count]]
    found = accounts(network, trouble.looks, leaders)
    return {c: [f"{r.entry} x{r.factor:.2g}" for r in account.reasons if r.matters] for c, account in found.items()}
