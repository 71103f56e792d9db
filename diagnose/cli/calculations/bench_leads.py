"""`calc lead`: insulation and continuity of one high-tension lead."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from diagnose.calc.answer import Answer
from diagnose.calc.circuits import side_of
from diagnose.calc.leads import CONTINUITY, INSULATION, LeadLimits, LeadReadings, lead_answer
from diagnose.calc.units import positive, written_in
from diagnose.cli.calculations.options import add_document, add_layout, entered, over_range, quantity, read_layout

if TYPE_CHECKING:
    from diagnose.cli.calculations.known import Known

HELP = "one high-tension lead: insulation and continuity"


def add(parser: argparse.ArgumentParser) -> None:
    """Add the options of the lead check."""
    add_layout(parser)
    parser.add_argument("--lead", required=True, metavar="PLACE", help="the plug it goes to, such as 3-bottom")
    parser.add_argument("--insulation", metavar="R", help='with unit: "250 Mohm"; "over" beyond the meter')
    parser.add_argument("--test-voltage", metavar="V", help='with unit: "10 kV"')
    parser.add_argument("--continuity", metavar="R", help='with unit: "2 ohm"; "over" for no path')
    parser.add_argument("--flexed", action="store_true", help="lead was bent while measuring")
    parser.add_argument("--insulation-limit", metavar="R", help="your manual's lower limit, with unit")
    parser.add_argument("--continuity-limit", metavar="R", help="your manual's upper limit, with unit")
    add_document(parser)


def _in(text: str | None, what: str, unit: str) -> float | None:
    read = quantity(text, "resistance", what)
    if read is None:
        return None
    positive([read.value], what)
    return written_in(read, unit)


def answer(args: argparse.Namespace, known: Known) -> Answer:
    """Return the lead check. Raises BadInput."""
    side_of(read_layout(args, known), args.lead)
    leak_over, open_over = over_range(args.insulation), over_range(args.continuity)
    readings = LeadReadings(
        circuit=args.lead,
        insulation=None if leak_over else quantity(args.insulation, "resistance", "insulation"),
        insulation_over=leak_over,
        test_voltage=quantity(args.test_voltage, "voltage", "test voltage"),
        continuity=None if open_over else quantity(args.continuity, "resistance", "continuity"),
        continuity_over=open_over,
        flexed=args.flexed,
    )
    limits = LeadLimits(
        entered(INSULATION, _in(args.insulation_limit, "insulation limit", "Mohm"), args, known),
        entered(CONTINUITY, _in(args.continuity_limit, "continuity limit", "ohm"), args, known),
    )
    return lead_answer(readings, limits)
