"""The answer of a calculation as a page of plain text."""

from diagnose.calc.answer import Answer, Instruction, Limit, Table, Value
from diagnose.report.text import WIDTH, clean, columns, folded

NAME = 34  # columns a name may take before its value


def figure(value: float | str | None) -> str:
    """Return a number short enough to read: no trailing zeros, four figures where it has decimals."""
    if value is None:
        return "-"
    if isinstance(value, str):
        return value
    if abs(value) >= 1000 or value == int(value):
        return f"{value:.0f}"
    return f"{value:.4g}"


def _pairs(rows: list[tuple[str, str]], width: int) -> list[str]:
    return columns(rows, width, most=NAME) if rows else []


def _value_text(value: Value) -> str:
    text = f"{figure(value.value)} {value.unit}".strip()
    if value.also is not None:
        text += f" = {figure(value.also.value)} {value.also.unit}"
    return f"{text}  ({value.note})" if value.note else text


def limit_text(limit: Limit) -> str:
    """Return a limit with its unit and where it comes from: document and revision, typical, or an estimate."""
    return f"{figure(limit.value)} {limit.unit}  {limit.standing}"


def _table(table: Table, width: int) -> list[str]:
    cells = [table.columns, *([figure(cell) for cell in row] for row in table.rows)]
    return ["", *folded(table.title, width), *columns(cells, width)]


def _step(number: int, step: Instruction, width: int) -> list[str]:
    minutes = f" [{step.minutes}]" if step.minutes else ""
    lines = folded(f"{step.text}{minutes}", width, f"  {number:>2}. ", "      ")
    return lines + (folded(f"CAUTION: {step.caution}", width, "      ", "      ") if step.caution else [])


def _block(title: str, lines: list[str]) -> list[str]:
    return ["", title, *lines] if lines else []


def as_text(answer: Answer, width: int = WIDTH) -> str:
    """Return the answer as lines of at most `width` columns, cautions first."""
    lines = [answer.title]
    cautions = [line for text in answer.cautions for line in folded(text, width, "  ! ", "    ")]
    lines += _block("Caution", cautions)
    lines += _block("Entered", _pairs([(v.name, _value_text(v)) for v in answer.inputs], width))
    lines += _block("Worked out", _pairs([(v.name, _value_text(v)) for v in answer.values], width))
    lines += _block("Limits", _pairs([(item.name, limit_text(item)) for item in answer.limits], width))
    for table in answer.tables:
        lines += _table(table, width)
    lines += _block("What it says", [line for text in answer.says for line in folded(text, width, "  - ", "    ")])
    steps = [line for number, step in enumerate(answer.steps, 1) for line in _step(number, step, width)]
    lines += _block("Next", steps)
    mark = " (graded against a typical or estimated limit)" if answer.typical_limits else ""
    lines += _block(f"Results for the case{mark}" if answer.results else "", [f"  {r}" for r in answer.results])
    return clean("\n".join(lines) + "\n")
