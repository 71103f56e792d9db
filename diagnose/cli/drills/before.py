"""What a trainee says before a step: the cautions it wants, what a check will show and where, how sure he is. Each can be gone back to."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from diagnose.cli.drills.session import Back, Session, numbered
from diagnose.plan.checks import LocatedCheck
from diagnose.plan.warnings import check_warnings
from diagnose.report import screens
from diagnose.rulebase.records import Check, Remedy
from diagnose.training.offered import caution_ids, to_name

MOST_FORESEEN = 12  # kinds of result a trainee chooses from
Question = Callable[[], bool | None]


class Cautions:
    """The cautions of a step: named by the trainee from among others, then shown in full."""

    def __init__(self, s: Session, entry: Check | Remedy) -> None:
        """Mix those he has not named yet with some of other steps."""
        self.s, self.entry, self.base = s, entry, s.network.base
        self.wanted = caution_ids(self.base, entry)
        self.known = {str(c) for e in s.work.moves for c in e.data.get("named", ())}
        self.mixed = to_name(self.base, self.wanted, self.known, s.work.task.exercise.seed + len(s.work.moves))
        self.chosen: list[str] = []

    @property
    def questions(self) -> list[Question]:
        """Return what is asked and shown, in order."""
        return [self.name, self.in_full, self.not_of_it]

    @property
    def heeded(self) -> dict[str, list[str]]:
        """Return the cautions `named`, those `missed`, and the `extra` ones, which are not of the step."""
        return {
            "named": [c for c in self.mixed if c in self.wanted and c in self.chosen],
            "missed": [c for c in self.mixed if c in self.wanted and c not in self.chosen],
            "extra": [c for c in self.chosen if c not in self.wanted],
        }

    def name(self) -> bool | None:
        """Have them named. Raises Back."""
        if not self.mixed:
            return False
        rows = {c: self.base.cautions[c].label for c in self.mixed}
        title = ["BEFORE THIS STEP: which of these does it want? One that it wants and you leave out is counted.", ""]
        found = self.s.picks(title, rows, "Numbers, such as 1 3; 0 none (Enter: back, not done)")
        if found is None:
            raise Back
        self.chosen = found
        return None

    def in_full(self) -> bool | None:
        """Show all of them: all in full, the missed ones and those named at a step before marked. Raises Back."""
        texts, missed = self.base.cautions, self.heeded["missed"]
        told = [f"!! left out: {texts[c].label}" for c in missed]
        told += [f"! {texts[c].label}" for c in self.wanted if c not in missed and c not in self.known]
        told += [f"! {text}" for text in (check_warnings(self.base, self.entry) if isinstance(self.entry, Check) else ())]
        told += [f"! as before: {texts[c].label}" for c in self.wanted if c in self.known]
        return self._shown(["CAUTIONS OF THIS STEP", "", *told] if told else [], "Enter: all of it is seen to, b back")

    def not_of_it(self) -> bool | None:
        """Show those named that are not of this step. Raises Back."""
        extra = [self.base.cautions[c].label for c in self.heeded["extra"]]
        return self._shown(["NOT OF THIS STEP, and named:", "", *extra] if extra else [], "Enter: on, b back")

    def _shown(self, told: Sequence[str], question: str) -> bool | None:
        if not told:
            return False
        if self.s.show(told, question) == "b":
            raise Back
        return None


@dataclass
class Sure:
    """How sure the trainee is that a remedy ends the trouble; `words` names it, `share` is None where he left it out."""

    s: Session
    words: str
    share: float | None = None

    def ask(self) -> None:
        """Ask it. Raises Back."""
        self.share = self.s.percent([self.words], "How sure are you that this ends the trouble?")


@dataclass
class Foresight:
    """What the trainee expects of a check: `kind` of result (`normal`, or empty where he cannot say), `place`, `sure` a share."""

    s: Session
    located: LocatedCheck
    kind: str = ""
    place: str = ""
    sure: float | None = None
    rows: Mapping[str, str] = field(init=False)

    def __post_init__(self) -> None:
        """Gather what it may show."""
        self.rows = kinds(self.s, self.located.nodes)

    @property
    def questions(self) -> list[Question]:
        """Return what is asked, in order."""
        return [self.ask_kind, self.ask_place, self.ask_sure]

    @property
    def guess(self) -> str:
        """Return it as it is kept: `normal`, `SYMPTOM.REGIME` or `SYMPTOM.REGIME@PLACE`; empty where nothing is expected."""
        return f"{self.kind}@{self.place}" if self.place else self.kind

    def ask_kind(self) -> None:
        """Ask what it will show to be wrong. Raises Back."""
        title = ["BEFORE YOU LOOK: what is the first thing this will show to be wrong?", "", " 0  nothing: all of it normal"]
        text = self._number([*title, *numbered(list(self.rows.values()))], "Number (Enter: I cannot say, b back)", len(self.rows), "0")
        self.kind = "" if not text else "normal" if text == "0" else list(self.rows)[int(text) - 1]
        self.place, self.sure = "", None

    def ask_place(self) -> bool | None:
        """Ask where, if it looks at several places. Raises Back."""
        spots = [name.partition("@")[2] for name in self.located.nodes if name.partition("@")[0] == self.kind]
        if len(spots) < 2:
            return False
        told = numbered([screens.place_words(self.s.network, spot) for spot in spots])
        title = f"You expect: {self.rows[self.kind]}. Where first?"
        text = self._number([title, "", *told], "Number (Enter: I cannot say where, b back)", len(spots))
        self.place = spots[int(text) - 1] if text else ""
        return None

    def ask_sure(self) -> bool | None:
        """Ask how sure he is of it. Raises Back."""
        if not self.kind:
            return False
        where = f", {screens.place_words(self.s.network, self.place)}" if self.place else ""
        self.sure = self.s.percent([f"You expect: {self.rows.get(self.kind, 'all normal')}{where}."], "How sure are you?")
        return None

    def _number(self, lines: Sequence[str], question: str, most: int, *more: str) -> str:
        text = self.s.panel(lines, question, {"", "b", *more, *(str(n) for n in range(1, most + 1))})
        if text == "b":
            raise Back
        return text


def kinds(s: Session, nodes: Sequence[str]) -> Mapping[str, str]:
    """Return what a check looks at by symptom and condition, in words, the most telling first."""
    rows: dict[str, str] = {}
    for name in nodes:
        located = s.network.symptoms[name]
        when = "" if located.regime == "static" else f", {located.regime.replace('_', ' ')}"
        rows.setdefault(name.partition("@")[0], f"{located.symptom.label}{when}")
    return dict(list(rows.items())[:MOST_FORESEEN])
