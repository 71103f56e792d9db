"""One module per calculation: ``HELP``, ``add(parser)`` and ``answer(args, find_layout)``."""

import argparse
from collections.abc import Callable
from typing import Protocol

from diagnose.calc.commands import (
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
from diagnose.calc.layout import EngineLayout
from diagnose.calc.record import Answer


class Calculation(Protocol):
    """What a module of this package offers."""

    HELP: str

    def add(self, parser: argparse.ArgumentParser) -> None:
        """Add this calculation's options to ``parser``."""

    def answer(self, args: argparse.Namespace, find_layout: Callable[[str], EngineLayout]) -> Answer:
        """The answer for parsed options. Raises CalcError or RowsError."""


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
