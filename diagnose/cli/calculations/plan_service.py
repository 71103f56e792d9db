"""`calc plug-service`: the steps of plug service in order, and torque in the wrench's units."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.plug_service import TORQUE_SPAN, service_answer
from diagnose.cli.calculations.options import add_document, add_layout, in_span, read_layout
from diagnose.problems import BadInput

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "plug service in order, with times and cautions, and torque in the wrench's units"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the service plan."""
    add_layout(parser)
    parser.add_argument("--torque-low", metavar="T", help='your manual\'s, with unit: "300 lb-in"')
    parser.add_argument("--torque-high", metavar="T", help='your manual\'s, with unit: "360 lb-in"')
    add_document(parser)


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the service plan. Raises BadInput."""
    low = in_span(args.torque_low, "torque", "torque, lower", TORQUE_SPAN)
    high = in_span(args.torque_high, "torque", "torque, upper", TORQUE_SPAN)
    if (low is None) != (high is None):
        raise BadInput("torque: only one end given; give --torque-low and --torque-high")
    torque = None if low is None or high is None else (low, high)
    plugs = len(read_layout(args, known).circuits)
    return service_answer(plugs, torque, args.document, args.revision)
