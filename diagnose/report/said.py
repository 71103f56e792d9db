"""What must be said of a trouble wherever it is shown, screen, document or paper."""

from __future__ import annotations

from diagnose.assessment.assess import Assessment
from diagnose.plan.rules import Bars
from diagnose.plan.warnings import standing_warnings
from diagnose.trouble.network import Network
from diagnose.trouble.trouble import Trouble


def alarms(network: Network, a: Assessment) -> tuple[str, ...]:
    """Return what must stand on every screen of this trouble; what always holds comes last."""
    return alarms_of(network, a.trouble, a.bars)


def alarms_of(network: Network, trouble: Trouble, bars: Bars) -> tuple[str, ...]:
    """Return the same from what forbids a step."""
    labels = dict.fromkeys(network.causes[c].cause.label for c in bars.suspects[:3])
    return standing_warnings(bars, trouble.aircraft, "; ".join(labels))
