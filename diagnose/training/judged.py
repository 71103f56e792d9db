"""Every move of a drill held against what was known before it: what it could tell, what would have told more, what was wrong with it.

All shares are those of the rule base, the very ones `rank` gives; the truth is the stand's own fault.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from diagnose.assessment.assess import Assessment
from diagnose.case.log import Event
from diagnose.places import inside
from diagnose.plan.checks import LocatedCheck, available
from diagnose.plan.plan import SETTLED, Valued, make_plan
from diagnose.training.still_in import still_in, wrong
from diagnose.training.task import truths
from diagnose.training.work import Work
from diagnose.trouble.network import Network

NOTHING = 0.01  # bits below which a check tells nothing that was not known (estimate)
POOR = 0.25  # of the best check's bits a minute: less is poor (estimate)
OUT = 0.01  # share below which a cause counts as ruled out, and so does all that feeds a check together (estimate)
GUESS = 0.2  # share below which mending is a guess while a check would pay (estimate)
FITS = 0.05  # share from which a family fits; between the two nothing is counted (estimate)
HABITS = {
    "unsafe": "unsafe, stopped",
    "open_run": "a run tried with plugs or parts out",
    "missed": "cautions left out",
    "redundant": "told nothing new",
    "inconsistent": "aimed at what was ruled out",
    "poor": "told little for its minutes",
    "early_part": "a part changed before it was settled",
    "guess": "mended on a guess while a check would have told",
    "sound_part": "a sound part changed",
    "no_end": "mended what was not wrong",
}


@dataclass(frozen=True, repr=False)  # an assessment in words is endless
class Judged:
    """One move: `habits` are keys of HABITS; `told` bits a check could tell, `best` the check that told most for its minutes then.

    `sure` is the confidence stated, `right` whether what was foreseen came; `omitted` and `kept` are families wrongly dropped or kept.
    """

    event: Event
    before: Assessment
    habits: tuple[str, ...] = ()
    told: float = 0.0
    best: Valued | None = None
    sure: float | None = None
    right: bool | None = None
    omitted: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    missed: tuple[str, ...] = field(default=())

    @property
    def move(self) -> str:
        """Return the kind of move."""
        return str(self.event.data.get("move"))


def judged(work: Work) -> list[Judged]:
    """Return every move of a drill judged, in order."""
    found = []
    for event in work.moves:
        make = {"check": _check, "repair": _repair, "marks": _marks, "unsafe": _unsafe}.get(str(event.data.get("move")), _other)
        found.append(make(work, event))
    return found


def _other(work: Work, event: Event) -> Judged:
    return Judged(event, work.assessment(event.seq))


def _unsafe(work: Work, event: Event) -> Judged:
    return Judged(event, work.assessment(event.seq), ("open_run" if event.data.get("open") else "unsafe",))


def _check(work: Work, event: Event) -> Judged:
    a, data = work.assessment(event.seq), event.data
    located = next(c for c in available(work.network, (), ()) if c.id == data["check"])
    told = bits(work.network, a, located)
    best = best_check(a)
    minutes = max(1.0, float(data["minutes"]))
    habits = ["missed"] if data.get("missed") else []
    if told < NOTHING:
        habits.append("inconsistent" if _ruled_out(work.network, a, located) else "redundant")
    elif best is not None and told / minutes < POOR * best.information / best.minutes:
        habits.append("poor")
    guess = str(data.get("guess", ""))
    right = came_true(guess, results_of(work, event)) if guess else None
    missed = tuple(str(c) for c in data.get("missed", ()))
    return Judged(event, a, tuple(habits), told, best, data.get("sure"), right, missed=missed)


def came_true(guess: str, found: list[str]) -> bool | None:
    """Return whether what was foreseen came: a thing wrong (`SYMPTOM.REGIME`, with `@PLACE` there), or nothing at all (`normal`).

    None where the check could not tell: what it looked at for this is unknown, cannot be looked at or is left open.
    """
    about = found if guess == "normal" else [text for text in found if text.startswith((f"{guess}@", f"{guess}="))]
    if any(wrong(text) for text in about):
        return guess != "normal"
    told = [text for text in about if text.rpartition("=")[2] not in ("unknown", "cannot") and "|" not in text]
    if guess == "normal":
        return True if told else None
    return False if told and len(told) == len(about) else None


def results_of(work: Work, event: Event) -> list[str]:
    """Return the results of a check or run: those in the same write."""
    first, count = event.batch
    return [str(e.data["result"]) for e in work.case.events if e.kind == "result" and first <= e.seq < first + count]


def bits(network: Network, a: Assessment, located: LocatedCheck) -> float:
    """Return the bits a check could tell about the repair as things stood; 0 where all it gives was seen already."""
    valued = next((v for v in a.plan.checks if v.located.id == located.id), None)
    if valued is not None:
        return valued.information
    seen = {f"{r.symptom}.{r.regimes[0]}@{r.places[0]}" for r in a.trouble.looks[-1].results if not r.history and not r.several}
    nodes = tuple(n for n in located.nodes if n not in seen)
    if not nodes:
        return 0.0
    fresh = LocatedCheck(located.check, located.place, nodes)
    return make_plan(network, a.prepared, a.groups, [fresh], a.trouble.access).checks[0].information


def best_check(a: Assessment) -> Valued | None:
    """Return the check that the tool would have taken: the first of its plan."""
    return a.plan.checks[0] if a.plan.checks else None


def _ruled_out(network: Network, a: Assessment, located: LocatedCheck) -> bool:
    """Return whether all causes that could make the check show anything are ruled out together."""
    feeding = {c for n in located.nodes for effect in network.graph.predecessors(n) for c in network.graph.predecessors(effect)}
    share = {row.id: row.share for row in a.finding.causes}
    return sum(share.get(c, 0.0) for c in feeding) < OUT


def _repair(work: Work, event: Event) -> Judged:
    a, data = work.assessment(event.seq), event.data
    name, _, place = str(data["remedy"]).partition("@")
    remedy = work.network.base.remedies[name]
    share = a.finding.group_shares.get(str(data["remedy"]), _share(work.network, a, name, place))
    ended = _ended(work, name, place)
    habits = ["missed"] if data.get("missed") else []
    habits += ["inconsistent"] if share < OUT and not ended else []
    if a.plan.paying and share < (SETTLED if remedy.parts else GUESS):
        habits.append("early_part" if remedy.parts else "guess")
    if not ended:
        habits.append("sound_part" if remedy.parts else "no_end")
    missed = tuple(str(c) for c in data.get("missed", ()))
    return Judged(event, a, tuple(habits), best=best_check(a), sure=data.get("sure"), right=ended, missed=missed)


def _share(network: Network, a: Assessment, remedy: str, place: str) -> float:
    """Return how likely a remedy at a place ends something responsible: the shares of its causes, together at most 1."""
    rows = (
        r
        for r in a.finding.causes
        if remedy in network.causes[r.id].cause.remedies and inside(network.layout, network.causes[r.id].place, place)
    )
    return min(1.0, sum(r.share for r in rows))


def _ended(work: Work, remedy: str, place: str) -> bool:
    """Return whether a remedy ended a fault: one of its causes by the rule base, and its share of the squawk on the stand."""
    network, task = work.network, work.task
    for fault, causes in zip(task.exercise.faults, truths(network, task), strict=True):
        if ends(network, remedy, place, causes):
            alone = replace(task, exercise=replace(task.exercise, faults=(fault,)))
            if not still_in(network, alone, [f"{remedy}@{place}"]):
                return True  # also where by itself it shows nothing of the squawk: the rule base's word stands
    return False


def ends(network: Network, remedy: str, place: str, causes: frozenset[str]) -> bool:
    """Return whether a remedy at a place ends one of some located causes, done where it is or around it."""
    located = [network.causes[c] for c in causes]
    return any(remedy in c.cause.remedies and inside(network.layout, c.place, place) for c in located)


def _marks(work: Work, event: Event) -> Judged:
    a, data = work.assessment(event.seq), event.data
    fits, families = set(data["fits"]), a.finding.families
    omitted = tuple(f for f in data["listed"] if families.get(f, 0.0) >= FITS and f not in fits)
    kept = tuple(f for f in data["listed"] if families.get(f, 0.0) < OUT and f in fits)
    return Judged(event, a, omitted=omitted, kept=kept)
