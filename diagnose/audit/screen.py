"""The audit as a page of plain text, 80 columns, most serious first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby

from diagnose.audit import numbers
from diagnose.audit.figures import Figure
from diagnose.audit.findings import PROBLEM, Found
from diagnose.audit.whole import Audit, Simulated

# figure -> what it is in words, and its unit: `%` for a share
WORDS = {
    "detected": ("faults that show anything", "%"),
    "isolated_to_1": ("isolated to one repair, and it is the right one", "%"),
    "isolated_to_2": ("isolated to two repairs or fewer", "%"),
    "isolated_to_3": ("isolated to three repairs or fewer", "%"),
    "first_repair_right": ("the first repair ends it", "%"),
    "repaired": ("some repair of the list ends it", "%"),
    "unexplained": ("left mostly to no cause at all", "%"),
    "group_size": ("repairs left to choose from, mean", ""),
    "checks": ("checks done, mean", ""),
    "minutes": ("minutes of checking and access, mean", "min"),
    "false_repairs": ("repairs done on what was sound", "%"),
    "false_removals": ("parts taken out sound", "%"),
}


def lines(audit: Audit) -> list[str]:
    """Return the page, a line each, still to be broken to width."""
    problems = sum(f.severity == PROBLEM for f in audit.found)
    base = audit.base
    return [
        f"AUDIT of rule base {base.settings.version}: {problems} problems, {len(audit.found) - problems} notices",
        "",
        *_findings(audit),
        *_counted(audit),
        *_matrix(audit),
        *(line for layout, one in audit.simulated.items() for line in _simulation(layout, one)),
    ]


def _findings(audit: Audit) -> Iterator[str]:
    for severity, same in groupby(audit.found, key=lambda f: f.severity):
        yield "PROBLEMS (to be mended)" if severity == PROBLEM else "NOTICES (to be looked at)"
        for (kind, fix), few in groupby(same, key=lambda f: (f.id, f.fix)):
            yield f"  {kind}: {fix}."
            yield from _words(list(few))
        yield ""


def _words(few: list[Found]) -> Iterator[str]:
    """Yield one line per finding; what is said of several entries alike is said once."""
    alike: dict[str, list[Found]] = {}
    for found in few:
        alike.setdefault(found.words.replace(found.about, "each of these"), []).append(found)
    for words, same in alike.items():
        yield f"    - {same[0].words}." if len(same) == 1 else f"    - {words}: {', '.join(f.about for f in same)}."


def _counted(audit: Audit) -> Iterator[str]:
    counts = numbers.counts(audit.base)
    yield "WHAT THERE IS"
    yield "  " + ", ".join(f"{count} {what}" for what, count in counts.items()) + "."
    yield "  Causes by family: " + ", ".join(f"{f} {n}" for f, n in numbers.families(audit.base).items()) + "."
    yield _shares("Numbers by where they come from", numbers.by_kind(audit.base))
    yield _shares("Links by the best source their cause cites", numbers.backing(audit.base))
    yield ""


def _shares(title: str, counted: Mapping[str, int]) -> str:
    whole = sum(counted.values()) or 1
    return f"  {title}: " + ", ".join(f"{kind} {n} ({n / whole:.1%})" for kind, n in counted.items()) + "."


def _matrix(audit: Audit) -> Iterator[str]:
    titles = {
        "complaint": "WHAT THE COMPLAINT ALONE COULD TELL (results shown with .5 or more, yes or no)",
        "checks": "WHAT EVERY CHECK TOGETHER COULD TELL (likewise)",
    }
    for name, title in titles.items():
        yield title
        yield f"  {'layout':<23}{'seen':>8}{'to 1 repair':>13}{'to 2':>9}{'to 3':>9}{'mean size':>12}"
        for layout, both in audit.matrix.items():
            m = both[name]
            seen, one, two, three = (f"{100 * share:.1f} %" for share in (m.detectable, *m.isolatable[:3]))
            yield f"  {layout:<23}{seen:>8}{one:>13}{two:>9}{three:>9}{m.mean_size:>12.2f}"
        yield ""


def _simulation(layout: str, one: Simulated) -> Iterator[str]:
    yield f"WHAT THE PLAN GETS OUT OF {one.runs} DRAWN TROUBLES ON {layout.upper()} (seed {one.seed}; 95 % interval)"
    for name, figure in one.figures.items():
        words, unit = WORDS[name]
        yield f"  {words:<48}{_number(figure.value, unit):>9}   {_interval(figure, unit)}"
    yield ""


def _number(value: float, unit: str) -> str:
    return f"{100 * value:.0f} %" if unit == "%" else f"{value:.{0 if unit else 1}f}{' ' + unit if unit else ''}"


def _interval(figure: Figure, unit: str) -> str:
    if not figure.count:
        return "nothing to count"
    bounds = (100 * figure.low, 100 * figure.high) if unit == "%" else (figure.low, figure.high)
    return "{:.{d}f} to {:.{d}f}".format(*bounds, d=0 if unit else 1)
