"""The files of this folder to records; every fault of a file is one line with its place."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from pathlib import Path

from diagnose.problems import BadInput, did_you_mean
from diagnose.rulebase.fields import Context, Fields, as_float
from diagnose.rulebase.nodes import Node, read_nodes
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.results import as_complaint, read_results
from tests.real.records import SAID, STANDINGS, Account, Answer, Bet, Entry, Expected, Observation, Presentation, Unsaid

HERE = Path(__file__).parent
PARTS = ("complaint", "results", "normal", "course", "history")  # of a presentation; all but the first are read alike
TOLD = ("evidence", "confidence", "mimic", "double", "cause", "confirmed_by", "mended_by", "kind_of_source")  # for people, not scored


class Reader:
    """One file on its way in: what it may name, and the problems met."""

    def __init__(self, base: RuleBase, path: Path) -> None:
        self.base, self.path, self.context = base, path, Context()
        self.families = {c.family for c in base.causes.values()}
        root, met = read_nodes(path.name, path.read_bytes())
        self.context.problems += met
        self.top = Fields(self.context, root, "the file") if root is not None else None

    def entries(self, section: str, read: Callable[[str, Fields], object]) -> Iterator[tuple[str, object]]:
        """Yield id and record of each entry under `section`; BadInput lists what is wrong with the file, a line each."""
        found = []
        if self.top is not None:
            self.top.text("format", required=True)
            self.families |= set(self.top.texts("outside"))
            self.top.text("basis")
            self.aside = self.top.yes("aside")
            for key, node in self.top.submap(section, required=True):
                fields = Fields(self.context, node, f"'{key.text}'", self.top.numbers)
                found.append((key.text or "", read(key.text or "", fields)))
                fields.done()
            self.top.done()
        if self.context.problems:
            raise BadInput("\n".join(str(p) for p in self.context.problems))
        yield from found

    def inner(self, fields: Fields, key: str) -> Fields:
        """Return the map under `key` (an empty one where it is missing, which is a problem)."""
        node = fields.take(key, required=True)
        return Fields(
            self.context, node if node is not None else Node(fields.node.mark, pairs=()), f"'{key}' of {fields.what}", fields.numbers
        )

    def items(self, fields: Fields, key: str) -> Iterator[Fields]:
        """Yield each map of the list under `key`."""
        node = fields.take(key)
        for item in (node.items or ()) if node is not None else ():
            one = Fields(self.context, item, f"an item of '{key}' of {fields.what}")
            yield one
            one.done()

    def entry(self, name: str, fields: Fields, lines: Collection[str] = ("complaint", "results")) -> Entry:
        """Return result lines, each of which must be readable on the layout named."""
        layout = fields.word("layout", self.base.layouts, required=True)
        told = {key: fields.nodes(key) for key in lines}
        if layout:
            for key, nodes in told.items():
                for node in nodes:
                    self._readable(node, layout, key == "complaint")
            self._agree(fields.node, layout, [n.text or "" for nodes in told.values() for n in nodes])
        rest = tuple(n.text or "" for key, nodes in told.items() if key != "complaint" for n in nodes)
        return Entry(name, layout, tuple(n.text or "" for n in told.get("complaint", ())), rest)

    def _readable(self, node: Node, layout: str, complaint: bool) -> None:
        try:
            found = read_results([node.text or ""], self.base, self.base.layouts[layout])
            if complaint:
                as_complaint(found)
        except BadInput as error:
            self.context.refuse(node, "result", str(error), "write it in the words of `diagnose show symptoms`")

    def _agree(self, node: Node, layout: str, lines: list[str]) -> None:
        if self.context.problems:
            return
        try:
            read_results(lines, self.base, self.base.layouts[layout])
        except BadInput as error:
            self.context.refuse(node, "result", str(error), "")

    def of_family(self, fields: Fields, key: str, required: bool = False) -> tuple[str, ...]:
        """Return a list of families there are."""
        return fields.words(key, self.families, required)

    def named(self, fields: Fields, key: str, known: Collection[str], what: str) -> tuple[str, ...]:
        """Return a list of ids, with a place or without, each of which must be known without it."""
        nodes = fields.nodes(key)
        for node in nodes:
            name = (node.text or "").split("@")[0]
            if name not in known:
                self.context.refuse(node, "word", f"no {what} is called '{name}'", did_you_mean(name, known))
        return tuple(n.text or "" for n in nodes)

    def bet(self, fields: Fields, steps: bool) -> Bet:
        """Return a bet; `steps`: its next step is an id of a check or remedy."""
        shares: dict[str, float] = {}
        for key, value in fields.submap("families", required=True):
            share = as_float(value.text or "")
            if key.text not in self.families:
                self.context.refuse(key, "word", f"no family is called '{key.text}'", did_you_mean(key.text or "", self.families))
            if share is None or not 0 < share < 1:
                self.context.refuse(value, "number", f"'{value.text}' is no probability", "write a number above 0 and below 1")
            shares[key.text or ""] = share or 0.0
        if sum(shares.values()) > 1 + 1e-9:
            self.context.refuse(
                fields.node, "number", f"the bet adds up to {sum(shares.values()):.2f}", "1 is the most; the rest is none of these"
            )
        step = fields.take("next", required=True)
        known = {*self.base.checks, *self.base.remedies}
        if steps and step is not None and (step.text or "").split("@")[0] not in known:
            self.context.refuse(step, "word", f"no check or remedy is called '{step.text}'", did_you_mean(step.text or "", known))
        fields.text("why")
        fields.done()
        return Bet(shares, (step.text or "") if step is not None else "")


def read_accounts(base: RuleBase, path: Path = HERE / "accounts.yaml") -> Mapping[str, Account]:
    """Return the accounts by id; BadInput says what is wrong with the file."""
    reader = Reader(base, path)

    def one(name: str, fields: Fields) -> Account:
        told = fields.text("told", required=True)
        node = fields.take("engine")
        engine = {k.text or "": v.text or "" for k, v in (node.pairs or ())} if node is not None else {}
        seen = tuple(
            Observation(*(o.text(k, required=True) for k in ("what", "value", "when"))) for o in reader.items(fields, "observations")
        )
        within = reader.inner(fields, "entered")
        entry = reader.entry(name, within)
        within.done()
        known = ("told", "engine", *(str(n) for n in range(1, len(seen) + 1)))
        unsaid = [
            Unsaid(u.word("of", known, required=True), u.word("said", SAID[1:], required=True), u.text("lost", required=True))
            for u in reader.items(fields, "unsaid")
        ]
        return Account(entry, told, engine, seen, tuple(unsaid))

    return dict(reader.entries("accounts", one))  # type: ignore[arg-type]


def read_answers(base: RuleBase, path: Path = HERE / "answers.yaml") -> Mapping[str, Answer]:
    """Return the answers to the accounts by id; BadInput says what is wrong with the file."""
    reader = Reader(base, path)

    def one(name: str, fields: Fields) -> Answer:
        accept = reader.inner(fields, "accept")
        families = reader.of_family(accept, "families", required=True)
        causes = reader.named(accept, "causes", base.causes, "cause")
        accept.done()
        for key in TOLD:
            fields.text(key)
        for also in reader.items(fields, "also"):
            also.word("family", reader.families, required=True)
            also.text("cause", required=True)
        standing = fields.word("standing", STANDINGS, required=True)
        turned_out = fields.word("turned_out", reader.families, required=True)
        return Answer(standing, turned_out, families, causes, reader.bet(reader.inner(fields, "bet"), steps=False))

    return dict(reader.entries("answers", one))  # type: ignore[arg-type]


def read_made_up(base: RuleBase, path: Path = HERE / "made_up.yaml") -> Mapping[str, Entry]:
    """Return the made-up troubles by id; BadInput says what is wrong with the file."""
    reader = Reader(base, path)
    return dict(reader.entries("troubles", reader.entry))  # type: ignore[arg-type]


def read_expected(base: RuleBase, path: Path = HERE / "made_up_answers.yaml") -> Mapping[str, Expected]:
    """Return what is expected of the made-up troubles by id; BadInput says what is wrong with the file."""
    reader = Reader(base, path)

    def one(name: str, fields: Fields) -> Expected:
        fields.text("words", required=True)
        steps = {*base.checks, *base.remedies}
        return Expected(
            reader.named(fields, "hidden", base.causes, "cause"),
            reader.of_family(fields, "suspects", required=True),
            reader.of_family(fields, "as_good"),
            reader.named(fields, "next", steps, "check or remedy"),
            reader.named(fields, "next_as_good", steps, "check or remedy"),
        )

    return dict(reader.entries("answers", one))  # type: ignore[arg-type]


def read_presentations(base: RuleBase, folder: Path = HERE / "differentials") -> Mapping[str, Presentation]:
    """Return every presentation of a folder by id; BadInput says what is wrong with a file, or that two share an id."""
    found: dict[str, Presentation] = {}
    for path in sorted(folder.glob("*.yaml")):
        reader = Reader(base, path)

        def one(name: str, fields: Fields, reader: Reader = reader) -> Presentation:
            entry = reader.entry(name, fields, PARTS)
            bet = reader.bet(reader.inner(fields, "bet"), steps=True) if "bet" in fields.map else None
            fields.text("basis", required=bet is not None)
            return Presentation(entry, bet, reader.aside)

        for name, presentation in reader.entries("presentations", one):
            if name in found:
                raise BadInput(f"{path.name}: '{name}' stands in another file of the folder as well; give it an id of its own")
            found[name] = presentation  # type: ignore[assignment]
    return found
