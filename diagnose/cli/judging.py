"""A field judged as it is typed: whether it can be, and whether it is likely to be meant."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import inf

from diagnose.calc.compression import CompressionReading, leakage, read_gauges, read_pressure
from diagnose.calc.mag_check import TACH_BAND
from diagnose.calc.readings_csv import read_cell
from diagnose.calc.spans import WARMTH
from diagnose.calc.units import plausible, read_number, read_plausible, read_quantity
from diagnose.case.readings import read_measured
from diagnose.cli.calculations.options import needed
from diagnose.cli.calculations.questions import Question
from diagnose.places import Layout
from diagnose.problems import BadInput, did_you_mean

Judge = Callable[[Question, str, Layout, Mapping[str, str]], str]
BIG_DROP = 500.0  # rpm: more than several silent cylinders cost; rather a slip of the pen (estimate)
BIG_RISE = 60.0  # rpm: a magneto check does not gain so much (estimate)
FAR_YEARS = 10.0  # no shop's tool is calibrated for so long (estimate)


def judged(question: Question, text: str, layout: Layout, given: Mapping[str, str] | None = None) -> str:
    """Return an answer as it is kept; `given`: what was answered before it. Raises BadInput where it cannot be one."""
    if question.choices:
        return _choice(question, text)
    if question.or_word and text.lower() == question.or_word:
        return question.or_word
    return KINDS[question.kind](question, text, layout, given or {}) if question.kind else text


def rise(question: Question, text: str, given: Mapping[str, str]) -> float:
    """Return by how many rpm a side reads above BOTH, where that is more than the tachometer's own error; else 0."""
    both = given.get(question.against, "")
    if not both or not question.or_word or text == question.or_word:
        return 0.0
    above = needed(text, question.words, "rpm") - needed(both, "rpm on both", "rpm")
    return above if above > TACH_BAND else 0.0


def doubt(question: Question, text: str, given: Mapping[str, str]) -> str:
    """Return what makes an answer unlikely to be meant, to be asked about; empty where nothing does."""
    if text == question.or_word:
        return ""
    if question.kind == "date":
        return _far(text)
    both = given.get(question.against, "")
    if both:
        drop = needed(both, "rpm on both", "rpm") - needed(text, question.words, "rpm")
        if drop > BIG_DROP:
            return f"A drop of {drop:.0f} rpm, from {both} to {text}"
        return f"A rise of {-drop:.0f} rpm, from {both} to {text}" if drop < -BIG_RISE else ""
    if question.usual is None:
        return ""
    low, high, unit = question.usual
    usual = low <= needed(text, question.words, unit) <= high
    return "" if usual else f"{question.words}: {text}, where {low:g} to {high:g} {unit} is usual (estimate)"


def _far(text: str) -> str:
    """Return a doubt about a date years away from today."""
    from datetime import date

    years = (date.fromisoformat(text) - date.today()).days / 365.25
    return f"Calibration due {text}, {abs(years):.0f} years {'from now' if years > 0 else 'ago'}" if abs(years) > FAR_YEARS else ""


def _choice(question: Question, text: str) -> str:
    """Return the choice meant: its first letters are enough."""
    exact = [c for c in question.choices if c.lower() == text.lower()]
    found = exact or [c for c in question.choices if c.lower().startswith(text.lower())]
    if len(found) != 1:
        raise BadInput(f"'{text[:40]}' is none of: {', '.join(question.choices)}")
    return found[0]


def _place(kind: str) -> Judge:
    def read(question: Question, text: str, layout: Layout, given: Mapping[str, str]) -> str:
        place = "-".join(text.lower().removeprefix("no.").replace("-", " ").split())
        if place not in layout.places(kind):
            raise BadInput(f"'{text[:40]}' is not on this engine; {did_you_mean(place, layout.places(kind))}")
        return place

    return read


def _quantity(kind: str) -> Judge:
    def read(question: Question, text: str, layout: Layout, given: Mapping[str, str]) -> str:
        what = question.words.partition(" with unit")[0]
        if question.span is not None:
            read_plausible(text, kind, what, question.span)
        else:
            read_quantity(text, kind, what)
        return text

    return read


def _plain(question: Question, text: str, layout: Layout, given: Mapping[str, str]) -> str:
    low, high, unit = question.span or (-inf, inf, "")
    read_number(text, question.words, low, high, unit)
    return text


def _pressure(question: Question, text: str, layout: Layout, given: Mapping[str, str]) -> str:
    quantity = read_pressure(text, question.words)
    if question.span is not None:
        plausible(quantity, question.words.partition(",")[0], *question.span)
    return text


def _compression(question: Question, text: str, layout: Layout, given: Mapping[str, str]) -> str:
    cylinder, regulated = read_gauges(text)
    leakage(CompressionReading(1, cylinder, regulated))
    return text


def _per_cylinder(question: Question, text: str, layout: Layout, given: Mapping[str, str]) -> str:
    cells = text.split(",")
    if len(cells) != layout.cylinders:
        raise BadInput(f"{len(cells)} numbers for {layout.cylinders} cylinders; from No. 1 on, with commas, - where not read")
    unit = {"F": "degF", "C": "degC"}.get(given.get("--unit", ""), "")
    for number, cell in enumerate(cells, 1):
        if unit:
            read_cell(cell, f"No. {number}", unit)
        elif cell.strip() not in ("", "-"):
            read_number(cell.strip(), f"No. {number}", *WARMTH)
    return text


def _date(question: Question, text: str, layout: Layout, given: Mapping[str, str]) -> str:
    read_measured({"calibration": text})
    return text


# What an answer is judged as -> what reads it as the calculation will.
KINDS: Mapping[str, Judge] = {
    "rpm": _plain,
    "degrees": _plain,
    "temperature": _quantity("temperature"),
    "height": _quantity("height"),
    "resistance": _quantity("resistance"),
    "voltage": _quantity("voltage"),
    "length": _quantity("length"),
    "circuit": _place("circuit"),
    "cylinder": _place("cylinder"),
    "pressure": _pressure,
    "compression": _compression,
    "per cylinder": _per_cylinder,
    "date": _date,
}
