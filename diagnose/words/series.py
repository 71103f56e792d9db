"""Numbers said in a row: a pressure for each cylinder, a drop for each magneto, timing and what it should be.

Each is judged by itself, none stands for another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from diagnose.calc.answer import above
from diagnose.calc.mag_check import TACH_BAND, TYPICAL_DIFFERENCE
from diagnose.places import SIDES, Layout
from diagnose.rulebase.records import RuleBase
from diagnose.words.amounts import DROPS, HELD_AGAINST, grade_of, graded_drop, limit_of, measured
from diagnose.words.lexicon import Lexicon
from diagnose.words.tokens import Token

BETWEEN = ("stop", "joint", "filler", "sign", "cylinder", "above", "faint")  # what may stand between two numbers of a row
TIMING_TOLERANCE, SHOULD_BE = "timing_tolerance", "should_be"
MOST_BETWEEN = 12  # words in which timing, its number and what it should be stand: estimate
MOST_DROP = 600.0  # a larger number beside another is a speed: estimate


@dataclass(frozen=True)
class Series:
    """A row of numbers: the tokens from `start` to `end`, the results it comes to, none where it cannot be said whose each is.

    `last`: the cylinder named last, which words right behind the row are of.
    """

    start: int
    end: int
    results: tuple[str, ...]
    last: str = ""


def find_series(
    found: Sequence[Token], base: RuleBase, layout: Layout, lexicon: Lexicon, looked_at: frozenset[str] = frozenset()
) -> list[Series]:
    """Return the rows of a sentence, in order; what a check looks at (`looked_at`) need not be named."""
    out: list[Series] = []
    at = 0
    while at < len(found):
        row = (
            _by_cylinder(found, at, base, layout, lexicon, looked_at)
            or _by_side(found, at, base, layout, lexicon)
            or _by_plate(found, at, base, lexicon)
        )
        if row is not None:
            out.append(row)
        at = row.end if row is not None else at + 1
    return out


# ---- a number for each cylinder -----------------------------------------------------------------------------------
def _by_cylinder(
    found: Sequence[Token], at: int, base: RuleBase, layout: Layout, lexicon: Lexicon, looked_at: frozenset[str]
) -> Series | None:
    """Read "compression 78/80 76/80 42/80 77/80", in the order of the cylinders or each with its own."""
    could = [s for s in base.symptoms.values() if s.role in HELD_AGAINST and "cylinder" in s.at]
    bare = at == 0 and _counts(found[0])
    named = [s for s in could if is_name_of(found[at], s.id, lexicon) or (bare and s.id in looked_at)]
    if not named or HELD_AGAINST[named[0].role][0] not in base.limits:
        return None
    symptom, first = named[0], at if bare else at + 1
    while first < len(found) and found[first].kind in ("faint", "regime", "filler"):
        first += 1  # "comp check cold: ..."
    end = first
    while end < len(found) and (found[end].kind in (*BETWEEN, "fine", "bad", "all") or _counts(found[end])):
        end += 1
    row = _row(found[first:end])
    numbers = [t for t in row if t.kind == "number"]
    if len(numbers) < 2:
        return None
    end = _behind(found, row[-1])
    places = [str(int(t.number or 0)) for t in row if t.kind == "place"]
    last = places[-1] if places and end < len(found) and found[end].kind not in ("stop", "joint") else ""
    if not places and len(numbers) == layout.cylinders:
        places = list(layout.places("cylinder"))
    if len(places) != len(numbers):
        return Series(at, end, ())
    return Series(at, end, tuple(f"{symptom.id}@{p}={grade_of(symptom, n, base)}" for p, n in zip(places, numbers, strict=True)), last)


def _row(stretch: Sequence[Token]) -> list[Token]:
    """Return numbers alone, each behind its cylinder, or each before it, as far as the stretch goes on as it began."""
    numbers = measured(stretch)
    count = len(numbers) // 2
    if count > 1 and [t.number for t in numbers[::2]] == [float(c) for c in range(1, count + 1)]:
        return [replace(t, kind="place") if i % 2 == 0 else t for i, t in enumerate(numbers)]  # "1-72 2-75 3-38 4-74"
    named = [t for t in stretch if t.kind == "place" or t in numbers]
    kinds = [t.kind for t in named]
    form = kinds[:2] if "place" in kinds[:2] and "number" in kinds[:2] else ["number"]
    size = next((i for i, kind in enumerate(kinds) if kind != form[i % len(form)]), len(kinds))
    return named[: size - size % len(form)]


def _behind(found: Sequence[Token], last: Token) -> int:
    """Return where a row ends: behind its last number, and the 80 that was put in."""
    end = next(i for i, t in enumerate(found) if t.start == last.start) + 1
    put_in = end + 1 < len(found) and (found[end].text == "/" or found[end].kind == "above") and found[end + 1].kind == "number"
    return end + 2 if put_in else end


def _counts(token: Token) -> bool:
    return token.kind == "place" or (token.kind == "number" and token.unit in ("", "psi"))


def is_name_of(token: Token, ident: str, lexicon: Lexicon) -> bool:
    """Return whether a word by itself names a symptom."""
    return any(p.id == ident and not p.grade and p.words == {token.name} for p in lexicon.phrases.get(token.name, ()))


# ---- a drop for each magneto --------------------------------------------------------------------------------------
def _by_side(found: Sequence[Token], at: int, base: RuleBase, layout: Layout, lexicon: Lexicon) -> Series | None:
    """Read "left 50 right 150", "50 left 150 right", "mag check 50/150": two drops, and how far they are apart."""
    start = at
    while start and _of_drops(found[start - 1], base, lexicon):
        start -= 1
    pair = _sides(found, at, named=start < at and any(t.kind != "filler" for t in found[start:at]))
    if pair is None:
        return None
    drops, end = pair
    holders = {role: base.with_role(role)[:1] for role in ("mag_drop", "drop_difference")}
    out = [f"{ident}@{side}={graded_drop(drop, base, layout)}" for ident in holders["mag_drop"] for side, drop in drops.items()]
    apart = above(abs(drops["left"] - drops["right"]), limit_of(base, TYPICAL_DIFFERENCE), TACH_BAND)
    return Series(start, end, (*out, *(f"{ident}@engine={apart}" for ident in holders["drop_difference"])))


def _of_drops(token: Token, base: RuleBase, lexicon: Lexicon) -> bool:
    """Return whether a word before a row says that it is of drops: drop, magneto, mag check."""
    return token.kind in ("filler", "faint") or any(is_name_of(token, ident, lexicon) for ident in base.with_role("mag_drop"))


def _sides(found: Sequence[Token], at: int, named: bool) -> tuple[dict[str, float], int] | None:
    """Return the drop of each side of a row that begins here, and where it ends."""
    near: list[Token] = []
    end = at
    while end < len(found) and len(near) < 4 and _in_row(found[end], bool(near)):
        if found[end].kind in ("side", "number") or found[end].text == "/":
            near.append(found[end])
        end += 1
    kinds = "".join({"side": "s", "number": "n"}.get(t.kind, "/") for t in near)
    if kinds[:3] == "n/n" and named:
        return _both(SIDES, near[0], near[2]), next(i for i in range(at, end) if found[i] is near[2]) + 1
    if kinds not in ("snsn", "nsns"):
        return None
    sides = [t.name for t in near if t.kind == "side"]
    return (_both(sides, *(t for t in near if t.kind == "number")), end) if set(sides) == set(SIDES) else None


def _both(sides: Sequence[str], first: Token, second: Token) -> dict[str, float]:
    return {sides[0]: first.number or 0.0, sides[1]: second.number or 0.0}


def _in_row(token: Token, begun: bool) -> bool:
    """Return whether a token goes on with a row; what stands between two stops is left to the clauses."""
    if token.kind == "number":
        return token.unit in ("", "rpm") and DROPS[0] <= (token.number or 0) <= MOST_DROP
    return token.kind == "side" or token.text == "/" or (begun and (token.kind == "filler" or token.name == "magneto"))


# ---- timing against what it should be -----------------------------------------------------------------------------
def _by_plate(found: Sequence[Token], at: int, base: RuleBase, lexicon: Lexicon) -> Series | None:
    """Read "left timing 20 degrees, should be 25": degrees before top centre, so the smaller number is the later spark.

    "timing left 25 right 20, plate says 25" is a number for each; without what it should be, whose fault it is cannot be said.
    """
    late, early = base.with_role("fires_late")[:1], base.with_role("fires_early")[:1]
    if not (late and early and TIMING_TOLERANCE in base.limits and is_name_of(found[at], late[0], lexicon)):
        return None
    near = [(i, t) for i, t in enumerate(found[at : at + MOST_BETWEEN], at) if t.kind in ("number", "side") or t.name == SHOULD_BE]
    kinds = "".join({"number": "n", "side": "s"}.get(t.kind, "=") for _, t in near)
    each = next((form for form in ("snsn", "nsns") if kinds.startswith(form)), "")
    numbers = [(i, t) for i, t in near if t.kind != "side"]
    form = "".join("n" if t.kind == "number" else "=" for _, t in numbers)
    if each and not form.startswith("nn=n"):
        return Series(at, near[3][0] + 1, ())
    if not form.startswith("nn=n" if each else "n=n"):
        return None
    last, plate = numbers[3 if each else 2]
    start = next((i + 1 for i in range(at - 1, -1, -1) if found[i].kind in ("stop", "joint")), 0)
    sides = [t.name for t in found[start:last] if t.kind == "side"]
    found_at = [t.number or 0.0 for _, t in numbers[: len(sides) if each else 1]]
    set_at = dict(zip(sides, found_at, strict=True)) if each else dict.fromkeys(sides, found_at[0])
    allowed = base.limits[TIMING_TOLERANCE].value.value
    out: list[str] = []
    for side, degrees in set_at.items():
        graded = ((late[0], (plate.number or 0.0) - degrees > allowed), (early[0], degrees - (plate.number or 0.0) > allowed))
        out += [f"{ident}@{side}={base.symptoms[ident].names[wrong]}" for ident, wrong in graded]
    return Series(start, last + 1, tuple(out)) if out else None
