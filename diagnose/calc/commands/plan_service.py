"""``calc plug-service``: the steps of plug service in order, and torque in the wrench's units."""

import argparse

from diagnose.calc.commands.options import FindLayout, add_document, add_layout, in_span, read_layout
from diagnose.calc.layout import all_circuits
from diagnose.calc.plug_service import TORQUE_SPAN, service_answer
from diagnose.calc.problem import CalcError
from diagnose.calc.record import Answer

HELP = "plug service in order, with times and cautions, and torque in the wrench's units"


def add(parser: argparse.ArgumentParser) -> None:
    """Options of the service plan."""
    add_layout(parser)
    parser.add_argument("--torque-low", metavar="T", help='your manual\'s, with unit: "300 lb-in"')
    parser.add_argument("--torque-high", metavar="T", help='your manual\'s, with unit: "360 lb-in"')
    add_document(parser)


def answer(args: argparse.Namespace, find_layout: FindLayout) -> Answer:
    """The service plan. Raises CalcError."""
    low = in_span(args.torque_low, "torque", "torque, lower", TORQUE_SPAN)
    high = in_span(args.torque_high, "torque", "torque, upper", TORQUE_SPAN)
    if (low is None) != (high is None):
        raise CalcError("torque", "only one end given", "give --torque-low and --torque-high")
    torque = None if low is None or high is None else (low, high)
    plugs = len(all_circuits(read_layout(args, find_layout)))
    return service_answer(plugs, torque, args.document, args.revision)
