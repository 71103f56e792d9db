"""Faults inside magnetos, of their drive and timing, of start aids, ground leads and switch."""

from __future__ import annotations

from diagnose.places import SIDES
from diagnose.stand.build import Build
from diagnose.stand.fault_kinds import Kind, Setter, Size, Sizes, acting, amount
from diagnose.stand.parts import PLead


def _part(part: str, name: str, value: object | None = None, size: str = "amount") -> Setter:
    """Set one field of one part of a side's magneto, to a fixed value or to a size."""

    def put(build: Build, place: str, sizes: Sizes) -> None:
        setattr(getattr(build.magnetos[place], part), name, sizes[size] if value is None else value)

    return put


def _points(face: str, name: str = "", scale: float = 1.0) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        points = build.magnetos[place].points
        points.face = face
        if name:
            setattr(points, name, scale * sizes["amount"])

    return put


def _follower(build: Build, place: str, sizes: Sizes) -> None:
    build.magnetos[place].points.follower_worn_in += sizes["amount"]


def _eroded(build: Build, place: str, sizes: Sizes) -> None:
    build.magnetos[place].points.clearance_in += sizes["amount"]


def _capacitor(state: str, face: str = "") -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        magneto = build.magnetos[place]
        magneto.capacitor.state, magneto.capacitor.acts = state, sizes["acts"]
        magneto.points.face = face or magneto.points.face

    return put


def _track(build: Build, place: str, sizes: Sizes) -> None:
    build.magnetos[build.layout.side_of[place]].distributor.tracked[place] = sizes["amount"]


def _oil(build: Build, place: str, sizes: Sizes) -> None:
    magneto = build.magnetos[place]
    magneto.distributor.oil, magneto.points.face = sizes["amount"], "oily"


def _late(sign: float) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        build.magnetos[place].drive.late_deg += sign * sizes["degrees"]

    return put


def _loose(build: Build, place: str, sizes: Sizes) -> None:
    drive = build.magnetos[place].drive
    drive.late_deg, drive.pad_loose_deg = drive.late_deg + sizes["degrees"], sizes["wander"]


def _rotation(build: Build, place: str, sizes: Sizes) -> None:
    magneto = build.magnetos[place]
    magneto.drive.turns_wrong, magneto.drive.wander_deg = True, 6.0
    magneto.drive.late_deg += sizes["degrees"]
    magneto.drive.e_gap_off_deg = 15.0
    magneto.distributor.stray = 0.15


def _impulse(name: str, value: object | None = None) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        impulse = build.magnetos[place].drive.impulse
        if impulse is not None:
            setattr(impulse, name, sizes["amount"] if value is None else value)
            impulse.worn = 0.8 if name == "catches" else impulse.worn

    return put


def _retard(stuck: str) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        retard = build.magnetos[place].retard
        if retard is not None:
            retard.stuck = stuck

    return put


def _vibrator(state: str) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        build.gear.vibrator = state

    return put


def _battery(build: Build, place: str, sizes: Sizes) -> None:
    build.gear.battery = sizes["amount"]


def _p_lead(state: str, both: bool = False) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        for side in SIDES if both else (place,):
            build.magnetos[side].p_lead = PLead(state, sizes["acts"], "one spot" if both else "")

    return put


def _missing(position: str) -> Setter:
    """Leave a side ungrounded in a position; `other` is the position that selects the other side."""

    def put(build: Build, place: str, sizes: Sizes) -> None:
        other = "right" if place == "left" else "left"
        build.switch.missing.add((place, other if position == "other" else position))

    return put


def _extra(positions: tuple[str, ...]) -> Setter:
    def put(build: Build, place: str, sizes: Sizes) -> None:
        build.switch.extra |= {(place, at) for at in positions} | ({(place, place)} if "own" in positions else set())
        build.switch.acts = sizes["acts"]

    return put


def _switch_crossed(build: Build, place: str, sizes: Sizes) -> None:
    build.switch.crossed = True


def _key(build: Build, place: str, sizes: Sizes) -> None:
    build.switch.key_out_anywhere = True
    build.switch.missing.add((place, "off"))


DEGREES = {"degrees": Size(5.0, 0.5, 30.0, "crank deg")}
KINDS = (
    Kind("points.follower-wear", "points", "side", "follower worn, opens late", _follower, {"amount": Size(0.007, 0.001, 0.012, "in")}),
    Kind(
        "points.eroded", "points", "side", "faces eroded, clearance wide, opens early", _eroded, {"amount": Size(0.006, 0.001, 0.02, "in")}
    ),
    Kind(
        "points.pitted",
        "points",
        "side",
        "burnt by dirt, resistance between the faces",
        _points("pitted", "contact_ohm"),
        amount(0.8, 0.0, 5.0, "ohm"),
    ),
    Kind("points.oily", "points", "side", "oil on the faces", _points("oily", "contact_ohm"), amount(1.0, 0.0, 10.0, "ohm")),
    Kind("points.mound", "points", "side", "metal carried over, spring lazy", _points("mound", "weak_spring"), amount(0.7)),
    Kind("points.weak-spring", "points", "side", "spring weak, contacts float at speed", _part("points", "weak_spring"), amount(0.85)),
    Kind("points.never-open", "points", "side", "contacts stay shut", _part("points", "shut", True)),
    Kind("capacitor.open", "capacitor", "side", "open, points burn, spark weak", _capacitor("open", "coarse"), acting()),
    Kind("capacitor.weak", "capacitor", "side", "leaks under voltage", _capacitor("weak", "blue"), acting()),
    Kind("capacitor.shorted", "capacitor", "side", "shorted, primary grounded", _capacitor("shorted"), acting()),
    Kind("capacitor.through-open", "capacitor", "side", "feed-through open, cannot be grounded", _capacitor("through_open"), acting()),
    Kind("coil.fails-hot", "coil", "side", "insulation fails when hot", _part("coil", "fails_hot"), amount(0.9)),
    Kind(
        "coil.secondary-open",
        "coil",
        "side",
        "break in the secondary that the spark jumps",
        _part("coil", "break_mm"),
        amount(3.0, 0.2, 20.0, "mm"),
    ),
    Kind("coil.shorted-turns", "coil", "side", "turns shorted", _part("coil", "shorted_turns"), amount(0.4)),
    Kind(
        "coil.loose-primary",
        "coil",
        "side",
        "primary terminal loose",
        _part("coil", "loose_primary"),
        amount(0.5, 0.01, 1.0, "chance a run"),
    ),
    Kind("distributor.track", "distributor", "circuit", "track at one tower", _track, amount(0.7)),
    Kind("distributor.damp", "distributor", "side", "water or dirt inside", _part("distributor", "damp"), amount(1.0)),
    Kind(
        "distributor.stray",
        "distributor",
        "side",
        "cracked block, loose bushing or teeth gone",
        _part("distributor", "stray"),
        amount(0.15, 0.01, 0.9),
    ),
    Kind(
        "distributor.brush", "distributor", "side", "brush stuck back", _part("distributor", "brush_gap_mm"), amount(6.0, 0.5, 20.0, "mm")
    ),
    Kind("distributor.oil", "distributor", "side", "oil through the drive seal", _oil, amount(0.9)),
    Kind("magnet.weak", "drive", "side", "magnet weak", _part("drive", "magnet"), amount(0.5, 0.05, 0.9)),
    Kind("drive.play", "drive", "side", "play in gear or coupling", _part("drive", "wander_deg"), amount(6.0, 1.0, 20.0, "crank deg")),
    Kind("drive.sheared", "drive", "side", "drive gone", _part("drive", "sheared", True)),
    Kind("drive.jumped", "drive", "side", "jumped a tooth", _late(1.0), {"degrees": Size(18.0, 5.0, 40.0, "crank deg")}),
    Kind(
        "drive.wrong-rotation",
        "drive",
        "side",
        "magneto for the other rotation",
        _rotation,
        {"degrees": Size(20.0, 5.0, 40.0, "crank deg")},
    ),
    Kind(
        "internal.e-gap",
        "internal timing",
        "side",
        "points off the E-gap",
        _part("drive", "e_gap_off_deg", None, "degrees"),
        {"degrees": Size(12.0, -17.0, 17.0, "magnet deg")},
    ),
    Kind("timing.late", "timing", "side", "set late to the engine", _late(1.0), DEGREES),
    Kind("timing.early", "timing", "side", "set early to the engine", _late(-1.0), DEGREES),
    Kind("timing.loose", "timing", "side", "loose on its pad", _loose, {**DEGREES, "wander": Size(4.0, 0.5, 15.0, "crank deg")}),
    Kind("impulse.never-catches", "impulse", "side with a coupling", "flyweights gummed or worn", _impulse("catches", 0.0)),
    Kind(
        "impulse.catches-at-times",
        "impulse",
        "side with a coupling",
        "pawls rounded",
        _impulse("catches"),
        amount(0.4, 0.01, 0.99, "share of turns"),
    ),
    Kind("impulse.magnetised", "impulse", "side with a coupling", "flyweights magnetised", _impulse("magnetised", True)),
    Kind("impulse.spring", "impulse", "side with a coupling", "spring weak or broken", _impulse("spring"), amount(0.3)),
    Kind("impulse.stays-back", "impulse", "side with a coupling", "retard stays on while running", _impulse("stays_back", True)),
    Kind("vibrator.dead", "vibrator", "engine with a vibrator", "vibrator or its feed dead", _vibrator("dead")),
    Kind("vibrator.weak", "vibrator", "engine with a vibrator", "vibrator weak", _vibrator("weak")),
    Kind("retard.stuck-closed", "vibrator", "side with retard points", "retard points do not open", _retard("closed")),
    Kind("retard.stuck-open", "vibrator", "side with retard points", "retard points do not close", _retard("open")),
    Kind("battery.low", "battery", "engine", "battery or starter circuit low", _battery, amount(0.35, 0.05, 0.9)),
    Kind("p-lead.open", "ground lead", "side", "broken or off", _p_lead("open"), acting()),
    Kind("p-lead.grounded", "ground lead", "side", "touches ground", _p_lead("grounded"), acting()),
    Kind("p-leads.both-grounded", "ground lead", "engine", "both touch ground at one spot", _p_lead("grounded", True), acting(0.5)),
    Kind("switch.off-open", "switch", "side", "side not grounded in OFF", _missing("off")),
    Kind("switch.contact-open", "switch", "side", "side not grounded when the other is selected", _missing("other")),
    Kind("switch.start-grounds", "switch", "side", "side grounded in START", _extra(("start",)), acting()),
    Kind("switch.grounds", "switch", "side", "side grounded where it should run", _extra(("both", "own", "start")), acting(0.6)),
    Kind("switch.crossed", "switch", "engine", "ground leads exchanged", _switch_crossed),
    Kind("switch.key-out", "switch", "side", "worn lock, side live with the key out", _key),
)
