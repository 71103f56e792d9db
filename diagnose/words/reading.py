"""The reader: a line of plain language to results, questions, and words not understood."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from diagnose.places import Layout
from diagnose.problems import BadInput
from diagnose.rulebase.records import History, RuleBase, Symptom
from diagnose.words.amounts import amount, compared, three_speeds
from diagnose.words.answer import answer, place_of
from diagnose.words.carry import Carry
from diagnose.words.choices import choices
from diagnose.words.clauses import Clause, Spot, clauses, joined
from diagnose.words.finding import Finding, every_bad, readable, turned
from diagnose.words.heard import Heard, Reading
from diagnose.words.here import Here
from diagnose.words.known import lexicon_of, parts_of, results_of
from diagnose.words.leftover import leftover, mostly_unread
from diagnose.words.lexicon import Phrase
from diagnose.words.match import Entry, Match, telling
from diagnose.words.matching import OTHER_SIDE, Setting, gave, matches
from diagnose.words.own import squeezed
from diagnose.words.scope import denied, earlier, half_read, in_doubt, numbered, other_way
from diagnose.words.series import find_series, is_name_of
from diagnose.words.spots import other_side
from diagnose.words.tokens import Token, cleaned, tokens
from diagnose.words.verbatim import taken

MAX_WORDS = 4000  # characters of one saying
ONLY_WHEN = {"regime", "filler", "faint", "number", "unit", "above", "below", "sign"}  # a clause of these says when, and nothing else
ALONE = ("idle", "cruise_lean", "high_power", "altitude")  # with no more than "ok": the engine runs well then
SAYS = ("number", "fine", "bad", "not")  # kinds that are never dropped without a word
MOST_WAITING = 4  # headings that wait for their sense at once


def read_words(text: str, base: RuleBase, layout: Layout, here: Here | None = None) -> Reading:
    """Return what a saying comes to on a layout, said at a check (`here`) or at none.

    Raises BadInput where it is empty or longer than MAX_WORDS.
    """
    if len(text) > MAX_WORDS:
        raise BadInput(f"that is {len(text)} characters; {MAX_WORDS} is the most at once; say it in parts")
    plain = cleaned(text)
    if not plain.strip(" ."):
        raise BadInput('nothing was said; say what is wrong, such as "left mag drops 250 and shakes"')
    reading = _Reader(base, layout, here or Here()).read(plain)
    if not (reading.understood or reading.unsure or any(c.isalpha() for c in plain)):
        raise BadInput(f"'{plain.strip()[:40]}' holds no words; say what is wrong, or: both 1700, left 1620, right 1580")
    return reading if reading != Reading() else Reading(left=(plain.strip(" ."),))


class _Reader:
    def __init__(self, base: RuleBase, layout: Layout, here: Here) -> None:
        self.base, self.layout, self.here = base, layout, here
        self.lexicon, self.own = lexicon_of(base)
        self.results = results_of(base, layout.id)
        self.entries: dict[str, Entry] = {**base.history, **base.symptoms}
        self.findings: list[Finding] = []
        self.unsure: list[tuple[str, list[Finding]]] = []
        self.ready: list[Heard] = []
        self.left: list[str] = []
        self.carry = Carry(spot=here.spot)
        self.counted: set[int] = set()  # where the numbers stand that a grade came from
        self.implied = self.here.things | parts_of(here.ids, base, self.lexicon)
        self.text = ""
        self.before = ""  # the stop before the clause at hand
        self.asked = 0  # questions before the sentence at hand

    def read(self, text: str) -> Reading:
        self.text, self.ready = taken(text, self.results, self.base, self.layout)
        if not self._own_sentence():
            named = tokens(self.text, self.lexicon, self.layout.cylinders, "cylinder" in self.here.things)
            found = clauses(self._without_series(named), self.base.words)
            sentence: list[Clause] = []
            for clause in found:
                sentence.append(clause)
                if clause.ends in ".;":
                    self._sentence(sentence)
                    sentence = []
            self._sentence(sentence)
        return answer(self.findings, self.unsure, self.ready, self.left, self.base, self.layout)

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
        if now is None or not clause.regimes or now.regimes != clause.regimes or self._normal(now) or self._timeless(now):
            return
        for i in range(first, len(self.findings) - 1):
            if self._normal(self.findings[i]):
                continue  # "no roughness, down on power at full throttle": the one is of no roughness
            if not self.findings[i].regimes and "engine" in self.entries[self.findings[i].id].at and not self.findings[i].spot:
                self.findings[i] = replace(self.findings[i], regimes=clause.regimes)

    def _without_series(self, found: list[Token]) -> list[Token]:
        """Take rows of numbers, each judged by itself, and return the other tokens; a row nobody can judge is kept as said."""
        out, at = [], 0
        for row in find_series(found, self.base, self.layout, self.lexicon, self.here.ids):
            words = self._said(found[row.start : row.end])
            self.carry.topic |= {t.name for t in found[row.start : row.start + 1] if t.kind == "thing"}
            self.ready += [Heard(r, words) for r in readable(row.results, self.base, self.layout)]
            if not row.results:
                self.left.append(words)
            out += [*found[at : row.start], Token(",", ",", "stop")]
            out += [Token(row.last, "place", "place", number=float(row.last), start=found[row.end].start)] if row.last else []
            at = row.end
        return [*out, *found[at:]]

    def _timeless(self, finding: Finding) -> bool:
        entry = self.entries[finding.id]
        return isinstance(entry, History) or entry.regimes == ("static",)

    def _speeds(self, sentence: list[Clause]) -> bool:
        found = [t for c in sentence for t in c.tokens]
        results = three_speeds(found, self.base, self.layout)
        self.ready += [Heard(r, self._said(found)) for r in results]
        return bool(results)

    def _clause(self, clause: Clause, first: int) -> None:
        """Read a clause, each heading before it joined to it: by itself where there are several, else all together."""
        if not (clause.names or clause.of("number") or clause.spot):
            return
        only_when = {t.kind for t in clause.tokens} <= ONLY_WHEN and not (clause.of("number") and any(f.measured for f in self.carry.last))
        if clause.regimes and not clause.spot and only_when and self.before != ":":
            self._condition(clause, first)
            return
        if (clause.regimes or self._only_a_side(clause)) and clause.of("fine") and self._elliptic(clause, self._setting(clause), first):
            return
        if self._gone_on_a_side(clause):
            return
        if clause.spot.other and any(h.of("number") for h in self.carry.waiting):  # a number of one is none of the others
            self._give_up_waiting()
        heads, whole = self.carry.waiting, joined([*self.carry.waiting, clause])
        titled = bool(heads) and heads[-1].ends == ":"
        tries = (
            [[replace(joined([h, clause], titled), spot=whole.spot) for h in heads]] if len(heads) > 1 and not clause.of("thing") else []
        )
        for parts in (*tries, [whole]):
            settings = [self._setting(part) for part in parts]
            groups = [matches(p, s, self.lexicon, self.entries) for p, s in zip(parts, settings, strict=True)]
            made = [self._findings(p, s, g) for p, s, g in zip(parts, settings, groups, strict=True)]
            if any(made):
                said = [g for each in groups for g in each]
                idle = [h for h in heads if not gave(h, clause, said)]
                self._give_up(idle)  # each where it was said: the place of what follows is not its own
                self._keep(joined([*(h for h in heads if h not in idle), clause]), settings[-1], [m for each in made for m in each], said)
                return
        if not self._elliptic(clause, settings[-1], first):
            self._wait(clause, groups[-1])

    def _only_a_side(self, clause: Clause) -> bool:
        """Return whether a clause says no more than that one side is fine, after what was found on the other."""
        other = {t.kind for t in clause.tokens} - {"side", "fine", "filler", "faint"}
        return len(clause.spot.sides) == 1 and not other and any("side" in self.entries[f.id].at for f in self.carry.last)

    def _setting(self, clause: Clause) -> Setting:
        return self.carry.setting(clause, self.here, self.implied)

    def _wait(self, clause: Clause, groups: Sequence[Sequence[Match]] = ()) -> None:
        """Let a clause that says nothing yet stand as the heading of what comes."""
        self.left += [self._said(c.tokens) for c in self.carry.waiting[: 1 - MOST_WAITING] if len(self.carry.waiting) == MOST_WAITING]
        self.carry.waiting = [*self.carry.waiting, clause][-MOST_WAITING:]
        if groups:
            self.carry.topic = frozenset().union(*(m.phrase.words for g in groups for m in g))

    def _give_up_waiting(self) -> None:
        waiting, self.carry.waiting = self.carry.waiting, []
        self._give_up(waiting)

    def _give_up(self, waiting: Sequence[Clause]) -> None:
        """Say of every waiting clause what it may mean, or keep its words as not understood."""
        for clause in [c for c in waiting if c.content or any(c.of(kind) for kind in (*SAYS, "regime"))]:
            setting = self._setting(clause)
            groups = matches(clause, setting, self.lexicon, self.entries)
            made = self._findings(clause, setting, groups)
            if made:
                self._keep(clause, setting, made, groups)
            elif [t for t in clause.content if t.kind != "thing"] or any(clause.of(kind) for kind in SAYS):
                self._ask_or_leave(clause, setting, [g for g in groups if any(telling(n, self.lexicon) for n in g[0].own)])
            elif clause.of("regime"):
                self.left.append(self._said(clause.tokens))

    # ---- what a clause says ------------------------------------------------------------------------------------
    def _findings(self, clause: Clause, setting: Setting, groups: Sequence[Sequence[Match]]) -> list[list[Finding]]:
        out = []
        used = frozenset(name for g in groups for m in g if m.phrase.grade for name in m.phrase.words | m.also)
        for group in groups:
            said = [f for f in (self._finding(clause, setting, m, used) for m in group) if f is not None]
            if said:
                out.append(said)
        out += self._beside(clause, setting, {f.id for said in out for f in said})
        return out

    def _beside(self, clause: Clause, setting: Setting, found: set[str]) -> list[list[Finding]]:
        """Return what a number says beside the words: "100 more than left", and the drop itself in "drop 180 both sides equal"."""
        more = compared(clause) is not None
        bare = all(t.name == "magneto" for t in clause.of("thing"))  # an EGT that drops is no drop of a magneto
        out = []
        for ident in self.base.with_role("drop_difference" if more else "mag_drop"):
            named = more or (found and bare and any(t.kind == "word" and is_name_of(t, ident, self.lexicon) for t in clause.tokens))
            counted = amount(self.base.symptoms[ident], clause, self.base, self.layout) if named and ident not in found else None
            if counted is not None:
                self.counted |= {t.start for t in counted.used}
                spot = Spot() if more else setting.spot
                out.append([Finding(ident, counted.grade, spot, (), self._said(clause.tokens), clause.doubted, measured=True)])
        return out

    def _finding(self, clause: Clause, setting: Setting, match: Match, used: frozenset[str]) -> Finding | None:
        """Return what a phrase comes to: a number beats its grade, a "not" of its own turns it."""
        entry, phrase = self.entries[match.phrase.id], match.phrase
        grade, counts = self._grade(clause, match)
        if not grade:
            return None
        by_not = grade != "unknown" and denied(clause, match, self.carry.negated)
        regimes = (phrase.regime,) if phrase.regime else self._regimes(clause, match, setting)
        unsaid = not (phrase.regime or clause.regimes) and other_way(match, self.carry.last, self.entries)
        regimes = () if unsaid else regimes
        doubt = unsaid or (entry.id not in self.here.ids and in_doubt(clause, match, used, self.carry.last, self.lexicon, self.entries))
        if entry.id in self.here.ids:
            regimes = regimes or self.here.regimes
        return Finding(
            phrase.id,
            turned(entry, grade) if by_not else grade,
            self._spot(entry, phrase, setting),
            regimes,
            self._said(clause.tokens),
            doubt=doubt or clause.doubted,
            own_regime=bool(phrase.regime or clause.regimes),
            by_not=by_not,
            measured=counts,
        )

    def _grade(self, clause: Clause, match: Match) -> tuple[str, bool]:
        """Return the grade a phrase comes to with the numbers beside it, and whether it came from one of them."""
        entry, grade = self.entries[match.phrase.id], match.phrase.grade
        if isinstance(entry, History):
            return grade, False
        counted = amount(entry, clause, self.base, self.layout, grade)
        beats = counted is not None and grade != entry.names[-1] and compared(clause) is None
        if counted is not None and (beats or counted.grade == grade):
            self.counted |= {t.start for t in counted.used}
            return counted.grade, beats
        return every_bad(entry) if match.phrase.bad else grade, False

    def _spot(self, entry: Entry, phrase: Phrase, setting: Setting) -> Spot:
        """Return where a finding is: what a check does not look at is of the engine, unless its place was said."""
        foreign = self.here.ids and entry.id not in self.here.ids and (isinstance(entry, History) or "engine" in entry.at)
        if foreign and not setting.said_spot and setting.spot == self.here.spot:
            return Spot()
        return other_side(setting.spot) if phrase.told == OTHER_SIDE else setting.spot

    def _regimes(self, clause: Clause, match: Match, setting: Setting) -> tuple[str, ...]:
        """Return the conditions said; a word the phrase itself took ("stays cold") is no condition."""
        taken = {t.regime for t in clause.of("regime") if t.regime == t.name and t.name in match.phrase.words}
        own = tuple(r for r in clause.regimes if r not in taken)
        if own or clause.regimes:
            return own
        return setting.regimes if "engine" in self.entries[match.phrase.id].at else ()

    def _keep(self, clause: Clause, setting: Setting, made: list[list[Finding]], groups: Sequence[Sequence[Match]]) -> None:
        carry = self.carry
        now: list[Finding] = []
        made = self._not_echoes(made, groups)
        if not made:
            return
        for said in made:
            same_sense = all(self._normal(f) or f.grade == "unknown" for f in said) or len({f.id for f in said}) == 1
            history = all(f.id in self.base.history for f in said)
            if len(said) == 1 or same_sense or history or all(f.measured for f in said):
                now += said
            else:
                self.unsure.append((said[0].words, said))
        used = frozenset(name for g in groups for m in g for name in m.phrase.words | m.also)
        self.findings += [replace(f, doubt=True) if self._doubted(clause, used, f) else f for f in now]
        self._leave_rest(clause, used)
        things = frozenset(t.name for t in clause.of("thing"))
        topic = frozenset().union(*(p.words for g in groups for m in g for p in self._abouts(m, clause.names | setting.carried)))
        self.carry = Carry(
            spot=setting.spot,
            regimes=tuple(r for r in clause.regimes if r not in used) or carry.regimes,
            things=(things or carry.things) - {"engine"},
            topic=topic,
            last=now or carry.last,
            negated=bool(clause.of("not")) and all(self._normal(f) for f in now),
        )

    def _doubted(self, clause: Clause, used: frozenset[str], found: Finding) -> bool:
        """Return whether too much of a clause was not read: for what is called in order, any word, for it is never assumed."""
        sound = self._normal(found) and self.base.symptoms[found.id].kind != "course"
        elsewhere = not clause.spot.cylinders and numbered(clause, self.layout.cylinders) and (found.spot or found.spot.plural)
        narrower = sound and clause.spot.cylinders and not {"circuit", "cylinder"} & set(self.entries[found.id].at)
        unread = mostly_unread(clause, used) or (sound and (half_read(clause, used) or earlier(clause)))
        return not found.measured and bool(elsewhere or narrower or unread)

    def _not_echoes(self, made: list[list[Finding]], groups: Sequence[Sequence[Match]]) -> list[list[Finding]]:
        """Leave out a bare "normal" about what was just called wrong of the same place: it is of something else."""
        bare = {m.phrase.id for g in groups for m in g if m.own and {self.lexicon.kind(n) for n in m.own} <= {"fine"}}
        wrong = {(f.id, place_of(f)) for f in self.findings if not self._normal(f)}
        kept = [[f for f in said if f.id not in bare or (f.id, place_of(f)) not in wrong] for said in made]
        self.left += dict.fromkeys(f.words for said, rest in zip(made, kept, strict=True) if not rest for f in said)
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
        if self.carry.waiting or not last:
            return not self.carry.waiting and self._runs_fine(clause)
        if kinds & {"not"} and not clause.spot and not clause.regimes and self.before in (",", ":"):
            self.findings = [f if f not in last else replace(f, grade=turned(self.entries[f.id], f.grade)) for f in self.findings]
            return True
        if not clause.spot and not (clause.regimes and kinds & {"fine", "not", "bad"}):
            return False
        if clause.regimes:
            last = [f for f in self.findings[first:] if not self._normal(f)] or last
        self._again(clause, setting, last, bool(kinds & {"fine", "not"}))
        return True

    def _gone_on_a_side(self, clause: Clause) -> bool:
        """Read "goes away on the right": it is not there on that magneto; whether it is on the other is asked."""
        if not clause.of("gone") or len(clause.spot.sides) != 1 or [t for t in clause.content if t.kind != "gone" and t.name != "magneto"]:
            return False
        last = [f for f in self.carry.last if f.id in self.base.symptoms and not self._normal(f) and "side" in self.base.symptoms[f.id].at]
        for found in last:
            words, spot = self._said(clause.tokens), replace(Spot(), sides=clause.spot.sides)
            self.findings.append(replace(found, grade=self.base.symptoms[found.id].names[0], spot=spot, words=words))
            if not found.spot.sides:
                self.unsure.append((words, [replace(found, spot=other_side(spot), words=words)]))
        return bool(last)

    def _condition(self, clause: Clause, first: int) -> None:
        """Give a condition said by itself to what the sentence found before it, and to what comes."""

        def under(found: Finding) -> Finding:
            open_ = not found.regimes or (found.regimes == ("any",) and clause.regimes != ("any",))
            return replace(found, regimes=clause.regimes, own_regime=True) if open_ else found

        self.findings[first:] = [under(f) for f in self.findings[first:]]
        self.unsure[self.asked :] = [(words, [under(f) for f in said]) for words, said in self.unsure[self.asked :]]
        self.carry.regimes = clause.regimes
        self._leave_rest(clause, clause.names)
        if not self.carry.waiting:
            self.carry.topic |= frozenset(t.name for t in clause.of("regime"))

    def _again(self, clause: Clause, setting: Setting, last: Sequence[Finding], sound: bool) -> None:
        now: list[Finding] = []
        for before in last:
            entry = self.entries[before.id]
            if isinstance(entry, Symptom) and entry.role == "no_drop" and self._drop_of(clause, before, setting, now):
                continue
            if isinstance(entry, History):
                continue
            grade = entry.names[0] if sound else before.grade
            counted = amount(entry, clause, self.base, self.layout)
            if counted is None and not sound and clause.of("number"):
                continue  # "valve 5 leaking, others 72-76": a number of something else
            self.counted |= {t.start for t in counted.used} if counted else set()
            regimes = clause.regimes or before.regimes
            if clause.regimes and not set(clause.regimes) & {*entry.regimes, "any"}:
                continue
            grade, own = counted.grade if counted else grade, before.own_regime or bool(clause.regimes)
            words = self._said(clause.tokens)
            now.append(replace(before, grade=grade, spot=setting.spot, regimes=regimes, words=words, own_regime=own))
        self.findings += now
        if not now and not self._runs_fine(clause):
            self.left.append(self._said(clause.tokens))
        self._leave_rest(clause, clause.names)
        self.carry.spot = setting.spot
        self.carry.last = now or self.carry.last

    def _runs_fine(self, clause: Clause) -> bool:
        """Read "idles ok": no more than a condition of the running engine and that it is fine then."""
        if not clause.of("fine") or clause.spot or len(clause.regimes) != 1:
            return False
        for ident in self.base.with_role("rough"):
            symptom = self.base.symptoms[ident]
            if clause.regimes[0] in symptom.regimes and clause.regimes[0] in ALONE:
                self.findings.append(Finding(ident, symptom.names[0], Spot(), clause.regimes, self._said(clause.tokens)))
                return True
        return False

    def _drop_of(self, clause: Clause, before: Finding, setting: Setting, now: list[Finding]) -> bool:
        """Read the number after "no drop on the right, 100 on the left" as a drop."""
        for ident in self.base.with_role("mag_drop"):
            counted = amount(self.base.symptoms[ident], clause, self.base, self.layout)
            if counted is not None:
                self.counted |= {t.start for t in counted.used}
                now.append(replace(before, id=ident, grade=counted.grade, spot=setting.spot, words=self._said(clause.tokens)))
        return bool(now)

    def _ask_or_leave(self, clause: Clause, setting: Setting, groups: Sequence[Sequence[Match]]) -> None:
        words = self._said(clause.tokens[next((i for i, t in enumerate(clause.tokens) if t.kind != "filler"), 0) :])
        found = choices(clause, setting, groups, words, self.lexicon, self.entries, self.base, self.here)
        if found:
            self.unsure.append((words, found))
        else:
            self.left.append(words)

    def _leave_rest(self, clause: Clause, used: frozenset[str]) -> None:
        """Keep the words of a clause that was read but for a few, and the numbers that no grade came from."""
        self.left += [self._said(run) for run in leftover(clause, used, self.counted)]

    def _said(self, found: Sequence[Token]) -> str:
        """Return the text from the first to the last of some tokens, as it was written."""
        return self.text[found[0].start : found[-1].end].strip() if found else ""
