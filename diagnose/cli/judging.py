"""A field judged as it is typed: whether it can be, and whether it is likely to be meant."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping

from diagnose.calc.compression import CompressionReading, leakage
from diagnose.calc.contact_points import CLEARANCE_SPAN
from diagnose.calc.mag_check import TACH_BAND
from diagnose.calc.plugs import GAP_SPAN
from diagnose.calc.units import read_number, read_plausible, read_quantity
from diagnose.case.readings import read_measured
from diagnose.cli.calculations.options import needed
from diagnose.cli.calculations.questions import Question
from diagnose.cli.calculations.run_compression import gauges, pressure
from diagnose.places import Layout
from diagnose.problems import BadInput, did_you_mean

SPANS = {"rpm": (300.0, 5000.0), "rpm drop": (1.0, 1000.0)}  # as `calc mag-check` takes them
DEGREES = (-20.0, 60.0)  # of a crank before top centre, as `calc timing` takes them
BIG_DROP = 500.0  # rpm: more than several silent cylinders cost; rather a slip of the pen (estimate)
BIG_RISE = 60.0  # rpm: a magneto check does not gain so much (estimate)


def judged(question: Question, text: str, layout: Layout) -> str:
    """Return an answer as it is kept. Raises BadInput where it cannot be one."""
    if question.choices:
        return _choice(question, text)
    if question.or_word and text.lower() == question.or_word:
        return question.or_word
    if question.kind in SPANS:
        low, high = SPANS[question.kind]
        value = needed(text, question.words, "rpm")
        if not low <= value <= high:
            raise BadInput(f"{question.words}: {text} is not between {low:g} and {high:g} rpm; type it again")
    elif question.kind:
        return KINDS[question.kind](question.words, text, layout)
    return text


def rise(question: Question, text: str, given: Mapping[str, str]) -> float:
    """Return by how many rpm a side reads above BOTH, where that is more than the tachometer's own error; else 0."""
    both = given.get(question.against, "")
    if not both or not question.or_word or text == question.or_word:
        return 0.0
    above = needed(text, question.words, "rpm") - needed(both, "rpm on both", "rpm")
    return above if above > TACH_BAND else 0.0


def doubt(question: Question, text: str, given: Mapping[str, str]) -> str:
    """Return what makes a number unlikely to be meant, to be asked about; empty where nothing does."""
    both = given.get(question.against, "")
    if not both or text == question.or_word:
        return ""
    drop = needed(both, "rpm on both", "rpm") - needed(text, question.words, "rpm")
    if drop > BIG_DROP:
        return f"A drop of {drop:.0f} rpm, from {both} to {text}"
    return f"A rise of {-drop:.0f} rpm, from {both} to {text}" if drop < -BIG_RISE else ""


def _choice(question: Question, text: str) -> str:
    """Return the choice meant: its first letters are enough."""
    exact = [c for c in question.choices if c.lower() == text.lower()]
    found = exact or [c for c in question.choices if c.lower().startswith(text.lower())]
    if len(found) != 1:
        raise BadInput(f"'{text[:40]}' is none of: {', '.join(question.choices)}")
    return found[0]


def _place(kind: str) -> Callable[[str, str, Layout], str]:
    def read(words: str, text: str, layout: Layout) -> str:
        place = "-".join(text.lower().removeprefix("no.").replace("-", " ").split())
        if place not in layout.places(kind):
            raise BadInput(f"'{text[:40]}' is not on this engine; {did_you_mean(place, layout.places(kind))}")
        return place

    return read


def _quantity(kind: str, span: tuple[float, float, str] | None = None) -> Callable[[str, str, Layout], str]:
    def read(words: str, text: str, layout: Layout) -> str:
        what = words.partition(" with unit")[0]
        if span is not None:
            read_plausible(text, kind, what, span)
        else:
            read_quantity(text, kind, what)
        return text

    return read


def _degrees(words: str, text: str, layout: Layout) -> str:
    read_number(text, words, *DEGREES)
    return text


def _pressure(words: str, text: str, layout: Layout) -> str:
    pressure(text, words)
    return text


def _compression(words: str, text: str, layout: Layout) -> str:
    cylinder, regulated = gauges(argparse.Namespace(reading=text, regulated=None))
    leakage(CompressionReading(1, cylinder, regulated))
    return text


def _per_cylinder(words: str, text: str, layout: Layout) -> str:
    cells = text.split(",")
    if len(cells) != layout.cylinders:
        raise BadInput(f"{len(cells)} numbers for {layout.cylinders} cylinders; from No. 1 on, with commas, - where not read")
    for number, cell in enumerate(cells, 1):
        if cell.strip() not in ("", "-"):
            read_number(cell.strip(), f"No. {number}")
    return text


def _date(words: str, text: str, layout: Layout) -> str:
    read_measured({"calibration": text})
    return text


# What an answer is judged as -> what reads it as the calculation will.
KINDS: Mapping[str, Callable[[str, str, Layout], str]] = {
    "temperature": _quantity("temperature"),
    "height": _quantity("height"),
    "resistance": _quantity("resistance"),
    "voltage": _quantity("voltage"),
    "gap": _quantity("length", GAP_SPAN),
    "clearance": _quantity("length", CLEARANCE_SPAN),
    "circuit": _place("circuit"),
    "cylinder": _place("cylinder"),
    "degrees": _degrees,
    "pressure": _pressure,
    "compression": _compression,
    "per cylinder": _per_cylinder,
    "date": _date,
}
