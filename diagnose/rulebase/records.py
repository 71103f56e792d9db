"""What a rule base holds, as frozen records. `sections.py` declares how each field is written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from diagnose.places import Layout
from diagnose.rulebase.entry import Entry, Levels, Number
from diagnose.rulebase.nodes import Mark
from diagnose.rulebase.speech import PlaceForm, RegimeWords, Says, Sentence, Word

REGIMES = (
    "static",
    "start",
    "cold",
    "idle",
    "runup",
    "cruise_lean",
    "high_power",
    "hot",
    "wet",
    "altitude",
    "shutdown",
)
ACCESS = ("cowl_off", "plugs_out", "leads_off", "engine_running", "engine_cold", "engine_damp", "engine_hot", "second_person")
FEATURES = (
    "impulse",
    "vibrator",
    "start_aid",
    "start_aid_alone",
    "start_aid_shared",
    "no_start_aid",
    "impulse_driven",
    "single_drive",
    "separate_drive",
    "pressurised",
    "unpressurised",
    "opposed",
    "radial",
)
# The roles a calculation gives results for: of each, a rule base has one symptom.
MEASURED = (
    "rough",
    "mag_drop",
    "no_drop",
    "drop_at_once",
    "drop_gradual",
    "drop_difference",
    "runs_in_off",
    "static_rpm_low",
    "egt_no_rise",
    "egt_falls",
    "egt_hot",
    "stays_cold",
    "air_lost",
    "fires_late",
    "fires_early",
    "contacts_wide",
    "contacts_narrow",
    "e_gap_off",
    "retard_off",
    "electrodes_wide",
    "electrodes_narrow",
    "electrodes_worn",
    "resistor_over",
    "insulation_low",
    "continuity_lost",
)
ROLES = (*MEASURED, "no_start", "drop_stays", "live_magneto", "no_run", "inspect_first", "circuit_heat")
# What a step can leave off until it is made good: the P-lead of its side, P-leads taken off in turn (each back on before the next: nobody
# has said of the last), the magneto itself, and the plug, lead or cover at its place.
LEAVES = ("p_lead", "p_lead_in_turn", "magneto", "plug", "lead", "cover")
REFITS = ("plug", "lead", "cover")  # what a remedy has back on at its place once it is done
TURNS = ("run", "crank", "hand")
KINDS = ("squawk", "test", "course")
GOES = ("course", "change")  # how a trouble goes; what changes it
# The drawings the program can make for a principle.
DRAWINGS = ("drops", "demand", "flux", "start_spark", "retard", "switch", "late", "rotation", "egt")
SIDES_SILENT = "sides_silent"  # the only word of `both:` yet: no spark on either side


@dataclass(frozen=True)
class Symptom(Entry):
    """Something observable; `grades` are ordered, the normal one first; `suffix`: word after a result -> the grade it stands for."""

    kind: str
    at: tuple[str, ...]
    regimes: tuple[str, ...]
    default: str
    grades: Mapping[str, str]
    leak: Levels
    leak_in: Mapping[str, Levels]
    some: tuple[str, ...]
    role: str
    ask: str
    synonyms: tuple[str, ...]
    both: str = ""
    suffix: Mapping[str, str] = field(default_factory=dict)

    @property
    def names(self) -> tuple[str, ...]:
        """Return the grade ids, normal first."""
        return tuple(self.grades)


@dataclass(frozen=True)
class Ref:
    """`symptom[.regime]@relation` as written in a rule."""

    symptom: str
    regime: str
    relation: str
    mark: Mark

    def __str__(self) -> str:
        """Return the reference as written."""
        return f"{self.symptom}{'.' + self.regime if self.regime else ''}@{self.relation}"


@dataclass(frozen=True)
class Show:
    """One symptom an effect feeds; an empty grade means the only abnormal one."""

    ref: Ref
    levels: Levels
    from_template: bool = False


@dataclass(frozen=True)
class Way:
    """One effect of a template that makes several: what it needs, the share of the strength, and all it shows (empty: everything)."""

    needs: tuple[str, ...]
    share: Number | None
    only: tuple[str, ...]


@dataclass(frozen=True)
class Template:
    """A way of showing that causes have in common: links, and how it splits into several effects (empty: it is one).

    `goes`: a cause names it under `goes:` instead, as its course or as what changes it; it then has it with this `strength`.
    """

    shows: tuple[Show, ...]
    split: tuple[Way, ...]
    goes: str = ""
    strength: Number | None = None
    id: str = ""
    note: str = ""
    source: tuple[str, ...] = ()
    layer: str = ""
    mark: Mark | None = None


@dataclass(frozen=True)
class Reach:
    """One step of a mechanism: the regimes it adds, and how often a fault reaches just so far."""

    regimes: tuple[str, ...]
    share: Number


@dataclass(frozen=True)
class Mechanism(Entry):
    """What an effect acts by: its steps of demand, each nested in the one before. One step: it acts in all of its regimes."""

    steps: tuple[Reach, ...]


@dataclass(frozen=True)
class Never:
    """What a cause is known not to show, and why."""

    ref: Ref
    why: str


@dataclass(frozen=True)
class EffectRule:
    """One way a cause shows itself; `acts` names its mechanism, `step` which step of it this is (0: no reach is needed)."""

    strength: Number
    regimes: tuple[str, ...]
    for_each: str
    template: str
    shows: tuple[Show, ...]
    mark: Mark
    needs: tuple[str, ...] = ()
    acts: str = ""
    step: int = 0


@dataclass(frozen=True)
class Cause(Entry):
    """A fault mode of a part; `prior_by` gives the prior by circuit position instead of `prior`.

    `reach` gives the shares of its mechanism's steps where they are not the usual ones. With `no_run` a suspicion of it
    (`Settings.no_run_at`) is looked into before the engine is run again. `goes`: how it goes and what changes it, each an
    effect that a template stands for.
    """

    family: str
    jasc: str | None
    at: str
    prior: Number | None
    prior_by: Mapping[str, Number]
    needs: tuple[str, ...]
    remedies: tuple[str, ...]
    note: str
    effects: tuple[EffectRule, ...]
    reach: tuple[Number, ...] = ()
    never: tuple[Never, ...] = ()
    no_run: bool = False
    goes: tuple[EffectRule, ...] = ()


@dataclass(frozen=True)
class History(Entry):
    """Something that happened before; `acts_on` maps cause or family -> answer -> factor on prior odds.

    `part_of` names the wider question whose last answer ("nothing") implies this one's.
    """

    ask: str
    at: str
    answers: Mapping[str, str]
    probability: Levels
    acts_on: Mapping[str, Levels]
    part_of: str = ""
    role: str = ""

    @property
    def nothing(self) -> str:
        """Return the answer that says that nothing happened: the last one."""
        return list(self.answers)[-1]


@dataclass(frozen=True)
class Check(Entry):
    """A procedure that gives results for symptoms; one that exchanges a `part` names the symptom of the causes that move with it;
    `refit` is what has to be made good and recorded afterwards, `leaves` what is off until then, `needs` the layout features without
    which it is not done at a place."""

    at: str
    gives: tuple[Ref, ...]
    minutes: Number
    access: tuple[str, ...]
    people: int
    tools: tuple[str, ...]
    cautions: tuple[str, ...]
    how: str
    not_here: str
    refit: str = ""
    part: str = ""
    moves: str = ""
    leaves: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Remedy(Entry):
    """What ends causes at its place and inside it; `needs` are layout features without which it cannot be done there; `leaves` is
    what is off until it is said to be back on, `refits` what is on again with it; `seen_by` the symptoms that show the fault itself, where
    not every test does; `measured_by` those that measure what it sets: it waits until they have been looked at."""

    at: str
    minutes: Number
    access: tuple[str, ...]
    people: int
    tools: tuple[str, ...]
    parts: bool
    cautions: tuple[str, ...]
    how: str
    may_quiet: tuple[str, ...]
    needs: tuple[str, ...] = ()
    leaves: tuple[str, ...] = ()
    seen_by: tuple[str, ...] = ()
    measured_by: tuple[str, ...] = ()
    refits: tuple[str, ...] = ()


_Timed = TypeVar("_Timed", Check, Remedy)


@dataclass(frozen=True)
class Access(Entry):
    """A state of the aircraft that checks need, paid for once."""

    minutes: Number
    ends: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Caution(Entry):
    """A warning shown at the step it belongs to; `label` is its text.

    `turns`: such a step runs or cranks the engine, or turns it by hand; `prove_off`: the OFF check is due after it.
    """

    turns: str = ""
    prove_off: bool = False


@dataclass(frozen=True)
class Replaced(Entry):
    """What stands now for an id that old cases hold: `by`, empty where nothing does; `grades` where they were turned or renamed."""

    by: str
    grades: Mapping[str, str]


@dataclass(frozen=True)
class Source(Entry):
    """A document that entries cite."""

    kind: str


@dataclass(frozen=True)
class Principle(Entry):
    """What a trainee should understand: `short` the physics in a sentence, `plain` the paragraphs, `causes` ids or families."""

    short: str
    plain: tuple[str, ...]
    isolates: str
    drawing: str
    cautions: tuple[str, ...]
    checks: tuple[str, ...]
    causes: tuple[str, ...]


@dataclass(frozen=True)
class Limit(Entry):
    """A number that readings are graded against, with its document and revision."""

    value: Number
    unit: str
    document: str
    revision: str


@dataclass(frozen=True)
class ConfirmingPart(Entry):
    """One part of every confirming run: the symptom, regime and place that must have an answer."""

    symptom: str
    regime: str
    place: str


@dataclass(frozen=True)
class Settings:
    """The settings of belief and plan, from the `rulebase` section."""

    version: str = "0"
    updated: str = ""
    conflict_limit: float = 2.0
    show_again: float = 0.95
    bad_repair: float = 0.01
    isolated_at: float = 0.9
    expert_minutes: float = 240.0
    retest_minutes: float = 15.0
    somehow: float = 0.5
    refit_minutes: float = 10.0
    inspect_minutes: float = 60.0
    guess_minutes: float = 120.0
    no_run_at: float = 0.25
    no_run_after_work: float = 0.1


@dataclass(frozen=True)
class RuleBase:
    """A whole rule base; every map is by id, in file order."""

    settings: Settings = field(default_factory=Settings)
    sha256: str = ""
    symptoms: Mapping[str, Symptom] = field(default_factory=dict)
    causes: Mapping[str, Cause] = field(default_factory=dict)
    history: Mapping[str, History] = field(default_factory=dict)
    checks: Mapping[str, Check] = field(default_factory=dict)
    remedies: Mapping[str, Remedy] = field(default_factory=dict)
    access: Mapping[str, Access] = field(default_factory=dict)
    cautions: Mapping[str, Caution] = field(default_factory=dict)
    sources: Mapping[str, Source] = field(default_factory=dict)
    limits: Mapping[str, Limit] = field(default_factory=dict)
    mechanisms: Mapping[str, Mechanism] = field(default_factory=dict)
    templates: Mapping[str, Template] = field(default_factory=dict)
    replaced: Mapping[str, Replaced] = field(default_factory=dict)
    confirming: Mapping[str, ConfirmingPart] = field(default_factory=dict)
    principles: Mapping[str, Principle] = field(default_factory=dict)
    layouts: Mapping[str, Layout] = field(default_factory=dict)
    says: Mapping[str, Says] = field(default_factory=dict)
    words: Mapping[str, Word] = field(default_factory=dict)
    where: Mapping[str, PlaceForm] = field(default_factory=dict)
    when: Mapping[str, RegimeWords] = field(default_factory=dict)
    sentences: Mapping[str, Sentence] = field(default_factory=dict)

    def on(self, layout: Layout) -> RuleBase:
        """Return this rule base with the minutes of a layout's cylinder count where they are given by it."""

        def fixed(entry: _Timed) -> _Timed:
            minutes = entry.minutes
            return entry if minutes.table is None else replace(entry, minutes=Number(minutes.at(layout.cylinders), minutes.source))

        return replace(self, checks={k: fixed(c) for k, c in self.checks.items()}, remedies={k: fixed(r) for k, r in self.remedies.items()})

    def with_role(self, role: str) -> tuple[str, ...]:
        """Return the symptoms that hold a role."""
        return tuple(s.id for s in self.symptoms.values() if s.role == role)

    def courses(self, cause: Cause) -> tuple[str, ...]:
        """Return the templates that say how the trouble goes that a cause makes: one, where the rule base is whole."""
        return tuple(rule.template for rule in cause.goes if self.templates[rule.template].goes == "course")

    def removes(self, remedy: str) -> tuple[str, ...]:
        """Return the causes a remedy ends."""
        return tuple(c.id for c in self.causes.values() if remedy in c.remedies)
