"""What every command starts from: the rule base, its network on a layout, and a trouble to look at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path

from diagnose import compiled
from diagnose.assessment.assess import Assessment, assess
from diagnose.belief.model import Contradiction
from diagnose.case.case import Case, load
from diagnose.places import Layout
from diagnose.problems import BadInput, BrokenRuleBase, did_you_mean
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.reader import read_rulebase
from diagnose.rulebase.records import RuleBase
from diagnose.trouble import results
from diagnose.trouble.aircraft import Aircraft, Stamp, access_of, opened, recorded
from diagnose.trouble.complaint import completed
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network, build
from diagnose.trouble.trouble import Trouble


class CannotAllBeTrue(BadInput, Contradiction):
    """The results of a trouble exclude each other."""


def rulebase(overlay: tuple[str, ...] = ()) -> RuleBase:
    """Return the shipped rule base with overlay folders on top, read once; BrokenRuleBase lists every problem."""
    return _read(overlay)


@cache
def _read(overlay: tuple[str, ...]) -> RuleBase:
    folders = [shipped("rulebase"), *(Path(folder) for folder in overlay)]

    def sound() -> RuleBase:
        base, problems = read_rulebase(folders)
        if problems:
            raise BrokenRuleBase("\n".join(str(p) for p in problems))
        return base

    return compiled.rulebase(folders, sound)


def layout_named(base: RuleBase, name: str) -> Layout:
    """Return a layout by id; BadInput names the nearest."""
    if name not in base.layouts:
        two = "an engine with one magneto is not judged, every layout has two plugs a cylinder on two sides"
        raise BadInput(f"layout '{name}' is not known ({two}); {did_you_mean(name, base.layouts)}")
    return base.layouts[name]


@cache
def network_of(overlay: tuple[str, ...], layout: str) -> Network:
    """Return the network of the rule base on a layout."""
    base = rulebase(overlay)
    on = layout_named(base, layout)
    return compiled.network(base, on, lambda: build(base, on))


def trouble_from(
    base: RuleBase,
    layout: Layout,
    complaint: Sequence[str],
    given: Sequence[str],
    access: frozenset[str],
    state: Mapping[str, tuple[str, str]] | None = None,
) -> Trouble:
    """Return a trouble from results, access and the state of the aircraft (thing -> state, words) on the command line."""
    named = results.as_complaint(results.read_results(complaint, base, layout))
    every = results.read_results([*complaint, *given], base, layout)
    subjects = {r.subject for r in named}
    chosen = tuple(r for r in every if r.subject in subjects) or results.default_complaint(every, base)
    aircraft = recorded(opened(Aircraft(), sorted(access), Stamp()), state or {}, Stamp())
    gives, ends = access_of(aircraft, tuple(state or {}))
    return Trouble((LookResults(every, chosen),), (access | gives) - ends, aircraft=aircraft)


def case_at(path: str, overlay: tuple[str, ...] = ()) -> tuple[Case, Network]:
    """Return a case and the network it is about."""
    base = rulebase(overlay)
    case = load(Path(path), base)
    return case, network_of(overlay, case.layout.id)


def assessed(network: Network, trouble: Trouble, few: int = 0) -> Assessment:
    """Return the assessment of a trouble, its complaint filled in; `few`: value only the likeliest checks."""
    try:
        return assess(network, completed(network.base, trouble), few)
    except Contradiction:
        told = [str(r) for look in trouble.looks for r in look.results if r.several]
        about = f": {', '.join(told)} and its places one by one" if told else ""
        raise CannotAllBeTrue(f"these results cannot all be true{about}; correct the one that is wrong, or leave it out") from None
