"""One module per calculation: `HELP`, `add(parser)` and `answer(args, known)`.

`run_` is for what a run gives, `bench_` for what is measured at a bench, `explain_` for how a thing works, `plan_` for what
work to plan. It must not calculate: it reads options, asks `calc/` and hands the answer on.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from diagnose.calc.answer import Answer
from diagnose.cli.calculations import (
    bench_leads,
    bench_plug,
    bench_points,
    bench_timing,
    explain_drop,
    explain_firing,
    explain_spark,
    explain_units,
    plan_rotation,
    plan_service,
    run_cold,
    run_compression,
    run_confirm,
    run_egt,
    run_mag,
    run_static,
)

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known


class Calculation(Protocol):
    """What a module of this package offers."""

    HELP: str

    def add(self, parser: argparse.ArgumentParser) -> None:
        """Add this calculation's options to `parser`."""

    def answer(self, args: argparse.Namespace, known: Known) -> Answer:
        """Return the answer for parsed options. Raises BadInput."""


ALL: dict[str, Calculation] = {
    "mag-check": run_mag,
    "static": run_static,
    "confirm": run_confirm,
    "egt": run_egt,
    "cold-cylinder": run_cold,
    "compression": run_compression,
    "timing": bench_timing,
    "points": bench_points,
    "plug": bench_plug,
    "lead": bench_leads,
    "plug-service": plan_service,
    "rotation": plan_rotation,
    "firing": explain_firing,
    "drop": explain_drop,
    "spark-voltage": explain_spark,
    "units": explain_units,
}


def add_arguments(parser: argparse.ArgumentParser, more: Callable[[argparse.ArgumentParser], None] | None = None) -> None:
    """Give `parser` one sub-parser for every calculation; the choice lands in `args.calc_command`.

    `more` may add the caller's own options to each.
    """
    subparsers = parser.add_subparsers(dest="calc_command", metavar="CALCULATION", required=True)
    for name, module in ALL.items():
        sub = subparsers.add_parser(name, help=module.HELP, description=module.HELP)
        module.add(sub)
        sub.add_argument("--json", action="store_true", help="print one JSON object with a schema field")
        if more is not None:
            more(sub)
