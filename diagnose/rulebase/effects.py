"""The effects of a cause: each a way it shows itself, written out or taken from a template."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from diagnose.places import RELATIONS
from diagnose.problems import did_you_mean
from diagnose.rulebase import kinds
from diagnose.rulebase.entry import Number
from diagnose.rulebase.fields import Fields
from diagnose.rulebase.kinds import Field, Kind
from diagnose.rulebase.records import FEATURES, EffectRule, Mechanism, Reach, Show, Template, Way

EACH = (*(r for r in RELATIONS if r.startswith("each_")), "start")
NOTHING = Template((), ())

EFFECT = (
    Field("use", kinds.TEXT, "The template it takes links from."),
    Field("without", kinds.TEXTS, "Keys of the template left out."),
    Field(
        "shows",
        kinds.SHOWS,
        "`symptom[.regime]@relation` and how often, given the effect: a number (for yes/no symptoms) or grade and number. "
        "Wins over the template's own.",
    ),
    Field(
        "in",
        kinds.REGIME_LIST,
        "Regimes, or the name of a list of them: filled in for every symptom shown without one, where it has that regime.",
        into="regimes",
    ),
    Field(
        "acts",
        kinds.TEXT,
        "Instead of `in`: the mechanism it acts by. Its steps are nested, and how far the cause reaches is drawn once for all its effects.",
    ),
    Field("for", kinds.word(EACH), "One independent effect for each such place, which becomes `here`.", into="for_each"),
    Field("needs", kinds.words(FEATURES), "What the layout must have at the place for the cause to show itself this way."),
    Field("strength", kinds.CHANCE, "How often the cause has this effect.", required=True),
    Field("note", kinds.TEXT, "For the reader of the file."),
    Field("source", kinds.CITATIONS, "What it rests on."),
)
WAY = (
    Field("needs", kinds.words(FEATURES), "What the layout must have at the place for this row's effect."),
    Field("share", kinds.CHANCE, "The share of the strength this effect has (left out: all of it)."),
    Field("only", kinds.TEXTS, "Ids of the symptoms it shows (left out: all)."),
)
SPLIT = kinds.records(WAY, "a row", lambda _, values: Way(**values))


def _rules(f: Fields, values: Mapping[str, Any]) -> tuple[EffectRule, ...]:
    """Return the effects one item stands for: one, or one for each row of its template's `split`."""
    known = f.context.templates
    name = f.word("use", known.keys())
    rule = EffectRule(
        strength=values["strength"] or Number(0.5, f.numbers),
        regimes=values["regimes"],
        for_each=values["for_each"],
        template=name,
        shows=_shown(f, known.get(name, NOTHING), values),
        mark=f.node.mark,
        needs=values["needs"],
    )
    rows = known.get(name, NOTHING).split
    made = tuple(_way(rule, row) for row in rows) if rows else (rule,)
    made = tuple(step for each in made for step in _steps(each, _mechanism(f)))
    if not all(each.shows for each in made) and (name or "use" not in f.map):  # a template that does not exist has been told already
        f.context.refuse(f.node, "empty-effect", "this effect shows nothing", "name a template with `use:` or add `shows:`")
    return made


def _named(f: Fields, key: str, _: bool) -> tuple[EffectRule, ...]:
    """Return the effects of the templates a cause names under `goes:`; one that shows nothing is named and makes none."""
    known = {name: t for name, t in f.context.templates.items() if t.goes}
    found = []
    for node in f.nodes(key, required=False):
        template = known.get(node.text or "")
        if template is None:
            f.context.refuse(node, "goes", f"no template for `goes:` is called '{node.text}'", did_you_mean(node.text or "", known))
        elif template.strength is None:
            f.context.refuse(node, "goes", f"the template '{node.text}' has no strength", "give it one")
        else:
            found.append(EffectRule(template.strength, (), "", node.text or "", template.shows, node.mark))
    return tuple(found)


def _mechanism(f: Fields) -> Mechanism | None:
    if "acts" not in f.map:
        return None
    if "in" in f.map:
        f.context.refuse(f.map["in"], "acts", "`in:` and `acts:` both say where this shows", "leave one of them out")
    return f.context.mechanisms.get(f.word("acts", f.context.mechanisms.keys()))


def _steps(rule: EffectRule, mechanism: Mechanism | None) -> tuple[EffectRule, ...]:
    """Return one effect for each step of its mechanism; what is shown elsewhere than in the steps goes with the first."""
    if mechanism is None or not mechanism.steps:
        return (rule,)
    if len(mechanism.steps) == 1:
        return (replace(rule, regimes=mechanism.steps[0].regimes, acts=mechanism.id),)
    made = (
        replace(rule, regimes=step.regimes, acts=mechanism.id, step=n, shows=_of_step(rule.shows, mechanism, n, step))
        for n, step in enumerate(mechanism.steps, 1)
    )
    return tuple(each for each in made if each.shows)


def _of_step(shows: tuple[Show, ...], mechanism: Mechanism, number: int, step: Reach) -> tuple[Show, ...]:
    known = {regime for each in mechanism.steps for regime in each.regimes}
    return tuple(s for s in shows if not s.ref.regime or s.ref.regime in step.regimes or (number == 1 and s.ref.regime not in known))


def _way(rule: EffectRule, row: Way) -> EffectRule:
    shows = tuple(show for show in rule.shows if not row.only or show.ref.symptom in row.only)
    strength = rule.strength if row.share is None else rule.strength.times(row.share)
    return replace(rule, strength=strength, needs=(*rule.needs, *row.needs), shows=shows)


def _shown(f: Fields, template: Template, values: Mapping[str, Any]) -> tuple[Show, ...]:
    """Return the links: the template's, less `without`, and the effect's own, which win."""
    left_out, own = set(values["without"]), values["shows"]
    theirs = {str(show.ref): replace(show, from_template=True) for show in template.shows}
    for gone in sorted(left_out - set(theirs)):
        f.context.refuse(f.map["without"], "without", f"the template has no '{gone}'", did_you_mean(gone, theirs))
    hidden = left_out | {str(show.ref) for show in own}
    return (*(show for key, show in theirs.items() if key not in hidden), *own)


_LISTED = kinds.records(EFFECT, "an effect", _rules)
EFFECTS = Kind(lambda f, key, required: tuple(rule for rules in _LISTED.read(f, key, required) for rule in rules), _LISTED.schema)
NAMED = Kind(_named, kinds.TEXTS.schema)
