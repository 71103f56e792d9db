"""The `audit/1` document."""

from __future__ import annotations

from dataclasses import asdict
from math import isfinite
from typing import Any

from diagnose.audit import numbers
from diagnose.audit.dmatrix import MatrixFigures
from diagnose.audit.figures import Figure
from diagnose.audit.findings import NOTICE, PROBLEM
from diagnose.audit.whole import Audit, Simulated

DIGITS = 6


def document(audit: Audit) -> dict[str, Any]:
    """Return everything an audit found, for other programs."""
    base = audit.base
    return {
        "schema": "audit/1",
        "rulebase": {"version": base.settings.version, "sha256": base.sha256},
        "problems": [f.as_json() for f in audit.found if f.severity == PROBLEM],
        "notices": [f.as_json() for f in audit.found if f.severity == NOTICE],
        "counts": numbers.counts(base),
        "families": numbers.families(base),
        "numbers_by_source": numbers.by_kind(base),
        "links_by_source": numbers.backing(base),
        "matrix": {layout: {name: _matrix(m) for name, m in both.items()} for layout, both in audit.matrix.items()},
        "simulation": {layout: _simulated(one) for layout, one in audit.simulated.items()},
    }


def _matrix(m: MatrixFigures) -> dict[str, Any]:
    return {
        "detectable": round(m.detectable, DIGITS),
        "isolatable": [round(i, DIGITS) for i in m.isolatable],
        "mean_group_size": round(m.mean_size, DIGITS),
        "groups": m.groups,
    }


def _simulated(one: Simulated) -> dict[str, Any]:
    return {"runs": one.runs, "seed": one.seed, "figures": {name: _figure(f) for name, f in one.figures.items()}}


def _figure(figure: Figure) -> dict[str, Any]:
    """Return a figure as JSON; a bound that is not known is null."""
    return {
        name: round(value, DIGITS) if isinstance(value, float) and isfinite(value) else (None if isinstance(value, float) else value)
        for name, value in asdict(figure).items()
    }
