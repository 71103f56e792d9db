"""One engine put together: which part stands at which place of a layout, sound and with its own small differences."""

from __future__ import annotations

from dataclasses import dataclass, field

from diagnose.places import SIDES, Layout
from diagnose.stand.parts import (
    Airframe,
    Around,
    Cylinder,
    Drive,
    Impulse,
    Lead,
    Magneto,
    Plug,
    Retard,
    StartGear,
    Supply,
    Switch,
)
from diagnose.stand.scatter import Scatter

TIMING_BTDC = 25.0  # 20, 23 and 25 degrees are published for three engines (airframe manuals)
PLUG_HOURS = 40.0
MAGNETO_HOURS = 200.0


@dataclass
class Build:
    """All parts of one engine by place; `crossed` maps a circuit's plug to the tower that really feeds it."""

    layout: Layout
    plugs: dict[str, Plug]
    leads: dict[str, Lead]
    magnetos: dict[str, Magneto]
    cylinders: dict[int, Cylinder]
    switch: Switch = field(default_factory=Switch)
    supply: Supply = field(default_factory=Supply)
    gear: StartGear = field(default_factory=StartGear)
    airframe: Airframe = field(default_factory=Airframe)
    around: Around = field(default_factory=Around)
    crossed: dict[str, str] = field(default_factory=dict)
    timing_btdc: float = TIMING_BTDC
    bore_in: float = 5.125
    pace: float = 1.0  # burn duration of this design over the usual one
    pitch: float = 1.0  # torque of this propeller over the usual one

    @property
    def interval(self) -> float:
        """Crank degrees from one firing to the next."""
        return 720.0 / self.layout.cylinders

    def ratio(self, side: str) -> float:
        """Magnet turns for one turn of the crank: cylinders over twice the poles (study notes, module 16.6)."""
        return self.layout.cylinders / (2 * self.layout.poles[side])

    def steps(self, first: int, second: int) -> int:
        """Firings from cylinder `first` to cylinder `second`, 0 when they are the same."""
        order = self.layout.firing_order
        return (order.index(second) - order.index(first)) % len(order)

    def next_fired(self, circuit: str) -> str:
        """Circuit of the same magneto that fires next."""
        return self.layout.related(circuit, "next_circuit")[0]


def cylinder_of(circuit: str) -> int:
    """Return the cylinder number of a circuit."""
    return int(circuit.split("-")[0])


def new_plug(scatter: Scatter, name: str, hours: float = PLUG_HOURS) -> Plug:
    """Return a sound plug with its own gap, resistor and a few hours' deposits; sizes of the spread are estimates."""
    return Plug(
        gap_in=0.0175 + 0.00003 * hours + scatter.fixed(f"{name} gap", 0.0006),
        worn=min(0.6, 0.0015 * hours),
        resistor_ohm=1500.0 + scatter.fixed(f"{name} resistor", 180.0),
        lead=min(0.3, 0.0015 * hours * scatter.chance(f"{name} lead")),
        soot=0.02 + 0.03 * scatter.chance(f"{name} soot"),
    )


def new_magneto(scatter: Scatter, name: str, drive: Drive, aid: str, hours: float = MAGNETO_HOURS) -> Magneto:
    """Return a sound magneto set on a drive."""
    magneto = Magneto(drive=drive, retard=Retard() if aid == "vibrator" else None, hours=hours)
    magneto.points.clearance_in = 0.018 + scatter.fixed(f"{name} clearance", 0.0005)
    magneto.points.follower_worn_in = 0.000002 * hours  # estimate
    magneto.capacitor.microfarad = 0.36 + scatter.fixed(f"{name} capacitor", 0.01)
    magneto.coil.primary_ohm = 0.8 + scatter.fixed(f"{name} primary", 0.04)
    magneto.coil.secondary_ohm = 16000.0 + scatter.fixed(f"{name} secondary", 700.0)
    return magneto


def new_drive(scatter: Scatter, name: str, aid: str) -> Drive:
    """Return a sound drive; magnets differ by a few per cent, fitting by half a degree (estimates)."""
    drive = Drive(magnet=1 + scatter.fixed(f"{name} magnet", 0.03), late_deg=scatter.fixed(f"{name} fitted", 0.5))
    drive.wander_deg = 0.4
    drive.impulse = Impulse() if aid == "impulse" else None
    return drive


def new_cylinder(scatter: Scatter, name: str) -> Cylinder:
    """Return a sound cylinder: fuel and air differ by 2 to 3 % between cylinders, leaks by a few psi (estimates)."""
    return Cylinder(
        fuel=1 + scatter.fixed(f"{name} fuel", 0.025),
        air=1 + scatter.fixed(f"{name} air", 0.015),
        rings=max(0.03, 0.24 + scatter.fixed(f"{name} rings", 0.05)),
        exhaust_valve=max(0.01, 0.06 + scatter.fixed(f"{name} exhaust", 0.02)),
        intake_valve=max(0.01, 0.05 + scatter.fixed(f"{name} intake", 0.015)),
    )


def _drives(layout: Layout, scatter: Scatter) -> dict[str, Drive]:
    aids = [layout.start_aid[side] for side in SIDES]
    if layout.drive == "single":
        shared = new_drive(scatter, "drive", "impulse" if "impulse" in aids else "none")
        return dict.fromkeys(SIDES, shared)
    return {side: new_drive(scatter, f"{side} drive", layout.start_aid[side]) for side in SIDES}


def sound_build(layout: Layout, scatter: Scatter) -> Build:
    """Return a sound engine of a layout; the same scatter gives the same engine."""
    drives = _drives(layout, scatter)
    return Build(
        layout=layout,
        plugs={c: new_plug(scatter, f"plug {c}") for c in layout.circuits},
        leads={c: Lead(ohm=1.0 + 0.5 * scatter.chance(f"lead {c}")) for c in layout.circuits},
        magnetos={s: new_magneto(scatter, f"{s} magneto", drives[s], layout.start_aid[s]) for s in SIDES},
        cylinders={n: new_cylinder(scatter, f"cylinder {n}") for n in range(1, layout.cylinders + 1)},
        pace=1 + scatter.fixed("pace", 0.03),  # designs differ: published drops run from 25 to 75 rpm (H-8083-32B p4-31)
        pitch=1 + scatter.fixed("pitch", 0.03),  # estimate
    )
