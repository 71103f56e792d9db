"""Every section of a rule base file: its fields declared once, and the frozen record its entries become."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.places import KINDS, SIDES, Layout
from diagnose.problems import did_you_mean
from diagnose.rulebase import kinds, records
from diagnose.rulebase.effects import EFFECTS, NAMED, SPLIT
from diagnose.rulebase.entry import Number
from diagnose.rulebase.fields import Fields
from diagnose.rulebase.kinds import Field, Kind, known_to, read_fields
from diagnose.rulebase.principles import PRINCIPLE
from diagnose.rulebase.records import (
    ACCESS,
    FEATURES,
    GOES,
    LEAVES,
    REFITS,
    REGIMES,
    ROLES,
    SIDES_SILENT,
    TURNS,
    Access,
    Cause,
    Caution,
    Check,
    ConfirmingPart,
    History,
    Limit,
    Mechanism,
    Principle,
    Reach,
    Remedy,
    Replaced,
    Source,
    Symptom,
    Template,
)
from diagnose.rulebase.speech import ANY, SLOTS, WORD_KINDS, PlaceForm, RegimeWords, Says, Sentence, Word

_RESULT = re.compile(r"([a-z][a-z0-9_]*)\.([a-z_]+)@([a-z]+)")


@dataclass(frozen=True)
class Section:
    """One section: `fields` of each entry, and what is made of them. `named`: entries by id; else the section is the one entry.

    `rest`: the kind of every key that is not declared (they come under `rest`); without it any such key is a problem.
    """

    help: str
    fields: tuple[Field, ...]
    make: Callable[[Fields, dict[str, Any]], Any] = lambda _, values: values
    named: bool = True
    rest: Kind | None = None

    def entry(self, f: Fields, ident: str, layer: str) -> Any:
        """Return what one entry becomes; problems go to the context of its fields."""
        marks = {key: node.mark for key, node in f.map.items()}
        own: dict[str, Any] = {"id": ident, "mark": f.node.mark, "marks": marks, "layer": layer}
        if self.rest is not None:
            named = {field.name for field in self.fields} | {NUMBERS.name}
            own["rest"] = {key: self.rest.read(f, key, False) for key in f.map if key not in named}
        return self.make(f, own | read_fields(f, self.fields))


def _record(record: type) -> Callable[[Fields, dict[str, Any]], Any]:
    return lambda _, values: record(**known_to(record, values))


def _symptom(_: Fields, values: dict[str, Any]) -> Symptom:
    regimes = values["regimes"] or ("static",)
    return Symptom(**known_to(Symptom, values | {"regimes": regimes, "default": values["default"] or regimes[0]}))


def _access(f: Fields, values: dict[str, Any]) -> Access:
    if values["id"] not in ACCESS:
        f.context.refuse(f.node, "access", f"'{values['id']}' is no access state", did_you_mean(values["id"], ACCESS))
    return Access(**known_to(Access, values))


def _confirming(f: Fields, values: dict[str, Any]) -> ConfirmingPart:
    """Return a part of the confirming run; its place is one that every layout has."""
    found = _RESULT.fullmatch(values["result"])
    if "result" in f.map and (not found or found[3] not in ("engine", *SIDES)):
        message = f"'{values['result']}' is no result that every engine has"
        f.context.refuse(f.map["result"], "reference", message, "write symptom.regime@engine, @left or @right")
    symptom, regime, place = found.groups() if found else ("", "", "")
    return ConfirmingPart(**known_to(ConfirmingPart, values | {"symptom": symptom, "regime": regime, "place": place}))


def _says(_: Fields, values: dict[str, Any]) -> Says:
    return Says(**known_to(Says, values | {"label": values["id"], "source": (), "phrases": values["rest"]}))


def _word(_: Fields, values: dict[str, Any]) -> Word:
    return Word(**known_to(Word, values | {"label": values["id"]}))


def _place_form(_: Fields, values: dict[str, Any]) -> PlaceForm:
    told = {kind: values[kind] for kind in KINDS if values[kind]}
    return PlaceForm(**known_to(PlaceForm, values | {"label": values["id"], "source": (), "words": told}))


def _regime_words(f: Fields, values: dict[str, Any]) -> RegimeWords:
    if values["id"] not in (*REGIMES, ANY):
        f.context.refuse(f.node, "regime", f"'{values['id']}' is no regime", did_you_mean(values["id"], (*REGIMES, ANY)))
    return RegimeWords(**known_to(RegimeWords, values | {"label": values["id"], "source": ()}))


def _sentence(_: Fields, values: dict[str, Any]) -> Sentence:
    return Sentence(**known_to(Sentence, values | {"label": values["id"], "source": (), "texts": values["rest"]}))


def _layout(_: Fields, values: dict[str, Any]) -> Layout:
    """Return a layout; `layouts.layout_problems` judges whether it holds together."""
    magnetos: Mapping[str, Mapping[str, Any]] = values["magnetos"]
    kept = known_to(Layout, values)
    kept["fires"] = {side: values["fires"].get(side, ()) for side in SIDES}
    kept["start_aid"] = {side: magnetos.get(side, {}).get("start_aid", "none") for side in SIDES}
    kept["poles"] = {side: magnetos.get(side, {}).get("poles", 2) for side in SIDES}
    return Layout(**kept)


def _mechanism(f: Fields, values: dict[str, Any]) -> Mechanism:
    """Return a mechanism; the one step without a share takes what the others leave."""
    given = [step["share"] for step in values["steps"]]
    left = 1 - sum(share.value for share in given if share is not None)
    if given.count(None) != 1 or left <= 0:
        f.context.refuse(f.node, "sum", f"the shares of {f.what} do not make up 1", "leave out the share of one step, and some for it")
    rest = Number(left, f.numbers)
    steps = tuple(Reach(step["regimes"], step["share"] or rest) for step in values["steps"])
    return Mechanism(**known_to(Mechanism, values | {"steps": steps}))


NUMBERS = Field(
    "numbers",
    kinds.CITATION,
    "Where the numbers of this entry come from: estimate, common practice, from memory, or a citation such as `h32b p4-34`. "
    "Said at the top of a file it holds for all its entries.",
)
LABEL = Field("label", kinds.TEXT, "What it is called on screens and papers: a few words.", required=True)
NOTE = Field("note", kinds.TEXT, "What a mechanic should know, in one to four sentences.")
SOURCE = Field("source", kinds.CITATIONS, "What the words of this entry rest on: a list of citations, each a source's id and a page.")
AT = Field(
    "at", kinds.word(KINDS, "engine"), "The kind of place it belongs to; it is made once for every such place of the engine.", required=True
)
NEEDS = Field("needs", kinds.words(FEATURES), "What the layout must have at the place, all of it; elsewhere this does not exist.")
ACCESS_NEEDED = Field("access", kinds.words(ACCESS), "The states of the aircraft it needs, in the order they are reached.")
PEOPLE = Field("people", kinds.whole(1, 1), "How many people it takes (left out: 1).")
TOOLS = Field("tools", kinds.TEXTS, "The tools it takes.")
CAUTIONS = Field("cautions", kinds.TEXTS, "Ids of the cautions shown at this step.")
MINUTES = Field(
    "minutes",
    kinds.AMOUNT,
    "Hands-on minutes once the access is there; a number, or a map by cylinder count {4: 90, 6: 130}.",
    required=True,
)
LEFT_OFF = Field("leaves", kinds.words(LEAVES), "What is off after it until it is said to be back on; no run until then.")
HOW = Field("how", kinds.TEXT, "How it is done, in one to three sentences; the manual has the rest.", required=True)

SYMPTOM = (
    LABEL,
    Field("ask", kinds.TEXT, "The question put to a person."),
    Field(
        "kind",
        kinds.word(records.KINDS, "test"),
        "squawk: what a pilot reports and can be a complaint. test: what a check gives. course: how the trouble goes and what changes it.",
        required=True,
    ),
    Field("at", kinds.words(KINDS), "The kinds of place it can be seen at.", required=True),
    Field(
        "regimes",
        kinds.REGIME_LIST,
        "The conditions it can be seen in: regimes, or the name of a list of the `regimes` section (left out: static, the engine stopped).",
    ),
    Field("default", kinds.word(REGIMES), "The regime meant where a result names none (left out: the first of `regimes`)."),
    Field(
        "grades",
        kinds.TEXT_MAP,
        "Grade and its meaning, the normal one first, each worse than the one before. What can go two ways is two symptoms.",
        required=True,
    ),
    Field(
        "leak",
        kinds.LEVELS,
        "Grade and how often it shows at one place in one regime with no cause of this rule base; every abnormal grade, never 0.",
        required=True,
    ),
    Field("leak_in", kinds.LEVELS_BY_REGIME, "Regime and the leak there, where it differs."),
    Field("some", kinds.words(KINDS), "The kinds of place that `@some` ranges over."),
    Field("role", kinds.word(ROLES), "What the program may take it for; it knows no symptom by name."),
    Field("synonyms", kinds.TEXTS, "Other words people use for it."),
    Field("suffix", kinds.TEXT_MAP, "Word that may follow any result after `~`, and the grade of this symptom that it stands for."),
    Field(
        "both",
        kinds.word(("", SIDES_SILENT)),
        "sides_silent: an engine without spark on both sides shows it, in every regime in which a side can fall silent.",
    ),
    SOURCE,
)
CAUSE = (
    LABEL,
    Field("family", kinds.TEXT, "The group it is counted with; causes of one family share the answers on history.", required=True),
    Field("jasc", kinds.JASC, "Code of the system (JASC), or null with a note that says why.", required=True),
    AT,
    NEEDS,
    Field(
        "prior",
        kinds.PRIOR,
        "How likely it is at one such place before anything is known: above 0 and below 1.",
    ),
    Field("prior_by", kinds.CHANCES, "Instead of `prior`, for circuits: position and prior (bottom: the position that fouls first)."),
    Field("no_run", kinds.YES, "yes where a suspicion of it makes a run dangerous: it is looked into before the engine is run again."),
    NOTE,
    SOURCE,
    Field("goes", NAMED, "Templates that say how it goes (one) and what changes it (any number); what none of them shows it does not."),
    Field("effects", EFFECTS, "How it shows: each item is one way, drawn independently of the others.", required=True),
    Field(
        "reach",
        kinds.CHANCE_LIST,
        "How often it reaches just so far, step by step of the mechanism its effects name, if not as usual there.",
    ),
    Field(
        "never",
        kinds.NEVER,
        "`symptom[.regime]@relation` and the reason: what it is known not to show. Without a regime: in none.",
    ),
    Field("remedies", kinds.TEXTS, "Ids of the remedies that end it.", required=True),
)
HISTORY = (
    LABEL,
    Field("ask", kinds.TEXT, "The question put to a person.", required=True),
    AT,
    Field("answers", kinds.TEXT_MAP, "Answer and its meaning; the last one says that nothing happened.", required=True),
    Field("probability", kinds.LEVELS, "Answer and how common it is; together 1.", required=True),
    Field(
        "acts_on",
        kinds.FACTORS,
        "Cause or family, then answer and the factor on its prior odds; the mean over the answers is about 1.",
        required=True,
    ),
    Field("part_of", kinds.TEXT, "The wider question whose last answer implies this one's: then neither asked nor counted again."),
    Field("role", kinds.word(ROLES), "What the program may take a yes for; it knows no question by name."),
    SOURCE,
)
CHECK = (
    LABEL,
    AT,
    NEEDS,
    Field("gives", kinds.REFS, "What it answers: `symptom[.regime]@relation`, most telling first.", required=True),
    Field("part", kinds.TEXT, "What is exchanged with another place; goes with `moves`."),
    Field("moves", kinds.TEXT, "The symptom of the causes that move with the part."),
    MINUTES,
    ACCESS_NEEDED,
    PEOPLE,
    TOOLS,
    CAUTIONS,
    HOW,
    Field("not_here", kinds.TEXT, "When it cannot be done."),
    LEFT_OFF,
    Field("refit", kinds.TEXT, "What has to be made good and recorded afterwards; kept as an open item."),
    SOURCE,
)
REMEDY = (
    LABEL,
    AT,
    NEEDS,
    MINUTES,
    ACCESS_NEEDED,
    PEOPLE,
    TOOLS,
    Field("parts", kinds.YES, "yes where a part is changed (left out: no)."),
    CAUTIONS,
    HOW,
    LEFT_OFF,
    Field("refits", kinds.words(REFITS), "What is on again, at its place and inside it, once it is done."),
    Field("may_quiet", kinds.TEXTS, "Ids of causes it may silence for a while without ending them."),
    Field("seen_by", kinds.TEXTS, "Ids of the symptoms that show its faults themselves (left out: any test on the standing engine)."),
    Field("measured_by", kinds.TEXTS, "Ids of the symptoms that measure what it sets: it waits until they have been looked at there."),
    SOURCE,
)
LIMIT = (
    LABEL,
    Field("value", kinds.AMOUNT, "The number.", required=True),
    Field("unit", kinds.TEXT, "Its unit.", required=True),
    Field("document", kinds.TEXT, "The document it stands in.", required=True),
    Field("revision", kinds.TEXT, "That document's revision.", required=True),
    NOTE,
    SOURCE,
)
ACCESS_STATE = (
    LABEL,
    Field("minutes", kinds.AMOUNT, "Minutes to reach it.", required=True),
    Field("ends", kinds.words(ACCESS), "The states it undoes."),
    CAUTIONS,
    SOURCE,
)
CAUTION = (
    Field("text", kinds.TEXT, "The warning, as it is shown.", required=True, into="label"),
    Field("turns", kinds.word(TURNS), "How a step that carries it turns the engine: run, crank, or by hand."),
    Field("prove_off", kinds.YES, "yes where the OFF check has to be passed after such a step."),
    SOURCE,
)
REPLACED = (
    Field("why", kinds.TEXT, "What happened to it: renamed, turned round, split into which, removed.", required=True, into="label"),
    Field("by", kinds.TEXT, "The id that stands for it now; left out where none does."),
    Field("grades", kinds.TEXT_MAP, "Its grades and what they are called now, where they differ."),
    SOURCE,
)
CITED = (
    Field("title", kinds.TEXT, "What the document is called, with its edition.", required=True, into="label"),
    Field("kind", kinds.word(("regulator", "standard", "handbook", "trade", "note")), "Who speaks in it.", required=True),
    SOURCE,
)
SETTINGS = (
    Field("version", kinds.TEXT, "Version of the rule base."),
    Field("updated", kinds.TEXT, "Day of its last change."),
    Field("conflict_limit", kinds.AMOUNT, "Results this many times less likely together than apart are called conflicting."),
    Field("show_again", kinds.CHANCE, "An effect that is there shows again, each time the complaint is looked at after a repair."),
    Field("bad_repair", kinds.CHANCE, "A cause comes straight back after its remedy."),
    Field("somehow", kinds.AMOUNT, "Faults showing in ways nobody wrote add at most this many leaks to any squawk."),
    Field("isolated_at", kinds.CHANCE, "Responsibility of the first repair group at which it is called isolated."),
    Field("expert_minutes", kinds.AMOUNT, "What it costs when nothing of this rule base ends the trouble."),
    Field("retest_minutes", kinds.AMOUNT, "The run that looks at the complaint again after a repair."),
    Field("refit_minutes", kinds.AMOUNT, "A P-lead or a part put back and looked at."),
    Field("inspect_minutes", kinds.AMOUNT, "The look at starter, drives and propeller after a kick-back or a strike."),
    Field("guess_minutes", kinds.AMOUNT, "Work over this, from a closed engine, waits until a check has seen the fault."),
    Field("no_run_at", kinds.CHANCE, "Causes with `no_run` that are together this likely are looked into before the engine is run again."),
    Field("no_run_after_work", kinds.CHANCE, "The same where work that makes such a cause likelier was told of."),
)
MAGNETO = (
    Field("start_aid", kinds.word(("none", "impulse", "vibrator"), "none"), "What retards its spark at the start.", required=True),
    Field("poles", kinds.whole(2, 2), "Poles of its magnet.", required=True),
)
LAYOUT = (
    Field("id", kinds.TEXT, "What it is called on the command line.", required=True),
    LABEL,
    Field("cylinders", kinds.whole(1, 1), "How many cylinders.", required=True),
    Field("firing_order", kinds.CYLINDERS, "Every cylinder once, in the order they fire.", required=True),
    Field("kind", kinds.word(("opposed", "radial"), "opposed"), "How the cylinders stand.", required=True),
    Field("positions", kinds.TEXTS, "The two plug positions of a cylinder: [top, bottom], [front, rear].", required=True),
    Field("fouls_first", kinds.TEXT, "The position whose plugs foul first.", required=True),
    Field("fires", kinds.FIRES, "left and right: the circuits that magneto fires, CYLINDER-POSITION, in their order.", required=True),
    Field("magnetos", kinds.by_side(MAGNETO), "left and right: what each magneto is.", required=True),
    Field("drive", kinds.word(("separate", "single"), "separate"), "Two magnetos, or one dual unit on one drive.", required=True),
    Field("pressurised", kinds.YES, "yes where the magnetos are fed pressure (left out: no)."),
    Field("seen_right", kinds.CYLINDERS, "Cylinders on the right side, for pictures."),
    NOTE,
    SOURCE,
)
CONFIRMING = (
    LABEL,
    Field("result", kinds.TEXT, "What must have an answer: `symptom.regime@place`, the place engine, left or right.", required=True),
    SOURCE,
)
STEP = (
    Field("in", kinds.REGIME_LIST, "The regimes this step adds.", required=True, into="regimes"),
    Field("share", kinds.CHANCE, "How often a fault reaches just so far (left out: whatever the other steps leave)."),
)
MECHANISM = (
    LABEL,
    NOTE,
    Field("steps", kinds.records(STEP, "a step", lambda _, values: values), "From the highest demand down.", required=True),
    SOURCE,
)
TEMPLATE = (
    Field("goes", kinds.word(("", *GOES)), "For `goes:` of causes. course: how the trouble goes. change: what changes it."),
    NOTE,
    Field("strength", kinds.CHANCE, "How often a cause that names it under `goes:` does so at all."),
    Field("shows", kinds.SHOWS, "Links that every cause using it has."),
    Field("split", SPLIT, "Rows that each make one effect, where the layout has what the row needs."),
    SOURCE,
)
WORD = (
    Field("kind", kinds.word(WORD_KINDS, "word"), "What it is taken for (left out: a word like any other)."),
    Field("rpm_to", Kind(lambda f, key, _: f.amount(key, required=False), kinds.AMOUNT.schema), "The speed up to which rpm means this."),
    Field("says", kinds.TEXTS, "Its other spellings: words, phrases, abbreviations. The id itself need not stand here."),
    SOURCE,
)
PLACE_FORM = tuple(
    Field(
        kind,
        kinds.TEXT,
        f"How a place of the kind {kind} is said: words with {', '.join('{' + slot + '}' for slot in SLOTS)}; ... is where it goes.",
    )
    for kind in KINDS
)
REGIME_WORDS = (Field("said", kinds.TEXT, "What stands at the end of a sentence for this regime.", required=True),)
SENTENCE = (
    Field("of", kinds.TEXT, "The form of the section `where` that says the place (left out: the place is not said)."),
    Field("when", kinds.TEXT_MAP, 'Regime and the words that say it here ("": it is not said), where not those of the section `when`.'),
)

SECTIONS: Mapping[str, Section] = {
    "rulebase": Section("Version, and the settings of belief and plan; once.", SETTINGS, named=False),
    "regimes": Section("Names for lists of regimes, so that a long list is written once.", ()),
    "scale": Section("Words for numbers.", (Field("value", kinds.CHANCE, "The number the word stands for.", required=True),)),
    "tables": Section(
        "Names for numbers that go with the number of cylinders.",
        (Field("by_cylinders", kinds.ROWS, "Cylinder count and number; a count between takes the nearest.", required=True),),
    ),
    "mechanisms": Section(
        "What faults act by: regimes from the highest demand down, each step nested in the one before.", MECHANISM, _mechanism
    ),
    "sources": Section("Documents that entries cite.", CITED, _record(Source)),
    "access": Section("States of the aircraft that checks and remedies need, paid for once.", ACCESS_STATE, _access),
    "cautions": Section("Warnings shown at the step they belong to.", CAUTION, _record(Caution)),
    "limits": Section("Numbers that readings are graded against, each with its document.", LIMIT, _record(Limit)),
    "confirming": Section("What every confirming run holds beside the complaint itself, in order.", CONFIRMING, _confirming),
    "history": Section("What happened before: each answer is a factor on the prior odds of causes.", HISTORY, _record(History)),
    "replaced": Section("Ids that old cases hold and this rule base no longer has.", REPLACED, _record(Replaced)),
    "causes": Section("Fault modes of parts: what is wrong, how it shows, what ends it.", CAUSE, _record(Cause)),
    "effects": Section("Templates: ways of showing that several causes have in common.", TEMPLATE, _record(Template)),
    "symptoms": Section("What can be seen, felt or measured.", SYMPTOM, _symptom),
    "says": Section(
        "How people say a symptom or an answer on history: its id, then grade or answer and phrases, and `about` for its name alone.",
        (),
        _says,
        rest=kinds.TEXTS,
    ),
    "where": Section("Ways to say a place in a sentence: a form's name, then kind of place and words.", PLACE_FORM, _place_form),
    "when": Section("How each regime is said at the end of a sentence.", REGIME_WORDS, _regime_words),
    "sentences": Section(
        "How a result reads: id of a symptom or a history question, then grade or answer and what is said, place and condition left out.",
        SENTENCE,
        _sentence,
        rest=kinds.TEXT,
    ),
    "words": Section("Words of people's speech: other spellings, and what a word is taken for.", WORD, _word),
    "checks": Section("Procedures that give results.", CHECK, _record(Check)),
    "remedies": Section("What ends causes, at its place and inside it.", REMEDY, _record(Remedy)),
    "principles": Section(
        "What a trainee should understand, each linked to the checks and causes it explains.", PRINCIPLE, _record(Principle)
    ),
    "layout": Section("One engine's ignition arrangement; one per file.", LAYOUT, _layout, named=False),
}
