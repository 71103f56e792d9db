"""The words in which the state of an aircraft is said, and reading them: one thing, one state, nothing guessed."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping

from diagnose.places import SIDES, Layout
from diagnose.problems import BadInput, did_you_mean

UNKNOWN = "unknown"  # said so by a person
UNCLEAR = "unclear"  # something was said that cannot be read: no better than unknown

_LEAD = {
    "on": ("on", "back on", "connected", "reconnected", "refitted", "fitted", "attached", "in place"),
    "off": ("off", "off at the magneto", "taken off", "disconnected", "not connected", "not on", "removed", "out", "loose", "open"),
}
_ITSELF = {
    "grounded": ("grounded", "grounded at itself", "clipped to ground", "clip on"),
    "not grounded": ("not grounded", "ungrounded", "free", "clip off"),
}
# Thing -> its states, each with the words that mean it; the first states what it is called here.
THINGS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "cowl": {"on": ("on", "closed", "fitted"), "off": ("off", "open", "removed")},
    "plugs": {
        "in": ("in", "all in", "fitted", "refitted"),
        "out of every cylinder": ("out of every cylinder", "one out of every cylinder", "out, at least one per cylinder", "all out"),
        "some out": ("some out", "out"),
    },
    "leads": {"on": ("on", "all on", "fitted", "refitted"), "off": ("off", "some off", "removed")},
    **{f"P-lead {side}": _LEAD for side in SIDES},
    **{f"magneto {side}": _ITSELF for side in SIDES},
    "switch": {"off": ("off", "off and tagged", "tagged"), "on": ("on", "both", "left", "right")},
    "propeller": {"tagged": ("tagged", "tag on", "on"), "not tagged": ("not tagged", "untagged", "tag off", "no tag", "off")},
    "chocks": {"in": ("in", "on", "both in"), "out": ("out", "off", "none")},
    "fuel": {"off": ("off", "shut"), "on": ("on",)},
    "parts off": {"none": ("none", "nothing", "no"), "some": ()},
    "inspection": {"done": ("done", "done, nothing broken", "done, nothing found"), "due": ("due", "not done")},
    "tools": {"counted": ("counted", "all counted", "all back"), "missing": ("missing", "not counted")},
}
P_LEADS = {side: f"P-lead {side}" for side in SIDES}
# Parts of which an engine has many, `plug 3-bottom`: states as above, the one it runs in first, then off or out.
PARTS: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "plug": {"in": ("in", "back in", "fitted", "refitted", "on"), "out": ("out", "removed", "taken out", "off")},
    "lead": {"on": ("on", "back on", "fitted", "refitted", "connected"), "off": ("off", "removed", "taken off", "disconnected", "loose")},
    "cover": {"on": ("on", "back on", "fitted", "refitted", "closed"), "off": ("off", "removed", "taken off", "open")},
}
MANY = {"plug": "plugs", "lead": "leads"}  # part -> the thing that stands for all of them
_PLACED = re.compile(
    r"(?:the |no |no\. )?(?:(?P<part>plug|lead|cover) (?:no |no\. )?(?P<place>\d{1,2}(?: [a-z]+)?|left|right|engine)"
    r"|(?P<where>\d{1,2}(?: [a-z]+)?|left|right) (?P<what>plug|lead|cover))"
)
_ASKED = ("unknown", "not known", "not checked", "not looked at", "unsure", "not sure", "?")
_NAMES = {
    "cowling": "cowl",
    "spark plugs": "plugs",
    "ignition leads": "leads",
    "propeller tag": "propeller",
    "prop": "propeller",
    "prop tag": "propeller",
    "ignition switch": "switch",
    "mags": "magnetos",
    "parts": "parts off",
    "inspection after kick-back": "inspection",
    "inspection after strike": "inspection",
}
_DONE: Mapping[str, tuple[str, ...]] = {
    "cowl": ("on",),
    "magneto": ("not grounded",),
    "switch": ("off",),
    "propeller": ("not tagged",),
    "chocks": ("in", "out"),
    "fuel": ("on", "off"),
    "parts off": ("none",),
    "inspection": ("done",),
    "tools": ("counted",),
}
_DOUBT = re.compile(r"\b(not?|un\w+|dis\w+|maybe|perhaps|think|believe|should|but|sure|checked|again|or)\b|\?", re.IGNORECASE)


def left_as(thing: str) -> tuple[str, ...]:
    """Return the states in which a thing may be left when the work is done; empty for what is not kept: it is open until somebody says.

    Common practice, no source. Chocks and the fuel valve are left as the place wants it.
    """
    if thing in P_LEADS.values():
        return ("on",)
    return (runs_as(thing),) if runs_as(thing) else _DONE.get(thing.partition(" ")[0] if thing.startswith("magneto ") else thing, ())


def runs_as(thing: str) -> str:
    """Return the state a plug, lead or cover is in when the engine runs, one of them or all; empty for anything else."""
    part = thing.partition(" ")[0]
    return next(iter(PARTS[part])) if part in PARTS else {"plugs": "in", "leads": "on"}.get(thing, "")


def _states(thing: str) -> Mapping[str, tuple[str, ...]]:
    return THINGS[thing] if thing in THINGS else PARTS[thing.partition(" ")[0]]


def said(texts: Iterable[str], layout: Layout | None = None) -> dict[str, tuple[str, str]]:
    """Return thing -> (state, its own words) from texts such as `P-lead left=off, plug 3-bottom=out`.

    Raises BadInput, naming the known words, for a thing, a place of the layout or a state that is not known: nothing of it is then taken.
    """
    found: dict[str, tuple[str, str]] = {}
    for text in texts:
        for name, words in _items(text):
            things = _things(name)
            if not things:
                raise BadInput(f"state '{text}': '{name or words}' is nothing that is kept; known: {', '.join((*THINGS, 'plug 3-bottom'))}")
            for thing in things:
                _placed_in(thing, layout)
                now = _now(thing, words)
                if now == UNCLEAR:
                    known = [*_states(thing), UNKNOWN]
                    raise BadInput(f"state '{text}': '{words}' says nothing known of {thing}; {did_you_mean(words, known)}")
                if found.setdefault(thing, (now, words))[0] != now:
                    raise BadInput(f"state '{text}': {thing} is given as '{found[thing][0]}' and as '{now}'; give one of them")
    if not found:
        raise BadInput(f"a state needs what and how, such as 'P-lead left=off, propeller tagged'; known: {', '.join(THINGS)}")
    return found


def kept(states: Mapping[str, tuple[str, str]]) -> dict[str, str]:
    """Return thing -> what is written into a case: its state, or the words where they say more."""
    return {t: now if words.lower() in (now, *_states(t).get(now, ()), *_ASKED) else words for t, (now, words) in states.items()}


def recalled(name: str, words: str) -> dict[str, tuple[str, str]]:
    """Return what an entry of a case says, thing -> (state, words); what cannot be read is unclear, and kept in its own words."""
    things = _things(name)
    if not things and re.search(r"p[- ]?lead", name, re.IGNORECASE):
        things = tuple(P_LEADS.values())  # which one cannot be read: it may be either
    return {thing: (_now(thing, words), words) for thing in things} or {name: (UNCLEAR, words)}


def _items(text: str) -> Iterator[tuple[str, str]]:
    """Yield name and words of each item of a text; what names nothing is a detail of the item before."""
    waiting: tuple[str, str] | None = None
    for piece in re.split(r"[,;\n]", text):
        item = _split(piece.strip())
        if item is None and waiting is not None:
            waiting = (waiting[0], f"{waiting[1]}, {piece.strip()}" if piece.strip() else waiting[1])
            continue
        if waiting is not None:
            yield waiting
        waiting = item or (("", piece.strip()) if piece.strip() else None)
    if waiting is not None:
        yield waiting


def _split(piece: str) -> tuple[str, str] | None:
    """Return name and words of one item, with or without an equals sign; None where it names nothing."""
    name, equals, words = piece.partition("=")
    if equals:
        return name.strip(), words.strip()
    parts = piece.split()
    for count in range(len(parts) - 1, 0, -1):
        if _things(" ".join(parts[:count])):
            return " ".join(parts[:count]), " ".join(parts[count:]).removeprefix("is ").removeprefix("are ")
    return ("propeller", "tagged") if piece.lower() in ("tagged", "propeller tagged") else None


def _things(name: str) -> tuple[str, ...]:
    """Return the things a name stands for: one, or both of a pair."""
    plain = " ".join(re.sub(r"[-_]", " ", name.lower()).split())
    placed = _PLACED.fullmatch(plain)
    if placed:
        part, place = placed["part"] or placed["what"], placed["place"] or placed["where"]
        return (f"{part} {place.replace(' ', '-')}",)
    plain = re.sub(r"\bp ?leads?\b", "p lead", plain)
    side = next((s for s in SIDES if s in plain.split()), "")
    bare = " ".join(w for w in plain.split() if w not in (*SIDES, "both"))
    for stem, called in (("p lead", "P-lead"), ("magneto", "magneto"), ("magnetos", "magneto")):
        if bare == stem:
            return tuple(f"{called} {s}" for s in SIDES if side in ("", s))
    known = {re.sub("-", " ", alias): thing for alias, thing in _NAMES.items()} | {thing: thing for thing in THINGS}
    return (known[plain],) if plain in known else ()


def _placed_in(thing: str, layout: Layout | None) -> None:
    """Refuse a plug, lead or cover at a place the layout does not have. Raises BadInput."""
    part, _, place = thing.partition(" ")
    if layout is None or thing in THINGS or part not in PARTS:
        return
    known = [p for kind in ("circuit", "cylinder", "side", "engine") for p in layout.places(kind)]
    if place not in known:
        raise BadInput(f"state '{thing}': this engine has no place '{place}'; {did_you_mean(place, known)}")


def _now(thing: str, words: str) -> str:
    """Return the state some words mean: a known word alone, or before a detail that says nothing else of it."""
    plain = " ".join(words.lower().split())
    if plain in _ASKED:
        return UNKNOWN
    states = {word: now for now, meant in _states(thing).items() for word in (now, *meant)}
    if plain in states:
        return states[plain]
    if thing == "parts off":
        return "some" if plain else UNCLEAR
    first = max((w for w in states if re.match(rf"{re.escape(w)}\b", plain)), key=len, default="")
    rest = plain[len(first) :]
    other = any(re.search(rf"\b{re.escape(w)}\b", rest) for w, now in states.items() if now != states.get(first))
    return UNCLEAR if not first or other or _DOUBT.search(rest) else states[first]
