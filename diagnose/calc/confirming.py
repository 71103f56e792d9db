"""What a confirming run still lacks: it is all of the checks, plus the complaint's own condition."""

import re

from diagnose.calc.problem import CalcError
from diagnose.calc.record import Answer, Step, Value

SCHEMA = "calc-confirm/1"
_RESULT = re.compile(r"([a-z_]+)\.([a-z_]+)@([\w/-]+)=([a-z_|]+)")
# Symptom, regime and place that each part of the run must have an answer for.
_PARTS = (
    ("drop on the left magneto at run-up", "drop", "runup", "left"),
    ("drop on the right magneto at run-up", "drop", "runup", "right"),
    ("static rpm at full throttle", "power_low", "high_power", "engine"),
    ("OFF check at idle", "runs_in_off", "idle", "engine"),
)
_NO_ANSWER = {"unknown", "cannot"}


def _read(results: tuple[str, ...]) -> list[tuple[str, str, str, str]]:
    out = []
    for text in results:
        match = _RESULT.fullmatch(text)
        if match is None:
            raise CalcError("result", f"{text!r} is not complete", "write symptom.regime@place=grade")
        out.append((match[1], match[2], match[3], match[4]))
    return out


def missing(results: tuple[str, ...], complaint_regime: str) -> tuple[str, ...]:
    """Parts of the run without an answer, in words; "unknown" is no answer. Raises CalcError."""
    parts = parts_missing(results)
    if any(regime == complaint_regime for _, regime, _ in _answered(results)):
        return parts
    return (*parts, f"the complaint's own condition: {complaint_regime}")


def parts_missing(results: tuple[str, ...]) -> tuple[str, ...]:
    """Parts that every confirming run has, still without an answer, in words. Raises CalcError."""
    answered = _answered(results)
    return tuple(words for words, symptom, regime, place in _PARTS if (symptom, regime, place) not in answered)


def _answered(results: tuple[str, ...]) -> list[tuple[str, str, str]]:
    return [(s, r, p) for s, r, p, grade in _read(results) if grade not in _NO_ANSWER]


def confirm_answer(results: tuple[str, ...], complaint_regime: str) -> Answer:
    """Whether the confirming run is whole; it does not judge what was found. Raises CalcError."""
    lacking = missing(results, complaint_regime)
    says = tuple(f"Still to do: {part}." for part in lacking) or ("Every part of the run has an answer.",)
    return Answer(
        schema=SCHEMA,
        title="Confirming run: is it whole?",
        inputs=(Value("results given", len(results)), Value("complaint's condition", complaint_regime)),
        values=(Value("parts missing", len(lacking)),),
        says=says,
        steps=(Step("Do the missing parts in one run, under the conditions of the complaint."),) if lacking else (),
        cautions=("Live propeller, chocks, into wind, a qualified person at the controls.",),
    )
