"""How much of the accounts' own words is read: `python -m tests.words.measure`; `--each` prints every phrase."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from diagnose import loaded
from diagnose.places import Layout
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.results import read_result
from diagnose.words.heard import Reading
from diagnose.words.reading import read_words

HERE = Path(__file__).parent
# Course and what changed it came into the vocabulary after the phrases had been said by hand: neither asked for nor judged here.
NOT_JUDGED = tuple(
    (yaml.safe_load((Path(__file__).parents[2] / "rulebase" / "says_course.yaml").read_text(encoding="utf-8"))["says"]),
)
ACCOUNTS = HERE.parent / "real" / "accounts.yaml"


@dataclass(frozen=True)
class Phrase:
    """One phrase of an account: its words as written, what should be read from it, what may be."""

    account: str
    part: str
    words: str
    layout: str
    wanted: tuple[str, ...]
    also: tuple[str, ...]


@dataclass(frozen=True)
class Score:
    """What one phrase came to: each wanted result right, among the choices, or missed; and what was read wrongly."""

    phrase: Phrase
    right: tuple[str, ...]
    choice: tuple[str, ...]
    missed: tuple[str, ...]
    wrong: tuple[str, ...]
    read: set[tuple[str, str]]
    reading: Reading


def phrases(form: str = "{what}: {value}, {when}") -> Iterator[Phrase]:
    """Yield every phrase of the accounts, an observation as what, value and when."""
    accounts: Mapping[str, Any] = yaml.safe_load(ACCOUNTS.read_text(encoding="utf-8"))["accounts"]
    said: Mapping[str, Any] = yaml.safe_load((HERE / "accounts_said.yaml").read_text(encoding="utf-8"))["said"]
    for ident, account in accounts.items():
        told = {"told": account["told"], **{str(i): form.format(**o) for i, o in enumerate(account.get("observations", ()), 1)}}
        mine = {str(k): v for k, v in said.get(ident, {}).items()}
        also = {str(k): v for k, v in mine.get("also", {}).items()}
        for part, words in told.items():
            yield Phrase(ident, part, words, account["entered"]["layout"], tuple(mine.get(part, ())), tuple(also.get(part, ())))


def score(phrase: Phrase, base: RuleBase) -> Score:
    """Return how a phrase is read."""
    layout = base.layouts[phrase.layout]
    reading = read_words(phrase.words, base, layout)
    heard = [h.result for h in reading.understood]
    offered = [c for u in reading.unsure for c in u.choices]
    right, choice, missed, good = [], [], [], set[str]()
    for wanted in phrase.wanted:
        ways = [_meant(text.strip(), base, layout) for text in wanted.split(" / ")]
        good |= {r for way in ways for r in way}
        if any(set(way) <= set(heard) for way in ways):
            right.append(wanted)
        elif any(set(way) <= {*heard, *offered} or (way and way[0] in offered) for way in ways):
            choice.append(wanted)
        else:
            missed.append(wanted)
    units = {(_kind(h.result), h.words) for h in reading.understood}
    wrong = {
        (_kind(h.result), h.words)
        for h in reading.understood
        if h.result not in good and not any(h.result.startswith((f"{a}.", f"{a}@")) for a in (*phrase.also, *NOT_JUDGED))
    }
    return Score(phrase, tuple(right), tuple(choice), tuple(missed), tuple(sorted(w[0] for w in wrong)), units, reading)


def _kind(result: str) -> str:
    """Return a result without its place: what is said of eight plugs at once is one thing said."""
    return re.sub(r"@.*=", "=", result)


def _meant(text: str, base: RuleBase, layout: Layout) -> list[str]:
    if text.partition("@")[2].startswith("some") and text.endswith(("=no", "=normal")):  # a normal result has no `some`: each place
        text = text.replace("@some", "@all")
    return [str(r) for r in read_result(text, base, layout)]


def totals(scores: Sequence[Score]) -> dict[str, int]:
    """Return the counts: wanted results right, among choices, missed; results read wrongly, and all that were read."""
    out = {name: sum(len(getattr(s, name)) for s in scores) for name in ("right", "choice", "missed", "wrong")}
    return {**out, "read": sum(len(s.read) for s in scores)}


def main() -> None:
    """Print the totals, and with --each or --bad the phrases."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", action="store_true")
    parser.add_argument("--bad", action="store_true")
    parser.add_argument("--form", default="{what}: {value}, {when}")
    args = parser.parse_args()
    base = loaded.rulebase()
    scores = [score(p, base) for p in phrases(args.form)]
    for s in scores:
        if args.each or (args.bad and (s.missed or s.wrong or s.choice)):
            print(f"{s.phrase.account} {s.phrase.part}: {s.phrase.words}")
            for name in ("right", "choice", "missed", "wrong"):
                if getattr(s, name):
                    print(f"    {name}: {', '.join(getattr(s, name))}")
            for u in s.reading.unsure:
                print(f"    asked: {u.words!r} {u.choices}")
            print(f"    left: {s.reading.left}")
    t = totals(scores)
    wanted = t["right"] + t["choice"] + t["missed"]
    share = {k: f"{t[k]} ({100 * t[k] / wanted:.1f} %)" for k in ("right", "choice", "missed")}
    print(f"{wanted} wanted: {share}; wrong {t['wrong']} of {t['read']} read ({100 * t['wrong'] / t['read']:.1f} %)")


if __name__ == "__main__":
    main()
