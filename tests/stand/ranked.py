"""One simulated trouble ranked: after the complaint, and after the first ten minutes' readings; then led by the plan to its end."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from diagnose.assessment.assess import assess, planned
from diagnose.audit.simulate import LEAST_SHARE, LOOKED_AT, MOST_CHECKS
from diagnose.belief.exact import ask, believe
from diagnose.belief.model import Contradiction
from diagnose.belief.setting import Row
from diagnose.drill import answers
from diagnose.drill.exercise import Exercise, engine_of, look_at
from diagnose.drill.fault_causes import causes_of
from diagnose.drill.mends import mend
from diagnose.places import inside
from diagnose.plan import access
from diagnose.plan.checks import available
from diagnose.trouble import results
from diagnose.trouble.evidence import prepare
from diagnose.trouble.looks import LookResults
from diagnose.trouble.network import Network
from diagnose.trouble.trouble import Trouble, seen_nodes

# What is read in the first ten minutes by the book: the run-up, else a start (FAA-H-8083-32B p4-31; common practice).
RUNS, DOES_NOT_RUN = ("mag_check@engine", "off_check@engine"), ("try_the_start@engine", "look_at_fuel_state@engine")
MOST_REPAIRS = 6


@dataclass
class Work:
    """One trouble being worked on: the engine changes as it is mended."""

    network: Network
    exercise: Exercise
    without: tuple = ()  # symptoms the mechanic says nothing about: what they alone do to the figures
    trouble: Trouble = field(init=False)

    def __post_init__(self):
        """Put the engine up and take the complaint down."""
        self.engine = engine_of(self.network, self.exercise)
        told = results.read_results(self.exercise.complaint, self.network.base, self.network.layout)
        self.trouble = Trouble((LookResults(told, told),), aircraft=LOOKED_AT)

    def read(self, texts):
        """Return results from texts, those left out as unknown."""
        texts = [f"{t.split('=')[0]}=unknown" if t.split(".")[0] in self.without else t for t in texts]
        return results.read_results(texts, self.network.base, self.network.layout)

    def look(self):
        """Return a fresh occasion of looking at the engine as it is now."""
        return look_at(self.network, self.exercise, self.engine)

    def checks(self):
        """Return the checks that still give something, by id."""
        return {c.id: c for c in available(self.network, seen_nodes(self.network, self.trouble.looks), ())}

    def do(self, check):
        """Do a check: its results go into the record, its access is gained."""
        found = self.read(answers.results(self.network, self.look(), check.nodes, check.check.id))
        gained = access.after(self.network.base, check.check.access, self.trouble.access)
        last = self.trouble.looks[-1]
        looks = (*self.trouble.looks[:-1], replace(last, results=(*last.results, *found)))
        self.trouble = replace(self.trouble, looks=looks, access=gained)
        return sum(r.high < 0 for r in found), len(found)


def truth(network, exercise):
    """Return the located causes that are right, fault by fault."""
    return [causes_of(network, fault.kind, fault.place) for fault in exercise.faults]


def stage(network, trouble, right):
    """Return what the tool says as things stand, held against what is right; `refused` where the results cannot all be true."""
    try:
        prepared = prepare(network, trouble.looks)
        belief = believe(network.model, prepared.evidence)
        families = _families(network, prepared.evidence)
    except Contradiction:
        return {"refused": "contradiction"}
    except OverflowError:
        return {"refused": "too many positive results"}
    return _said(network, belief.responsible, families, belief.unexplained, right)


def _families(network, evidence):
    sets: dict[str, set[str]] = {}
    for located in network.causes.values():
        sets.setdefault(located.cause.family, set()).add(located.id)
    weights = ask(network.model, evidence, [Row(), *(Row(muted=frozenset(ids)) for ids in sets.values())], posteriors=False).likelihood
    return {name: max(0.0, 1.0 - float(weights[i] / weights[0])) for i, name in enumerate(sets, 1)}


def _said(network, responsible, families, nobody, right):
    true = frozenset().union(*right) if right else frozenset()
    wanted = {network.causes[c].cause.family for c in true}
    causes = sorted(responsible, key=lambda c: (-round(responsible[c], 12), c))
    order = sorted(families, key=lambda f: (-round(families[f], 12), f))
    return {
        "cause": causes[0],
        "cause_rank": next((i for i, c in enumerate(causes, 1) if c in true), 0),
        "cause_share": round(responsible[causes[0]], 4),
        "right_share": round(sum(responsible[c] for c in true), 4),
        "family": order[0],
        "family_rank": next((i for i, f in enumerate(order, 1) if f in wanted), 0),
        "family_share": round(families[order[0]], 4),
        "forecasts": [[round(families[f], 4), f in wanted] for f in order if families[f] >= 0.05],
        "nobody": round(nobody, 4),
    }


def ranked(network, exercise, without=()):
    """Return a trouble ranked at both stages, as one plain record."""
    right = truth(network, exercise)
    work = Work(network, exercise, tuple(without))
    first = stage(network, work.trouble, right)
    wanted = RUNS if work.look().starts() <= 1 else DOES_NOT_RUN
    for name in wanted:
        check = work.checks().get(name)
        if check is not None:
            work.do(check)
    families = [sorted({network.causes[c].cause.family for c in causes}) for causes in right]
    return {
        "kinds": [f.kind for f in exercise.faults],
        "families": families,
        "complaint": list(exercise.complaint),
        "unnoticed": len(exercise.unnoticed),
        "stages": {"complaint": first, "ten_minutes": stage(network, work.trouble, right)},
    }


def led(network, exercise, without=()):
    """Return the same with the plan followed to its end and the repairs then done in the order it gives."""
    record = ranked(network, exercise, without)
    work = Work(network, exercise, tuple(without))
    done: list[str] = []
    right, minutes, runs, unknown, asked = truth(network, exercise), 0.0, 0, 0, 0
    try:
        while len(done) < MOST_CHECKS:
            plan = planned(network, work.trouble)[3]
            if not plan.paying:
                break
            best = plan.paying[0]
            minutes += best.minutes
            runs += access.RUNNING in best.located.check.access
            blank, every = work.do(best.located)
            unknown, asked = unknown + blank, asked + every
            done.append(best.located.id)
        assessment = assess(network, work.trouble)
    except Contradiction:
        return {**record, "checks": done, "minutes": minutes, "stages": {**record["stages"], "end": {"refused": "contradiction"}}}
    except OverflowError:
        return {
            **record,
            "checks": done,
            "minutes": minutes,
            "stages": {**record["stages"], "end": {"refused": "too many positive results"}},
        }
    finding = assessment.finding
    responsible = {row.id: row.responsible for row in finding.causes}
    said = _said(network, responsible, finding.families, finding.unmodelled or 0.0, right)
    groups = sorted(finding.group_shares, key=lambda k: (-round(finding.group_shares[k], 12), k))
    said |= {"state": finding.state, "group": groups[0], "group_share": round(finding.group_shares[groups[0]], 4)}
    said["group_right"] = any(ends(network, assessment.groups[groups[0]], causes) for causes in right)
    record["stages"]["end"] = said
    repairs = _repaired(network, work, assessment, right)
    return {
        **record,
        "checks": done,
        "minutes": round(minutes, 1),
        "unknown": unknown,
        "asked": asked,
        **repairs,
        "runs": runs + repairs["runs"],
    }


def ends(network, group, causes):
    """Return whether a repair group's remedy ends one of some located causes, done where or around where it is."""
    located = [network.causes[c] for c in causes]
    return any(group.remedy.id in c.cause.remedies and inside(network.layout, c.place, group.place) for c in located)


def _repaired(network, work, assessment, right):
    """Do the repairs in falling share per minute until the complaint is gone; each is followed by a run."""
    shares, costs = assessment.finding.group_shares, assessment.plan.remedy_minutes
    order = [
        k for k in sorted(shares, key=lambda k: (-shares[k] / costs[k], k)) if shares[k] > LEAST_SHARE and k not in assessment.plan.unseen
    ]
    minutes, parts, wrong, gone = 0.0, 0, 0, False
    tried = 0
    for key in order[:MOST_REPAIRS]:
        group = assessment.groups[key]
        tried, minutes = tried + 1, minutes + costs[key]
        mend(work.engine, group.remedy.id, group.place)
        parts += group.remedy.parts
        wrong += group.remedy.parts and not any(ends(network, group, causes) for causes in right)
        gone = not still_there(work)
        if gone:
            break
    return {"repairs": tried, "parts": parts, "wrong_parts": wrong, "gone": gone, "repair_minutes": round(minutes, 1), "runs": tried}


def still_there(work):
    """Return the complaint results that the engine still shows."""
    look, wrong = work.look(), []
    for result in work.trouble.looks[0].complaint:
        grade = answers.answer(look, result.symptom, result.regime, result.place)
        if grade.split("|")[0] not in ("no", "normal", "unknown", "cannot"):
            wrong.append(str(result))
    return wrong
