"""What must be said of a trouble wherever it is shown, screen, document or paper."""

from __future__ import annotations

from diagnose.assessment.assess import Assessment
from diagnose.places import kind_of
from diagnose.plan.rules import Bars
from diagnose.plan.warnings import standing_warnings
from diagnose.trouble.network import Network
from diagnose.trouble.trouble import Trouble

PARTS = {"circuit": ("Plug", "Lead"), "side": ("Magneto",), "cylinder": ("Cylinder",)}  # what a label may begin with at such a place
PLACED = {"circuit": "No. {0} {1}", "side": "{0} magneto", "cylinder": "No. {0} cylinder"}


def cause_name(network: Network, cause: str, away: str = "") -> str:
    """Return a located cause, place first and the part named once: "No. 3 bottom plug: fouled with lead".

    `away`: where the part stands since an exchange.
    """
    located = network.causes[cause]
    kind, label = kind_of(located.place), located.cause.label
    if kind not in PLACED:
        return label
    where = PLACED[kind].format(*located.place.split("-"))
    part, _, rest = label.partition(" ")
    if part in PARTS[kind] and rest:
        label = rest
        where = where if where.endswith(part.lower()) else f"{where} {part.lower()}"
    label = label[0].lower() + label[1:] if label[1:2].islower() or label[1:2] == " " else label
    return f"{where}{f', now in {away}' if away else ''}: {label}"


def alarms(network: Network, a: Assessment) -> tuple[str, ...]:
    """Return what must stand on every screen of this trouble; what always holds comes last."""
    return alarms_of(network, a.trouble, a.bars)


def alarms_of(network: Network, trouble: Trouble, bars: Bars) -> tuple[str, ...]:
    """Return the same from what forbids a step."""
    labels = dict.fromkeys(network.causes[c].cause.label for c in bars.suspects[:3])
    return standing_warnings(bars, trouble.aircraft, "; ".join(labels))
