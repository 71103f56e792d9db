"""An :class:`~diagnose.calc.record.Answer` as plain text at a given width, or as a JSON object."""

import textwrap
from dataclasses import asdict
from typing import Any

from diagnose.calc.record import Answer, Limit, Step, Table, Value

WIDTH = 80


def figure(value: float | str | None) -> str:
    """A number short enough to read: no trailing zeros, four figures where it has decimals."""
    if value is None:
        return "-"
    if isinstance(value, str):
        return value
    if abs(value) >= 1000 or value == int(value):
        return f"{value:.0f}"
    return f"{value:.4g}"


def as_json(answer: Answer) -> dict[str, Any]:
    """The answer as plain objects; ``schema`` first, limits with their standing in words."""
    body = asdict(answer)
    for shown, limit in zip(body["limits"], answer.limits, strict=True):
        shown["standing"] = limit.standing
    return {"schema": body.pop("schema"), "typical_limits": answer.typical_limits, **body}


def _wrap(text: str, first: str, rest: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)


def _pairs(rows: list[tuple[str, str]], width: int) -> list[str]:
    left = min(max((len(name) for name, _ in rows), default=0), 34)
    lines: list[str] = []
    for name, text in rows:
        lines += _wrap(text, f"  {name.ljust(left)}  ", " " * (left + 4), width)
    return lines


def _value_text(value: Value) -> str:
    text = f"{figure(value.value)} {value.unit}".strip()
    if value.also is not None:
        text += f" = {figure(value.also.value)} {value.also.unit}"
    return f"{text}  ({value.note})" if value.note else text


def _limit_text(limit: Limit) -> str:
    return f"{figure(limit.value)} {limit.unit}  {limit.standing}"


def _table(table: Table, width: int) -> list[str]:
    cells = [list(table.columns), *[[figure(cell) for cell in row] for row in table.rows]]
    widths = [max(len(row[i]) for row in cells) for i in range(len(table.columns))]
    widths[-1] = max(8, min(widths[-1], width - 2 - sum(widths[:-1]) - 2 * (len(widths) - 1)))
    lines = ["", *_wrap(table.title, "", "", width)]
    for row in cells:
        head = "  ".join(cell.ljust(size) for cell, size in zip(row[:-1], widths, strict=False))
        tail = textwrap.wrap(row[-1], widths[-1], break_on_hyphens=False) or [""]
        lines.append(f"  {head}  {tail[0]}".rstrip())
        lines += [" " * (len(head) + 4) + more for more in tail[1:]]
    return lines


def _step(number: int, step: Step, width: int) -> list[str]:
    minutes = f" [{step.minutes}]" if step.minutes else ""
    lines = _wrap(f"{step.text}{minutes}", f"  {number:>2}. ", "      ", width)
    return lines + (_wrap(f"CAUTION: {step.caution}", "      ", "      ", width) if step.caution else [])


def _block(title: str, lines: list[str]) -> list[str]:
    return ["", title, *lines] if lines else []


def as_text(answer: Answer, width: int = WIDTH) -> str:
    """The answer as lines of at most ``width`` columns, cautions first."""
    lines = [answer.title]
    cautions = [line for text in answer.cautions for line in _wrap(text, "  ! ", "    ", width)]
    lines += _block("Caution", cautions)
    lines += _block("Entered", _pairs([(v.name, _value_text(v)) for v in answer.inputs], width))
    lines += _block("Worked out", _pairs([(v.name, _value_text(v)) for v in answer.values], width))
    lines += _block("Limits", _pairs([(item.name, _limit_text(item)) for item in answer.limits], width))
    for table in answer.tables:
        lines += _table(table, width)
    lines += _block("What it says", [line for text in answer.says for line in _wrap(text, "  - ", "    ", width)])
    steps = [line for number, step in enumerate(answer.steps, 1) for line in _step(number, step, width)]
    lines += _block("Next", steps)
    mark = " (graded against a typical or estimated limit)" if answer.typical_limits else ""
    lines += _block(f"Results for the case{mark}" if answer.results else "", [f"  {r}" for r in answer.results])
    return "\n".join(lines) + "\n"
