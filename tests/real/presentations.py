"""`python -m tests.real.presentations --seed N --count K [--aside]`: presentations to bet on, drawn by `presenting.yaml`.

Spread evenly over squawk x regime x place, side, what was normal, what else was found, what was asked, and layout. No fault stands behind
them, so no answer can leak. `--labels` prints what a bettor may see beside them.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from pathlib import Path
from random import Random
from typing import Any

import yaml

from diagnose import loaded
from diagnose.assessment.finding import _conflict
from diagnose.belief.exact import believe
from diagnose.belief.model import Contradiction
from diagnose.places import SIDES, Layout, kind_of
from diagnose.problems import BadInput
from diagnose.rulebase.records import RuleBase, Symptom
from diagnose.trouble.evidence import prepare
from diagnose.trouble.results import Result, read_result
from tests.real.asking import network_and_trouble
from tests.real.reading import HERE, PARTS
from tests.real.records import Entry

LEAST, MOST = 2, 6  # results in one presentation
IMPOSSIBLE = 50.0  # results that many times rarer together than each by itself are as good as impossible; estimate
TRIES = 200
ASKED = (
    *("nothing", "untouched", "worked_on", "age", "use", "weather", "installation", "course", "goes", "changed"),
    *("worked_on age", "use weather", "goes changed", "worked_on goes", "weather changed"),
)
COURSE = ("course", "goes", "changed")  # groups of `asked` that tell how a trouble went
LOCATED = ("here", "side", "other", "circuit", "cylinder")
_FORM = re.compile(r"([a-z_0-9]+)(?:\.([a-z_]+))?@([a-z]+)")


@dataclass(frozen=True)
class Stratum:
    """What one presentation has to be: drawn evenly, before anything else."""

    symptom: str
    regime: str
    place: str  # kind of place, or `some`
    layout: str
    side: str
    found: int
    normal: int
    asked: str


@dataclass
class Drawn:
    """One presentation under way: its lines by part, and their results."""

    lines: dict[str, list[str]] = field(default_factory=lambda: {part: [] for part in PARTS})
    results: list[Result] = field(default_factory=list)


def deck(values: Sequence[Any], count: int, rng: Random) -> list[Any]:
    """Return `count` values in random order, each as often as any other, or once more."""
    found: list[Any] = []
    while len(found) < count:
        found += rng.sample(values, len(values))
    return found[:count]


def strata(base: RuleBase, count: int, rng: Random, vague: Collection[str] = (), layouts: Collection[str] = ()) -> list[Stratum]:
    """Return what each presentation has to be: every axis spread evenly by itself. `vague`: squawks told without their place as well; `layouts`: none for all."""
    cells = [cell for s in base.symptoms.values() if s.kind == "squawk" for cell in _cells(s, s.id in vague)]
    axes = (sorted(layouts or base.layouts), SIDES, (0, 1, 2), (0, 1, 2, 3), ASKED)
    columns = [deck(cells, count, rng), *(deck(axis, count, rng) for axis in axes)]
    return [Stratum(*cell, *rest) for cell, *rest in zip(*columns, strict=True)]


def _cells(symptom: Symptom, vague: bool) -> Iterator[tuple[str, str, str]]:
    kinds = [*symptom.at, *(["some"] if vague else [])]
    yield from ((symptom.id, regime, kind) for regime in symptom.regimes for kind in kinds)


class Presenter:
    """Draws presentations from the table of what goes with a squawk."""

    def __init__(self, base: RuleBase, rng: Random, table: Path = HERE / "presenting.yaml") -> None:
        self.base, self.rng = base, rng
        self.table = yaml.load(table.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)  # texts only
        self.discarded = 0

    def draw(self, stratum: Stratum) -> Drawn:
        """Return one presentation of a stratum; BadInput where the table has nothing possible for it."""
        layout = self.base.layouts[stratum.layout]
        for _ in range(TRIES):
            drawn = self._once(stratum, layout)
            if drawn is not None and possible(drawn, stratum.layout):
                return drawn
            self.discarded += 1
        raise BadInput(f"nothing possible was found for {stratum}; mend presenting.yaml")

    def _sizes(self, stratum: Stratum) -> tuple[int, int, int]:
        """Return how many results are found wrong beside the squawk, found in order, and asked: `LEAST` to `MOST` with the squawk."""
        groups = stratum.asked.split()
        asked = 0 if groups == ["nothing"] else 2 if len(groups) == 2 else self.rng.choice((1, 2))
        normal = max(stratum.normal, LEAST - 1 - stratum.found - asked)
        return stratum.found, min(normal, MOST - 1 - stratum.found - asked), asked

    def _once(self, stratum: Stratum, layout: Layout) -> Drawn | None:
        drawn, symptom = Drawn(), self.base.symptoms[stratum.symptom]
        places = self._places(stratum, layout)
        found, normal, asked = self._sizes(stratum)
        self._add(drawn, "complaint", f"{stratum.symptom}.{stratum.regime}@{places['here']}", self._wrong(symptom), layout)
        rows = self.table["squawks"].get(stratum.symptom, self.table["other"])
        for wanted, part in ((found, "results"), (normal, "normal")):
            for line in self._pick(rows["found" if part == "results" else "normal"], wanted, stratum, layout, places, drawn):
                name = self.base.symptoms[line.split("@")[0].split(".")[0]]
                self._add(drawn, part, line, self._wrong(name, mild=True) if part == "results" else name.names[0], layout)
        if asked:
            self._ask(drawn, stratum.asked.split(), asked, layout, places)
        self._join_complaint(drawn, stratum.regime)
        count = sum(len(lines) for lines in drawn.lines.values())
        return drawn if LEAST <= count <= MOST and not self._clash(drawn) else None

    def _places(self, stratum: Stratum, layout: Layout) -> dict[str, str]:
        """Return the place each word of the table stands for."""
        side, other = stratum.side, SIDES[stratum.side == SIDES[0]]
        circuit = self.rng.choice(layout.fires[side])
        cylinder = circuit.split("-")[0]
        own = {"side": side, "cylinder": cylinder, "circuit": circuit}.get(stratum.place, stratum.place)
        fixed = {name: name for name in (*SIDES, "engine", "switch", "start", "all", "some")}
        asked = "engine" if stratum.place == "some" else side
        return {**fixed, "here": own, "side": side, "other": other, "circuit": circuit, "cylinder": cylinder, "asked": asked}

    def _wrong(self, symptom: Symptom, mild: bool = False) -> str:
        """Return an abnormal grade, each alike, or (`mild`) each half as often as the one before."""
        grades = symptom.names[1:]
        return self.rng.choices(grades, [0.5**n if mild else 1.0 for n in range(len(grades))])[0]

    def _pick(
        self, lines: Sequence[str], count: int, stratum: Stratum, layout: Layout, places: Mapping[str, str], drawn: Drawn
    ) -> list[str]:
        """Return up to `count` of the table's lines as subjects at this squawk, none about anything already there."""
        taken = {r.subject for r in drawn.results}
        able: dict[str, str] = {}
        for line in lines:
            subject = self._subject(line, stratum, layout, places)
            if subject:
                able.setdefault(read_result(f"{subject}=unknown", self.base, layout)[0].subject, subject)
        free = [subject for canonical, subject in able.items() if canonical not in taken]
        return self.rng.sample(free, min(count, len(free)))

    def _subject(self, line: str, stratum: Stratum, layout: Layout, places: Mapping[str, str]) -> str:
        """Return a line of the table as a subject, or an empty text where it cannot be seen here."""
        form = _FORM.fullmatch(line)
        if form is None or form[1] not in self.base.symptoms:
            raise BadInput(f"presenting.yaml: '{line}' is no symptom with its place; write symptom[.regime]@place")
        symptom, regime, place = self.base.symptoms[form[1]], form[2] or "", places[form[3]]
        if stratum.place == "some" and (form[3] in LOCATED or symptom.id == stratum.symptom):
            return ""  # who does not know where the squawk is knows nothing of that place
        need = self.table["needs"].get(symptom.id)
        if need and not layout.has(place, need):
            return ""
        if regime == "same":
            regime = stratum.regime
            if regime not in symptom.regimes:
                return ""
        if place not in ("all", "some") and kind_of(place) not in symptom.at:
            return ""
        return f"{symptom.id}{'.' + regime if regime else ''}@{place}"

    def _ask(self, drawn: Drawn, groups: Sequence[str], count: int, layout: Layout, places: Mapping[str, str]) -> None:
        """Add answers to questions of a group, each question once; of two groups one each."""
        for group in groups:
            lines = self.rng.sample(self.table["asked"][group], len(self.table["asked"][group]))
            chosen = {line.split("@")[0]: line for line in lines}
            for name in list(chosen)[: count // len(groups)]:
                place, grade = chosen[name].split("@")[1].split("=")
                where = places["asked" if place == "side" else place]
                self._add(drawn, "course" if group in COURSE else "history", f"{name}@{where}", grade, layout)

    def _add(self, drawn: Drawn, part: str, subject: str, grade: str, layout: Layout) -> None:
        results = read_result(f"{subject}={grade}", self.base, layout)
        drawn.results += results
        drawn.lines[part].append(str(results[0]) if len(results) == 1 else f"{subject}={grade}")

    def _join_complaint(self, drawn: Drawn, regime: str) -> None:
        """Move the first other squawk of the same regime into the complaint: the crew told both."""
        for line in drawn.lines["results"]:
            name, _, rest = line.partition("@")[0].partition(".")
            if self.base.symptoms[name].kind == "squawk" and rest == regime:
                drawn.lines["results"].remove(line)
                drawn.lines["complaint"].append(line)
                return

    def _clash(self, drawn: Drawn) -> bool:
        """Return whether two results are a pair that cannot stand together, or one subject has two grades."""
        pairs = {frozenset(pair) for pair in self.table["never"]}
        for a, b in combinations(drawn.results, 2):
            if a.subject == b.subject:
                return True
            together = a.place == b.place and (a.regime == b.regime or not a.regime or not b.regime)
            if together and frozenset((f"{a.symptom}={a.grade}", f"{b.symptom}={b.grade}")) in pairs:
                return True
        return False


def possible(drawn: Drawn, layout: str) -> bool:
    """Return whether the results can all be true, none makes another worthless, and they are not as good as impossible together."""
    rest = [line for part in PARTS[1:] for line in drawn.lines[part]]
    network, trouble = network_and_trouble(Entry("", layout, tuple(drawn.lines["complaint"]), tuple(rest)))
    prepared = prepare(network, trouble.looks)
    if prepared.ignored:
        return False
    try:
        likelihood = believe(network.model, prepared.evidence).likelihood
    except Contradiction:
        return False
    return _conflict(network, prepared, likelihood) < IMPOSSIBLE


def draw_all(base: RuleBase, seed: int, count: int, layouts: Collection[str] = ()) -> tuple[dict[str, dict[str, object]], int]:
    """Return presentations by id as they are written to a file, and how many draws were discarded."""
    rng = Random(seed)
    presenter = Presenter(base, rng)
    found: dict[str, dict[str, object]] = {}
    for number, stratum in enumerate(strata(base, count, rng, presenter.table["vague"], layouts), 1):
        drawn = presenter.draw(stratum)
        lines = {part: texts for part, texts in drawn.lines.items() if texts}
        found[f"s{seed}_{number:03}"] = {"layout": stratum.layout, **lines}
    return found, presenter.discarded


def written(presentations: Mapping[str, Mapping[str, object]], seed: int, aside: bool) -> str:
    """Return a file of presentations that `python -m tests.real` reads."""
    head = f'# Drawn with seed {seed}; how a bet is made: README.md, "How a bet is made".\nformat: 1\n'
    body = {**({"aside": "yes"} if aside else {}), "presentations": dict(presentations)}
    return head + yaml.safe_dump(body, sort_keys=False, default_flow_style=None, width=130)


def labels(base: RuleBase) -> Iterator[str]:
    """Yield what a bettor may see: words of symptoms, history, families with their causes, checks and remedies. No links, no numbers."""
    yield "Symptoms"
    yield from (f"  {s.id}: {s.label} ({', '.join(s.names)})" for s in base.symptoms.values())
    yield "History"
    yield from (f"  {h.id}: {h.label} ({', '.join(h.answers)})" for h in base.history.values())
    yield "Families, with the causes filed under them"
    for family in sorted({c.family for c in base.causes.values()}):
        yield f"  {family}: " + "; ".join(c.label for c in base.causes.values() if c.family == family)
    yield "Checks, then remedies, with the kind of place each is done at"
    yield from (f"  {c.id}@{c.at}: {c.label}" for c in base.checks.values())
    yield from (f"  {r.id}@{r.at}: {r.label}" for r in base.remedies.values())


def main(given: list[str] | None = None) -> int:
    """Draw presentations, or print the labels; 0 when done, 2 with one line when something cannot be used."""
    parser = argparse.ArgumentParser(prog="python -m tests.real.presentations", description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=400)
    parser.add_argument("--layout", action="append", help="only this one (may be given more than once)")
    parser.add_argument("--aside", action="store_true", help="mark them as set aside for measuring: only totals are ever shown")
    parser.add_argument("--labels", action="store_true", help="what a bettor may see beside the presentations")
    args = parser.parse_args(given)
    try:
        base = loaded.rulebase()
        if args.labels:
            print("\n".join(labels(base)))
            return 0
        layouts = [loaded.layout_named(base, name).id for name in args.layout or ()]
        found, discarded = draw_all(base, args.seed, args.count, layouts)
    except BadInput as error:
        print(error, file=sys.stderr)
        return 2
    print(written(found, args.seed, args.aside), end="")
    print(f"{len(found)} presentations, {discarded} draws discarded", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
