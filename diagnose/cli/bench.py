"""`calc`: bench arithmetic with the layouts of the rule base."""

from __future__ import annotations

import argparse

from diagnose import session
from diagnose.calc.command import run
from diagnose.calc.layout import EngineLayout, make_layout
from diagnose.calc.problem import CalcError
from diagnose.problems import BadInput


def calc(args: argparse.Namespace) -> int:
    """Run one calculation."""
    return run(args, _layout)


def _layout(name: str) -> EngineLayout:
    try:
        layout = session.layout_named(session.rulebase(), name)
    except BadInput as error:
        raise CalcError(str(error), "the layout", "see `diagnose show layouts`") from None
    return make_layout(layout.firing_order, layout.fires, max(layout.poles.values()), name)
