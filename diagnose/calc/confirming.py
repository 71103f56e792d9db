"""What a confirming run still lacks: it is all of the checks, plus the complaint's own condition."""

import re
from collections.abc import Mapping, Sequence

from diagnose.calc.answer import Answer, Instruction, Value
from diagnose.problems import BadInput

SCHEMA = "calc-confirm/1"
Parts = Mapping[str, str]  # SYMPTOM.REGIME@PLACE -> what that part of the run is, in words
_RESULT = re.compile(r"([a-z0-9_]+\.([a-z_]+)@[\w/-]+)=([a-z_|]+)")
_NO_ANSWER = {"unknown", "cannot"}


def _answered(results: Sequence[str]) -> dict[str, str]:
    """Return SYMPTOM.REGIME@PLACE -> regime of what has an answer; "unknown" is none. Raises BadInput."""
    out = {}
    for text in results:
        match = _RESULT.fullmatch(text)
        if match is None:
            raise BadInput(f"result: {text!r} is not complete; write symptom.regime@place=grade")
        if match[3] not in _NO_ANSWER:
            out[match[1]] = match[2]
    return out


def parts_missing(parts: Parts, results: Sequence[str]) -> tuple[str, ...]:
    """Return the parts that every confirming run has, still without an answer, in words. Raises BadInput."""
    answered = _answered(results)
    return tuple(words for part, words in parts.items() if part not in answered)


def missing(parts: Parts, results: Sequence[str], complaint_regime: str) -> tuple[str, ...]:
    """Return the parts of this run without an answer, in words. Raises BadInput."""
    lacking = parts_missing(parts, results)
    if complaint_regime in _answered(results).values():
        return lacking
    return (*lacking, f"the complaint's own condition: {complaint_regime}")


def confirm_answer(parts: Parts, results: Sequence[str], complaint_regime: str) -> Answer:
    """Return whether the confirming run is whole; it does not judge what was found. Raises BadInput."""
    lacking = missing(parts, results, complaint_regime)
    says = tuple(f"Still to do: {part}." for part in lacking) or ("Every part of the run has an answer.",)
    return Answer(
        schema=SCHEMA,
        title="Confirming run: is it whole?",
        inputs=(Value("results given", len(results)), Value("complaint's condition", complaint_regime)),
        values=(Value("parts missing", len(lacking)),),
        says=says,
        steps=(Instruction("Do the missing parts in one run, under the conditions of the complaint."),) if lacking else (),
        cautions=("Live propeller, chocks, into wind, a qualified person at the controls.",),
    )
