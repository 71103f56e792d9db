"""The parts of an engine as they are on the day: plugs, leads, magnetos, switch, cylinders, the rest.

Every field is physical and starts sound. Numbers: gap and clearance as published (the sources stand beside them);
electrical limits without a source are estimates.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass
class Plug:
    """One spark plug. Deposits run from 0 (none) to 1 (as much as a plug can hold)."""

    gap_in: float = 0.018  # books: 0.015 to 0.018 and 0.017 to 0.021 (airframe manuals of 1986 and 1989)
    worn: float = 0.0  # 0 new edges and full electrodes, 1 electrodes at half size (limit in two airframe manuals)
    resistor_ohm: float = 1500.0  # new plugs 1,000 to 2,000 ohm (trade; study notes module 16.6)
    lead: float = 0.0
    soot: float = 0.0
    oil: float = 0.0
    glaze: float = 0.0
    metal: float = 0.0
    water: float = 0.0  # water or ice between the electrodes or on the nose
    fuel: float = 0.0  # wet with fuel that did not burn
    bridged: bool = False
    shorted: bool = False  # thread compound or graphite on the nose
    crack: float = 0.0  # 0 sound insulator; 1 breaks down as soon as it is loaded
    well: float = 0.0  # dirt or water in the terminal well, 0 to 1
    hot_spot: float = 0.0  # 0 none; 1 lights the charge by itself at high power
    heat_range: int = 0  # -1 too cold for the engine, +1 too hot
    loose: bool = False


@dataclass
class Lead:
    """One high-tension lead with its terminals."""

    ohm: float = 1.0  # a sound wire lead showed under 2 ohm (owner's case)
    gap_mm: float = 0.0  # a break, a terminal that does not touch: the spark must jump it
    opens: float = 0.0  # chance that the break acts in one run (flexing, heat)
    hurt: float = 0.0  # 0 sound insulation; 1 goes to the shield at any voltage
    damp: float = 0.0  # how far water lowers it, 0 to 1
    terminal_dirt: float = 0.0
    shield_broken: bool = False


@dataclass
class Points:
    """Main contact points and follower."""

    clearance_in: float = 0.018  # 0.018 +/- 0.006 in on one model (FAA-H-8083-32B p4-29)
    follower_worn_in: float = 0.0
    contact_ohm: float = 0.02  # estimate
    face: str = "frosted"  # frosted (sound), pitted, mound, oily, coarse, blue
    weak_spring: float = 0.0  # 0 sound; 1 floats from about 1,500 rpm of the magnet
    shut: bool = False  # never open


@dataclass
class Capacitor:
    """Primary capacitor. `state`: sound, open, shorted, weak, through_open (feed-through broken inside)."""

    microfarad: float = 0.36  # 0.34 to 0.41, and 0.35 +/- 10 % (airframe manuals)
    state: str = "sound"
    acts: float = 1.0  # chance that the fault acts in one run


@dataclass
class Coil:
    """Primary and secondary winding."""

    primary_ohm: float = 0.8  # 0.50 to 1.2 (one airframe manual)
    secondary_ohm: float = 16000.0  # 13,000 to 20,500 (one airframe manual)
    shorted_turns: float = 0.0  # share of the secondary that is lost
    break_mm: float = 0.0  # break in the secondary that the spark jumps
    fails_hot: float = 0.0  # share of the voltage lost when fully hot
    loose_primary: float = 0.0  # chance that the primary terminal opens in one run


@dataclass
class Distributor:
    """Block, finger, gears and brush of one magneto."""

    tracked: dict[str, float] = field(default_factory=dict)  # circuit -> 0 to 1, 1 leaks at any voltage
    damp: float = 0.0  # water and dirt inside
    stray: float = 0.0  # share of sparks that reach another tower (cracked block, worn bushing, gear)
    finger_gap_mm: float = 0.4  # ordinary clearance of a jump distributor: estimate
    brush_gap_mm: float = 0.0
    oil: float = 0.0


@dataclass
class Impulse:
    """Impulse coupling."""

    lag_magnet_deg: float = 25.0  # 15, 20 and 25 are printed on one family (airframe manuals), 30 in the trade
    catches: float = 1.0  # share of turns on which the flyweights catch
    spring: float = 1.0  # share of its strength
    stays_back: bool = False  # retard stays on while running
    worn: float = 0.0
    magnetised: bool = False


@dataclass
class Retard:
    """Retard points of a vibrator magneto."""

    angle_magnet_deg: float = 30.0  # degrees after the main points: estimate within published 25 to 37.5
    stuck: str = ""  # "", open (start uses the main points' moment), closed (no start spark)


@dataclass
class Drive:
    """Gear, shaft, magnet and fixing to the engine; shared by both sides of a single-drive magneto."""

    magnet: float = 1.0  # strength
    late_deg: float = 0.0  # crank degrees that the housing stands late (negative: early)
    wander_deg: float = 0.0  # play in gear and shaft: standard deviation of the spark in crank degrees
    pad_loose_deg: float = 0.0  # the same from a housing loose on its pad
    sheared: bool = False
    e_gap_off_deg: float = 0.0  # magnet degrees by which the points open off the E-gap, engine timing right
    impulse: Impulse | None = None
    turns_wrong: bool = False  # built for the other rotation


@dataclass
class PLead:
    """Ground lead of one magneto. `state`: good, open, grounded."""

    state: str = "good"
    acts: float = 1.0  # chance that the fault acts in one run
    spot: str = ""  # name of a place shared with the other lead, where both act together


@dataclass
class Magneto:
    """One side: its own electrical parts on a drive that may be shared."""

    drive: Drive = field(default_factory=Drive)
    points: Points = field(default_factory=Points)
    capacitor: Capacitor = field(default_factory=Capacitor)
    coil: Coil = field(default_factory=Coil)
    distributor: Distributor = field(default_factory=Distributor)
    retard: Retard | None = None
    p_lead: PLead = field(default_factory=PLead)
    hours: float = 200.0


@dataclass
class Switch:
    """Ignition switch.

    `missing` holds (side, position) pairs that should be grounded and are not; `extra` pairs that are and should
    not be; `acts` is the chance that an extra ground acts in one run.
    """

    missing: set[tuple[str, str]] = field(default_factory=set)
    extra: set[tuple[str, str]] = field(default_factory=set)
    acts: float = 1.0
    crossed: bool = False
    key_out_anywhere: bool = False


@dataclass
class Cylinder:
    """One cylinder: charge and sealing. Leaks are areas in units of the tester's orifice."""

    fuel: float = 1.0  # share of its proper fuel
    air: float = 1.0  # share of its proper air
    pipe_leak: float = 0.0  # area of a leak in its induction pipe, 0.1 small, 1 pipe off
    rings: float = 0.24  # a sound cylinder reads in the seventies of 80: about 0.35 in all (compression.py)
    exhaust_valve: float = 0.06
    intake_valve: float = 0.05
    sticks_cold: float = 0.0  # share of cycles a valve hangs open when cold
    sticks_warm: float = 0.0
    clearance_off: float = 0.0  # valve clearance, -1 far too little to +1 far too much
    oil: float = 0.0  # oil past rings or guides, 0 to 1
    glows: float = 0.0  # carbon or an edge that glows at power, 0 to 1


@dataclass
class Supply:
    """What all cylinders share: mixture, idle, primer, fuel, air."""

    mixture: float = 1.0  # factor on the fuel at running speeds
    idle_mixture: float = 1.0
    primer_leak: float = 0.0
    starved: float = 0.0  # share of the fuel that does not come at high flow
    water: float = 0.0
    air_blocked: float = 0.0
    exhaust_choked: float = 0.0


@dataclass
class StartGear:
    """Battery, starter and vibrator."""

    battery: float = 1.0  # share of full voltage while cranking
    vibrator: str = "sound"  # sound, dead, weak


@dataclass
class Airframe:
    """Propeller, mount and the instruments' own faults."""

    propeller_unbalance: float = 0.0
    mount: float = 0.0
    tach_bias: float = 0.0  # share
    tach_sticks_rpm: float = 0.0
    tach_from: str = ""  # side whose P-lead feeds the tachometer
    probe_dead: set[int] = field(default_factory=set)
    probe_weak: dict[int, float] = field(default_factory=dict)  # cylinder -> share of the true change it shows
    probe_of: dict[int, int] = field(default_factory=dict)  # channel -> cylinder it really sees
    radio_noise: bool = False


@dataclass
class Around:
    """Engine and airframe around the ignition: extra friction in bar, shaking, torque and temperatures off by cylinder."""

    drag: float = 0.0
    drag_acts: float = 1.0  # chance that the drag acts in one run
    drag_at_power: float = 0.0  # grows with manifold pressure
    shake: float = 0.0  # with the square of rpm, as an unbalance does
    counterweights: float = 0.0  # shaking in a band of rpm near full power
    panel: float = 0.0  # buzzes near full power
    weak: dict[int, float] = field(default_factory=dict)  # cylinder -> share of its torque that is lost
    head_off: dict[int, float] = field(default_factory=dict)  # cylinder -> deg F
    exhaust_off: dict[int, float] = field(default_factory=dict)  # cylinder -> deg F that its probe reads beside the truth
    whine: bool = False  # in the radio, not from ignition
