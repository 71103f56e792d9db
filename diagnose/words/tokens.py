"""A text as named words: spellings and misspellings resolved, numbers with their units, cylinders told from amounts."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import takewhile

from diagnose.words.lexicon import SHORTEST_GUESSED, Lexicon, name_of, spelled, stem

# A number: 1,700 or 0.022 or .022; a word, also with an apostrophe; or one sign.
PIECE = re.compile(r"\d+(?:,\d{3})+(?!\d)|\d*\.\d+|\d+|[^\W\d_]+(?:'[^\W\d_]+)*|\S")
STOPS = {",": ",", ";": ";", ".": ".", ":": ":", "(": ",", ")": ",", "!": ".", "?": "."}
AIRFRAME = ("turn", "turns", "bank", "wing", "tank", "tanks", "seat", "brake", "main", "tire", "tyre", "door", "aileron")
PLACED = ("place", "side", "position", "cylinder", "count")
LONG_WORD = 8  # two letters may be wrong in a word of so many, one in a shorter one


@dataclass(frozen=True)
class Token:
    """One word or number with the text it came from. `kind` `stop`: the end of a clause, `name` says of which sort."""

    text: str
    name: str
    kind: str
    number: float | None = None
    unit: str = ""
    start: int = 0
    end: int = 0
    guessed: bool = False
    regime: str = ""


def cleaned(text: str) -> str:
    """Return a text in one normal form, with every control character as a space."""
    normal = unicodedata.normalize("NFKC", text)
    return (
        "".join(" " if unicodedata.category(c)[0] in "CZ" and c != "\n" else c for c in normal).replace("\u2019", "'").replace("\n", " . ")
    )


def tokens(text: str, lexicon: Lexicon, cylinders: int, bare: bool = False) -> list[Token]:
    """Return the tokens of a cleaned text on an engine of so many cylinders; `bare`: they go by their number alone ("1 cold")."""
    lower = text.lower() if len(text.lower()) == len(text) else text  # a few letters change length; then places must still fit
    lower = re.sub(r"(?<=\b(?:no|nr))\.(?=\d)", " ", lower)  # "no.2" is no .2
    lower = re.sub(r"(?<=\d\s)[-\u2013\u2014](?=\s\d)", " ", lower)  # "1 - 76, 2 - 74" goes on
    lower = re.sub(r"(?<=\s)[-\u2013\u2014]+(?=\s)", ";", lower)
    found = [(m.group(), m.start(), m.end()) for m in PIECE.finditer(lower)]
    found = [f for f in found if f[0] not in "-\u2013" or not _joins_letters(lower, f[1])]
    parts = [piece for piece, _, _ in found]
    made: list[Token] = []
    at = 0
    while at < len(parts):
        size, token = _attached(found, at, lexicon, cylinders) or _token(parts, at, lexicon)
        made.append(replace(token, text=text[found[at][1] : found[at + size - 1][2]], start=found[at][1], end=found[at + size - 1][2]))
        at += size
    return _listed(_numbered(_of_twins(made), cylinders, bare, lexicon.numbered))


def _of_twins(made: list[Token]) -> list[Token]:
    """Return tokens without the "left" of "left engine" or "left turn" and the "2" of "#2 engine": no places on an engine."""
    named = [i for i, t in enumerate(made) if i and (t.name == "engine" or (t.text.lower() in AIRFRAME and made[i - 1].kind == "side"))]
    which = {i - 1 for i in named if made[i - 1].kind in ("side", "number")}
    return [replace(t, kind="filler", name="the", number=None) if i in which else t for i, t in enumerate(made)]


def _joins_letters(text: str, at: int) -> bool:
    """Return whether a hyphen stands between letters, as in run-up: there it is a space."""
    return 0 < at < len(text) - 1 and text[at - 1].isalpha() and text[at + 1].isalpha()


def _attached(found: Sequence[tuple[str, int, int]], at: int, lexicon: Lexicon, cylinders: int) -> tuple[int, Token] | None:
    """Return the cylinder or the position of a plug written as one, 3B: a number with a letter right behind it."""
    for number, letter in ((at, at + 1), (at - 1, at)):
        if number < 0 or letter >= len(found) or found[number][2] != found[letter][1] or found[letter][0] not in lexicon.initials:
            continue
        if found[number][0].isascii() and found[number][0].isdigit() and 1 <= int(found[number][0]) <= cylinders:
            if at == number:
                return 1, Token(found[at][0], "place", "place", number=float(found[at][0]))
            return 1, Token(found[at][0], lexicon.initials[found[at][0]], "position")
    return None


def _token(parts: Sequence[str], at: int, lexicon: Lexicon) -> tuple[int, Token]:
    part = parts[at]
    if part in STOPS:
        after_number_word = (
            part == "." and at > 0 and at + 1 < len(parts) and parts[at - 1] in ("no", "nr", "cyl") and parts[at + 1].isdigit()
        )
        return 1, Token(part, "" if after_number_word else STOPS[part], "filler" if after_number_word else "stop")
    size, names = spelled(list(parts), at, lexicon)
    if part[0].isdigit() and size > 1:  # "75 percent power"
        return size, _named(parts, at, size, names, lexicon)
    if part[0].isdigit() or (part[0] == "." and len(part) > 1):
        return 1, Token(part, "", "number", number=float(part.replace(",", "")))
    if not part[0].isalpha():
        return 1, Token(part, part, "sign")
    if names:
        return size, _named(parts, at, size, names, lexicon)
    guess = "" if stem(part) in lexicon.phrases else guessed(part, lexicon)  # "soaking" is a word of its own, and no "shaking"
    if guess:
        return 1, replace(_named(parts, at, 1, spelled([guess], 0, lexicon)[1] or (stem(guess),), lexicon), guessed=True)
    return 1, Token(part, stem(part), "word")


def _named(parts: Sequence[str], at: int, size: int, names: tuple[str, ...], lexicon: Lexicon) -> Token:
    """Return the token of a spelling; where it can be two words, what stands behind it decides."""
    name = names[0]
    if len(names) > 1:
        after = parts[at + size] if at + size < len(parts) else ""
        behind = spelled([*parts[at + size : at + size + 3], ""], 0, lexicon)[1] if after else ()
        kinds = {n: lexicon.kind(n) for n in names}
        counted = [n for n in names if kinds[n] == "cylinder"]
        placed = [n for n in names if kinds[n] == "position"]
        if counted:
            rest = [n for n in names if n not in counted]
            name = (
                counted[0]
                if after.isdigit() or (after == "." and parts[at + size + 1 : at + size + 2][:1] and parts[at + size + 1].isdigit())
                else rest[0]
            )
        elif placed:
            rest = [n for n in names if n not in placed]
            name = placed[0] if behind and lexicon.kind(behind[0]) == "thing" else rest[0]
    kind = lexicon.kind(name)
    return Token(parts[at], name_of(parts, at, size, name, lexicon), kind, regime=name.removeprefix("@") if kind == "regime" else "")


def guessed(word: str, lexicon: Lexicon) -> str:
    """Return the known word that a misspelt one of five letters or more is nearest to, or an empty text."""
    if len(word) < SHORTEST_GUESSED or not word.isascii() or not word.isalpha():
        return ""
    from rapidfuzz.distance import DamerauLevenshtein
    from rapidfuzz.process import extractOne

    most = 2 if len(word) >= LONG_WORD else 1
    best = extractOne(word, lexicon.guessable, scorer=DamerauLevenshtein.distance, score_cutoff=most)
    if best is None or best[0][0] != word[0]:
        return ""
    kept = extractOne(word, lexicon.kept, scorer=DamerauLevenshtein.distance, score_cutoff=int(best[1]))
    return "" if kept is not None else str(best[0])


def _numbered(made: list[Token], cylinders: int, bare: bool, parts: frozenset[str]) -> list[Token]:
    """Return tokens with units put to their numbers, and the numbers that name cylinders marked so."""
    out: list[Token] = []
    for i, token in enumerate(made):
        if token.kind == "unit" and out and out[-1].kind == "number" and not out[-1].unit:
            out[-1] = replace(out[-1], unit=token.name, end=token.end, text=f"{out[-1].text} {token.text}")
            continue
        if token.text == "%" and out and out[-1].kind == "number":
            out[-1] = replace(out[-1], unit="percent")
            continue
        could = token.kind == "number" and _can_be_cylinder(token, made[i + 1 :], cylinders)
        behind_part = bool(out) and out[-1].kind == "thing" and out[-1].name in parts and not _numbers_follow(made[i + 1 :])
        if could and (
            behind_part
            or _before_its_name(made[i + 1 :])
            or _of_a_list(out, made[i + 1 :])
            or _in_a_row(out, made[i + 1 :], cylinders)
            or _is_cylinder(out, made[i + 1 :])
            or (bare and _goes_by_number(out, made[i + 1 :]))
        ):
            token = replace(token, kind="place", name="place")
        out.append(token)
    return out


def _before_its_name(after: list[Token]) -> bool:
    """Return whether a number names the cylinder behind it: "3 cyl cold", not "2 cylinders cold" nor "4 cylinder engine"."""
    if not after or after[0].kind != "cylinder" or after[0].text.lower() in ("no", "nr", "number") or after[0].text.lower().endswith("s"):
        return False
    said = next((t for t in after[1:] if t.kind != "filler"), None)
    return not (said is not None and (said.name == "engine" or said.kind in ("number", "place")))


def _of_a_list(before: list[Token], after: list[Token]) -> bool:
    """Return whether a number begins a list of cylinders, others having been named before: "2,4,6 oily, 1,3,5 dry"."""
    named = [t for t in before if t.kind == "place"]
    begins = not before or before[-1].kind in ("stop", "joint")
    listed = len(after) > 1 and (after[0].name == "," or after[0].kind == "joint" or after[0].text in "&+") and after[1].kind == "number"
    return bool(named) and begins and listed and not after[1].unit and len(after[1].text) == 1


def _in_a_row(before: list[Token], after: list[Token], cylinders: int) -> bool:
    """Return whether a number is one of several behind parts or cylinders named in the plural: "rear plugs 3 5 7 wet"."""
    begun = next((t for t in reversed(before) if t.kind != "place"), None)
    plural = begun is not None and begun.kind in ("thing", "cylinder") and begun.text.lower().endswith("s")
    rest = list(takewhile(lambda t: t.kind == "number", after))
    could = all(t.text.isdigit() and 1 <= (t.number or 0) <= cylinders for t in rest)
    ends = after[len(rest)].kind not in ("unit", "sign") if len(after) > len(rest) else True
    return plural and could and ends and bool(rest or (before and before[-1].kind == "place"))


def _can_be_cylinder(token: Token, after: list[Token], cylinders: int) -> bool:
    number = token.number or 0
    if number != int(number) or not 1 <= number <= cylinders or "." in token.text:
        return False
    return not after or not (after[0].kind == "unit" or (after[0].text in "%/" and len(after) > 1 and after[1].kind == "number"))


def _numbers_follow(after: list[Token]) -> bool:
    said = next((t for t in after if t.kind not in ("filler", "cylinder", "sign")), None)
    return said is not None and said.kind == "number"


def _goes_by_number(before: list[Token], after: list[Token]) -> bool:
    """Return whether a number that begins a clause has something said of it."""
    said = next((t for t in after if t.kind not in ("filler", "sign")), None)
    begins = not before or before[-1].kind in ("stop", "joint")
    return begins and said is not None and said.kind in ("word", "thing", "regime", "fine", "bad", "number", "not")


def _is_cylinder(before: list[Token], after: list[Token]) -> bool:
    back = [t for t in before if t.kind != "filler" or t.text in ("on", "in", "at")]
    if back and (back[-1].kind in ("cylinder", "place") or back[-1].text in ("#", "on")):
        return True
    if after and after[0].kind == "position" and not (before and before[-1].kind in ("number", "unit", "sign")):
        return True  # "lead end at 2 bottom"
    if len(back) > 1 and back[-2].kind == "place" and (back[-1].name in (",", "and") or back[-1].text in "-/&+"):
        return True
    follows = next((t for t in after if t.text not in "-/&" and t.kind not in ("joint", "number") and t.name != ","), None)
    if follows is None or (after[0].kind == "number" and follows.kind != "position"):
        return False
    return follows.kind in ("position", "side") and (not back or back[-1].kind in ("stop", "joint", "thing", "all", "act"))


def _listed(made: list[Token]) -> list[Token]:
    """Return tokens without the commas and "and" inside a list of places: they part no clauses."""
    out: list[Token] = []
    for i, token in enumerate(made):
        parts = (token.kind == "stop" and token.name == ",") or token.kind == "joint" or token.text in "&+"
        if parts and out and i + 1 < len(made):
            following = next((t for t in made[i + 1 :] if t.kind not in ("filler", "cylinder", "joint") and t.text != "#"), None)
            if following and _of_its_own(out, made[i + 1 :]):
                out.append(token)
                continue
            same = following and following.kind == out[-1].kind and following.kind in ("place", "side", "position", "count")
            if same or (following and following.kind == "place" and out[-1].kind == "position"):  # "2 top and 4 bottom"
                continue
        out.append(token)
    return out


def _of_its_own(before: list[Token], after: list[Token]) -> bool:
    """Return whether the next place has its own verdict, after something was told of the one before: "dies on right, left fine"."""
    since = next((i for i in range(len(before) - 1, -1, -1) if before[i].kind in ("stop", "joint")), -1)
    told = any(t.kind in ("word", "bad", "number") for t in before[since + 1 :])
    said = next((t for t in after if t.kind not in (*PLACED, "filler", "thing")), None)
    return told and said is not None and said.kind in ("fine", "bad", "not")
