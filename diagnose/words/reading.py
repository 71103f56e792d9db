"""The reader: a line of plain language to results, questions, and words not understood."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from diagnose.places import Layout
from diagnose.problems import BadInput
from diagnose.rulebase.records import History, RuleBase
from diagnose.trouble.results import read_result
from diagnose.words.amounts import amount, compared, three_speeds
from diagnose.words.clauses import Clause, Spot, clauses, joined
from diagnose.words.finding import Finding, every_bad, readable, turned
from diagnose.words.heard import Heard, Reading, Unsure, settled
from diagnose.words.lexicon import Lexicon, make_lexicon
from diagnose.words.matching import CHOICES, Entry, Match, Setting, matches, nearly, quiet, telling
from diagnose.words.own import own_results, own_sentences, squeezed
from diagnose.words.spots import merged
from diagnose.words.tokens import Token, cleaned, tokens

MAX_WORDS = 4000  # characters of one saying
IMPLIED = (("sides", "magneto"), ("positions", "plug"))  # "left" alone is the left magneto, "bottom" a bottom plug
ONLY_WHEN = {"regime", "filler", "faint", "number", "unit", "above", "below", "sign"}  # a clause of these says when, and nothing else
MOST_WAITING = 4  # headings that wait for their sense at once
WRITTEN = re.compile(r"\S+@\S+=\S+")


def read_words(text: str, base: RuleBase, layout: Layout) -> Reading:
    """Return what a saying comes to on a layout. Raises BadInput where it is empty or longer than MAX_WORDS."""
    if len(text) > MAX_WORDS:
        raise BadInput(f"that is {len(text)} characters; {MAX_WORDS} is the most at once; say it in parts")
    plain = cleaned(text)
    if not plain.strip(" ."):
        raise BadInput('nothing was said; say what is wrong, such as "left mag drops 250 and shakes"')
    reading = _Reader(base, layout).read(plain)
    if reading == Reading():
        if not any(c.isalpha() for c in plain):
            raise BadInput(f"'{plain.strip()[:40]}' holds no words; say what is wrong, or give rpm on both, left and right: 1700 1620 1580")
        return Reading(left=(plain.strip(" ."),))
    return reading


@lru_cache(maxsize=4)
def _lexicon(key: _Key) -> tuple[Lexicon, dict[str, tuple[str, str]]]:
    return make_lexicon(key.base), own_sentences(key.base)


@lru_cache(maxsize=4)
def _results(key: _Key, layout: str) -> dict[str, str]:
    return own_results(key.base, key.base.layouts[layout])


@dataclass(frozen=True, eq=False)
class _Key:
    """A rule base as a key of the cache: by its text."""

    base: RuleBase

    def __hash__(self) -> int:
        return hash(self.base.sha256)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Key) and other.base.sha256 == self.base.sha256


@dataclass
class _Carry:
    """What goes on from clause to clause: place, condition, parts named, words that wait for their sense."""

    spot: Spot = field(default_factory=Spot)
    regimes: tuple[str, ...] = ()
    things: frozenset[str] = frozenset()
    topic: frozenset[str] = frozenset()
    waiting: list[Clause] = field(default_factory=list)
    last: list[Finding] = field(default_factory=list)
    negated: bool = False


class _Reader:
    def __init__(self, base: RuleBase, layout: Layout) -> None:
        self.base, self.layout = base, layout
        self.lexicon, self.own = _lexicon(_Key(base))
        self.results = _results(_Key(base), layout.id)
        self.entries: dict[str, Entry] = {**base.history, **base.symptoms}
        self.findings: list[Finding] = []
        self.unsure: list[tuple[str, list[Finding]]] = []
        self.ready: list[Heard] = []
        self.left: list[str] = []
        self.carry = _Carry()
        self.text = ""
        self.before = ""  # the stop before the clause at hand
        self.asked = 0  # questions before the sentence at hand

    def read(self, text: str) -> Reading:
        self.text = self._own_results(WRITTEN.sub(self._written, text))
        if not self._own_sentence():
            found = clauses(tokens(self.text, self.lexicon, self.layout.cylinders), self.base.words)
            sentence: list[Clause] = []
            for clause in found:
                sentence.append(clause)
                if clause.ends in ".;":
                    self._sentence(sentence)
                    sentence = []
            self._sentence(sentence)
        return self._reading()

    def _written(self, match: re.Match[str]) -> str:
        """Take a result written in the contract's own spelling as it stands."""
        try:
            self.ready += [Heard(str(r), match[0]) for r in read_result(match[0].strip(",;"), self.base, self.layout)]
        except BadInput:
            return match[0]
        return " "

    def _own_results(self, text: str) -> str:
        """Take sentences that read as a result of this engine reads on a screen, and return the rest of the text."""
        rest = []
        for part in text.split(";"):
            result = self.results.get(squeezed(part))
            found = readable([result], self.base, self.layout) if result else []
            if not found:
                rest.append(part)
            self.ready += [Heard(r, part.strip(" .")) for r in found]
        return ";".join(rest)

    def _own_sentence(self) -> bool:
        """Read a line that is a label or question of the program itself, with its place in brackets."""
        bare, _, behind = self.text.partition("[")
        inside, _, rest = behind.partition("]")
        meant = self.own.get(squeezed(f"{bare} {rest}"))
        if meant is None:
            return False
        said = clauses(tokens(inside, self.lexicon, self.layout.cylinders), self.base.words) if inside.strip() else []
        spot = said[0].spot if said else Spot()
        regimes = tuple(r for c in said for r in c.regimes)
        self.findings.append(Finding(meant[0], meant[1], spot, regimes, self.text.strip(" .")))
        return True

    # ---- a sentence, clause by clause -------------------------------------------------------------------------
    def _sentence(self, sentence: list[Clause]) -> None:
        if not sentence:
            return
        first, self.asked = len(self.findings), len(self.unsure)
        if not self._speeds(sentence):
            for number, clause in enumerate(sentence):
                self.before = sentence[number - 1].ends if number else ""
                if clause.ends == ":" and number + 1 < len(sentence):
                    self._wait(clause)
                elif not self._speeds([clause]):
                    self._clause(clause, first)
                    self._behind(clause, first)
        self._give_up_waiting()
        self.carry.regimes = ()
        self.carry.negated = False

    def _behind(self, clause: Clause, first: int) -> None:
        """Give a condition said with the last finding ("shakes and loses power in the climb") to those before it as well."""
        now = self.findings[-1] if len(self.findings) > first else None
        if now is None or not clause.regimes or now.regimes != clause.regimes or self._normal(now):
            return
        for i in range(first, len(self.findings) - 1):
            if not self.findings[i].regimes and "engine" in self.entries[self.findings[i].id].at and not self.findings[i].spot:
                self.findings[i] = replace(self.findings[i], regimes=clause.regimes)

    def _speeds(self, sentence: list[Clause]) -> bool:
        found = [t for c in sentence for t in c.tokens]
        results = three_speeds(found, self.base, self.layout)
        self.ready += [Heard(r, self._said(found)) for r in results]
        return bool(results)

    def _clause(self, clause: Clause, first: int) -> None:
        """Read a clause, each heading before it joined to it: by itself where there are several, else all together."""
        if not clause.names and not clause.of("number") and not clause.spot:
            return
        if clause.regimes and not clause.spot and {t.kind for t in clause.tokens} <= ONLY_WHEN and self.before != ":":
            self._condition(clause, first)
            return
        if clause.regimes and clause.of("fine") and self._elliptic(clause, self._setting(clause), first):
            return
        heads, whole = self.carry.waiting, joined([*self.carry.waiting, clause])
        tries = [[replace(joined([h, clause]), spot=whole.spot) for h in heads]] if len(heads) > 1 and not clause.of("thing") else []
        for parts in (*tries, [whole]):
            settings = [self._setting(part) for part in parts]
            groups = [matches(p, s, self.lexicon, self.entries) for p, s in zip(parts, settings, strict=True)]
            made = [self._findings(p, s, g) for p, s, g in zip(parts, settings, groups, strict=True)]
            if any(made):
                self._keep(whole, settings[-1], [m for each in made for m in each], [g for each in groups for g in each])
                return
        if not self._elliptic(clause, settings[-1], first):
            self._wait(clause, groups[-1])

    def _setting(self, clause: Clause) -> Setting:
        carry = self.carry
        above = carry.spot
        said = bool(clause.spot)
        if "engine" in clause.names and not clause.spot:
            above = Spot()
        spot = merged(clause.spot, above)
        carried = carry.things | carry.topic | {word for said, word in IMPLIED if getattr(spot, said)}
        return Setting(carried - clause.names, spot, said, clause.regimes or carry.regimes)

    def _wait(self, clause: Clause, groups: Sequence[Sequence[Match]] = ()) -> None:
        """Let a clause that says nothing yet stand as the heading of what comes."""
        self.carry.waiting = [*self.carry.waiting, clause][-MOST_WAITING:]
        if groups:
            self.carry.topic = frozenset().union(*(m.phrase.words for g in groups for m in g))

    def _give_up_waiting(self) -> None:
        """Say of every waiting clause what it may mean, or keep its words as not understood."""
        waiting, self.carry.waiting = [c for c in self.carry.waiting if c.content], []
        for clause in waiting:
            setting = self._setting(clause)
            groups = matches(clause, setting, self.lexicon, self.entries)
            made = self._findings(clause, setting, groups)
            if made:
                self._keep(clause, setting, made, groups)
            elif [t for t in clause.content if t.kind != "thing"]:
                self._ask_or_leave(clause, setting, [g for g in groups if any(telling(n, self.lexicon) for n in g[0].own)])

    # ---- what a clause says ------------------------------------------------------------------------------------
    def _findings(self, clause: Clause, setting: Setting, groups: Sequence[Sequence[Match]]) -> list[list[Finding]]:
        out = []
        for group in groups:
            said = [f for f in (self._finding(clause, setting, m) for m in group) if f is not None]
            if said:
                out.append(said)
        beside = compared(clause)
        if beside is not None:
            for ident in self.base.with_role("drop_difference"):
                more = amount(self.base.symptoms[ident], clause, self.base, self.layout)
                out += [[Finding(ident, more.grade, Spot(), (), self._said(clause.tokens))]] if more else []
        return out

    def _finding(self, clause: Clause, setting: Setting, match: Match) -> Finding | None:
        """Return what a phrase comes to: a number beats its grade, a "not" of its own turns it."""
        entry, phrase = self.entries[match.phrase.id], match.phrase
        grade, measured = phrase.grade, False
        if not isinstance(entry, History):
            counted = amount(entry, clause, self.base, self.layout)
            if counted is not None and (not grade or grade != entry.names[-1]) and compared(clause) is None:
                grade, measured = counted.grade, True
            elif phrase.bad:
                grade = every_bad(entry)
        if not grade:
            return None
        by_not = grade != "unknown" and self._negated(clause, match)
        regimes = (phrase.regime,) if phrase.regime else self._regimes(clause, match, setting)
        return Finding(
            phrase.id,
            turned(entry, grade) if by_not else grade,
            setting.spot,
            regimes,
            self._said(clause.tokens),
            doubt=bool(clause.of("maybe")),
            own_regime=bool(phrase.regime or clause.regimes),
            by_not=by_not,
            measured=measured,
        )

    def _regimes(self, clause: Clause, match: Match, setting: Setting) -> tuple[str, ...]:
        """Return the conditions said; a word the phrase itself took ("stays cold") is no condition."""
        taken = {t.regime for t in clause.of("regime") if t.regime == t.name and t.name in match.phrase.words}
        own = tuple(r for r in clause.regimes if r not in taken)
        if own or clause.regimes:
            return own
        return setting.regimes if "engine" in self.entries[match.phrase.id].at else ()

    def _negated(self, clause: Clause, match: Match) -> bool:
        """Return whether a "not" that the phrase does not hold itself stands before it, or at the clause's end."""
        if "not" in match.phrase.words:
            return False
        nots = [i for i, t in enumerate(clause.tokens) if t.kind == "not"]
        if not nots:
            alternatives = any(t.text.lower() in ("or", "nor") for t in clause.tokens)
            return self.carry.negated and alternatives
        mine = [i for i, t in enumerate(clause.tokens) if t.name in match.own]
        content = [i for i, t in enumerate(clause.tokens) if not quiet(t)]
        return not mine or nots[0] < max(mine) or nots[-1] > max(content, default=-1)

    def _keep(self, clause: Clause, setting: Setting, made: list[list[Finding]], groups: Sequence[Sequence[Match]]) -> None:
        carry = self.carry
        now: list[Finding] = []
        for said in self._not_echoes(made, groups):
            same_sense = all(self._normal(f) or f.grade == "unknown" for f in said) or len({f.id for f in said}) == 1
            history = all(f.id in self.base.history for f in said)
            if len(said) == 1 or same_sense or history or all(f.measured for f in said):
                now += said
            else:
                self.unsure.append((said[0].words, said))
        self.findings += now
        used = frozenset(name for g in groups for m in g for name in m.phrase.words)
        self._leave_rest([clause], used)
        nots = bool(clause.of("not"))
        things = frozenset(t.name for t in clause.of("thing"))
        topic = frozenset().union(*(p.words for g in groups for m in g for p in self._abouts(m, clause.names | setting.carried)))
        self.carry = _Carry(
            spot=setting.spot,
            regimes=clause.regimes or carry.regimes,
            things=(things or carry.things) - {"engine"},
            topic=topic,
            last=now or carry.last,
            negated=nots and all(self._normal(f) for f in now),
        )

    def _not_echoes(self, made: list[list[Finding]], groups: Sequence[Sequence[Match]]) -> list[list[Finding]]:
        """Leave out a bare "normal" about what was just called wrong of the same place: it is of something else."""
        bare = {m.phrase.id for g in groups for m in g if m.own and {self.lexicon.kind(n) for n in m.own} <= {"fine"}}
        last = {(f.id, _place(f)) for f in self.carry.last if not self._normal(f)}
        kept = ([f for f in said if f.id not in bare or (f.id, _place(f)) not in last] for said in made)
        return [said for said in kept if said]

    def _abouts(self, match: Match, names: frozenset[str]) -> list:  # type: ignore[type-arg]
        """Return the names of the same symptom that were said: what a "fine" in the next clause is about."""
        mine = {p for n in match.phrase.words for p in self.lexicon.phrases.get(n, ()) if p.id == match.phrase.id and not p.grade}
        return [p for p in mine if p.words <= names]

    def _normal(self, finding: Finding) -> bool:
        entry = self.entries[finding.id]
        return not isinstance(entry, History) and finding.grade == entry.names[0]

    # ---- clauses that lean on the one before -------------------------------------------------------------------
    def _elliptic(self, clause: Clause, setting: Setting, first: int) -> bool:
        """Read "none", "fine above 2000", "right too": what was said before, of another place, condition or grade."""
        if clause.content:
            return False
        kinds = {t.kind for t in clause.tokens}
        last = self.carry.last
        if not last or self.carry.waiting:
            return False
        if kinds & {"not"} and not clause.spot and not clause.regimes and self.before in (",", ":"):
            self.findings = [f if f not in last else replace(f, grade=turned(self.entries[f.id], f.grade)) for f in self.findings]
            return True
        if not clause.spot and not (clause.regimes and kinds & {"fine", "not", "bad"}):
            return False
        if clause.regimes:
            last = [f for f in self.findings[first:] if not self._normal(f)] or last
        self._again(clause, setting, last, bool(kinds & {"fine", "not"}))
        return True

    def _condition(self, clause: Clause, first: int) -> None:
        """Give a condition said by itself to what the sentence found before it, and to what comes."""

        def under(found: Finding) -> Finding:
            open_ = not found.regimes or (found.regimes == ("any",) and clause.regimes != ("any",))
            return replace(found, regimes=clause.regimes, own_regime=True) if open_ else found

        self.findings[first:] = [under(f) for f in self.findings[first:]]
        self.unsure[self.asked :] = [(words, [under(f) for f in said]) for words, said in self.unsure[self.asked :]]
        self.carry.regimes = clause.regimes
        if not self.carry.waiting:
            self.carry.topic |= frozenset(t.name for t in clause.of("regime"))

    def _again(self, clause: Clause, setting: Setting, last: Sequence[Finding], sound: bool) -> None:
        now = []
        for before in last:
            entry = self.entries[before.id]
            if isinstance(entry, History):
                continue
            grade = entry.names[0] if sound else before.grade
            counted = amount(entry, clause, self.base, self.layout)
            regimes = clause.regimes or before.regimes
            if clause.regimes and not set(clause.regimes) & {*entry.regimes, "any"}:
                continue
            now.append(
                replace(
                    before, grade=counted.grade if counted else grade, spot=setting.spot, regimes=regimes, words=self._said(clause.tokens)
                )
            )
        self.findings += now
        self.carry.spot = setting.spot
        self.carry.last = now or self.carry.last

    # ---- what is asked, what is left ----------------------------------------------------------------------------
    def _ask_or_leave(self, clause: Clause, setting: Setting, groups: Sequence[Sequence[Match]]) -> None:
        words = self._said(clause.tokens[next((i for i, t in enumerate(clause.tokens) if t.kind != "filler"), 0) :])
        choices: list[Finding] = []
        for group in groups:
            for match in group:
                entry = self.entries[match.phrase.id]
                if not isinstance(entry, History):
                    choices += [Finding(entry.id, g, setting.spot, clause.regimes, words) for g in entry.names[1:]]
        if not choices:
            near = nearly(clause, setting, self.lexicon, self.entries)
            choices = [Finding(p.id, p.grade, setting.spot, clause.regimes, words) for p in near]
        if choices:
            self.unsure.append((words, choices[:CHOICES]))
        else:
            self.left.append(words)

    def _leave_rest(self, said: Sequence[Clause], used: frozenset[str]) -> None:
        """Keep the words of clauses that were read but for a few."""
        for clause in said:
            run: list[Token] = []
            for token in (*clause.tokens, None):
                if token is not None and not quiet(token) and token.kind not in ("thing", "regime") and token.name not in used:
                    run.append(token)
                elif run:
                    self.left.append(self._said(run))
                    run = []

    def _said(self, found: Sequence[Token]) -> str:
        """Return the text from the first to the last of some tokens, as it was written."""
        return self.text[found[0].start : found[-1].end].strip() if found else ""

    # ---- the answer -----------------------------------------------------------------------------------------------
    def _reading(self) -> Reading:
        heard = list(self.ready)
        unsure: list[Unsure] = []
        wrong = {(f.id, _place(f)) for f in self.findings if not self._normal(f) and f.id in self.base.symptoms}
        for finding in self.findings:
            if finding.by_not and self._normal(finding) and (finding.id, _place(finding)) in wrong:
                continue  # "some sand, no water": one way of it denied, another seen
            results, choose = finding.results(self.base, self.layout)
            if not results:
                self.left.append(finding.words)
            elif finding.doubt or choose:
                other = (
                    []
                    if choose
                    else replace(finding, grade=turned(self.entries[finding.id], finding.grade)).results(self.base, self.layout)[0]
                )
                unsure.append(Unsure(finding.words, tuple([*results, *other][:CHOICES])))
            else:
                heard += [Heard(r, finding.words) for r in results]
        for words, said in self.unsure:
            choices = tuple(dict.fromkeys(r for f in said for r in f.results(self.base, self.layout)[0][:1]))[:CHOICES]
            if len(choices) > 0:
                unsure.append(Unsure(words, choices))
        return settled(heard, unsure, self.left)


def _place(finding: Finding) -> tuple[tuple[str, ...], tuple[int, ...], tuple[str, ...]]:
    return finding.spot.sides, finding.spot.cylinders, finding.spot.positions
