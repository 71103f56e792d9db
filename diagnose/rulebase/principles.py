"""The principles a trainee should understand: how they are written, what is wrong with them, which belong to a check or cause."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.problems import Problem, did_you_mean
from diagnose.rulebase import kinds
from diagnose.rulebase.entry import Entry
from diagnose.rulebase.kinds import Field
from diagnose.rulebase.nodes import problem
from diagnose.rulebase.records import DRAWINGS, Cause, Check, Principle, RuleBase

PRINCIPLE = (
    Field("label", kinds.TEXT, "What the topic is called: a few words.", required=True),
    Field("short", kinds.TEXT, "The physics a step rests on, in one sentence without a full stop.", required=True),
    Field(
        "plain", kinds.TEXTS, "What it is and why, in words an apprentice follows: paragraphs, 150 to 250 words together.", required=True
    ),
    Field("isolates", kinds.TEXT, "What it means for finding a fault.", required=True),
    Field("drawing", kinds.word(("", *DRAWINGS)), "The drawing the program makes for it, where it needs one."),
    Field("cautions", kinds.TEXTS, "Ids of the cautions of the work it is about."),
    Field("checks", kinds.TEXTS, "Ids of the checks that work by it, as far as it is the first to be read there."),
    Field("causes", kinds.TEXTS, "Ids of causes, or of whole families, that it explains."),
    Field("source", kinds.CITATIONS, "What its words rest on: a list of citations.", required=True),
)


def principle_problems(base: RuleBase, principle: Principle) -> Iterator[Problem]:
    """Yield every link of a principle that leads nowhere, and a principle that explains nothing."""
    families = {cause.family for cause in base.causes.values()}
    for key, names, known in (
        ("cautions", principle.cautions, set(base.cautions)),
        ("checks", principle.checks, set(base.checks)),
        ("causes", principle.causes, {*base.causes, *families}),
    ):
        for name in names:
            if name not in known:
                mark = principle.marks.get(key, principle.mark)
                yield problem(mark, "id", f"'{principle.id}' names '{name}' under {key}, which does not exist", did_you_mean(name, known))
    if not principle.plain:
        yield problem(principle.mark, "missing", f"'{principle.id}' explains nothing", "write its paragraphs under `plain:`")
    if not principle.source:
        yield problem(principle.mark, "missing", f"'{principle.id}' has no source", "cite one, or `common` or `memory` where there is none")


def principles_of(base: RuleBase, entry: Entry) -> list[Principle]:
    """Return the principles linked to a check or a cause, in the order of the rule base; a cause named by none goes by its family."""
    if isinstance(entry, Check):
        return [p for p in base.principles.values() if entry.id in p.checks]
    if isinstance(entry, Cause):
        own = [p for p in base.principles.values() if entry.id in p.causes]
        return own or [p for p in base.principles.values() if entry.family in p.causes]
    return []
