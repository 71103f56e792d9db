"""The engine with every circuit and magneto, each filled by how suspect it is."""

from __future__ import annotations

from math import cos, pi, sin

from diagnose.assessment.assess import Assessment
from diagnose.places import SIDES, Layout
from diagnose.report.pictures.levels import fillings, legend, level, short_percent
from diagnose.report.pictures.seats import MIDDLE, Point, Seats, seats, two_rows
from diagnose.report.pictures.suspicion import place_shares, repaired_places, repairs_made
from diagnose.report.pictures.svg import LARGE, NORMAL, PALE, PAPER, SMALL, Canvas
from diagnose.report.screens import place_words
from diagnose.trouble.network import Network

DASH = {"left": "", "right": "4 2.5"}  # whatever belongs to the right magneto is drawn broken
SHOWN = 0.01
MOST_ELSEWHERE = 6
THICK_FROM = 3  # the level from which a lead is drawn thick


class _Map:
    """One engine map under way."""

    def __init__(self, network: Network, assessment: Assessment, prefix: str) -> None:
        self.layout = network.layout
        self.network = network
        self.shares = place_shares(network, assessment)
        self.repaired = repaired_places(network, assessment)
        self.seats = seats(network.layout)
        self.canvas = Canvas(prefix)
        self.fills = fillings(self.canvas)


def engine_map(network: Network, assessment: Assessment, prefix: str = "engine-map") -> str:
    """Return the engine seen from above (opposed) or from behind (radial) as SVG.

    A hexagon is a plug with its lead, the boxes are the magnetos; pattern and number say how likely a cause there is
    responsible for the complaint (is present, while there is no complaint). `prefix` keeps ids apart within a page.
    """
    made = _Map(network, assessment, prefix)
    if made.layout.kind == "opposed":
        _opposed_body(made)
    else:
        _radial_body(made)
    _magnetos(made)
    for circuit, spot in made.seats.plugs.items():
        _plug(made, circuit, spot)
    for cylinder, spot in made.seats.cylinders.items():
        _number(made, cylinder, spot)
    bottom = _under(made, assessment)
    return made.canvas.document(_title(made.layout), _says(made, assessment), bottom + 6)


def _hexagon(spot: Point, radius: float) -> list[Point]:
    return [(spot[0] + radius * cos(pi * k / 3), spot[1] + radius * sin(pi * k / 3)) for k in range(6)]


def _opposed_body(made: _Map) -> None:
    canvas, layout, spots = made.canvas, made.layout, made.seats
    last = max(y for _, y in spots.cylinders.values())
    canvas.text(MIDDLE, 14, "front (propeller)", NORMAL, "middle")
    canvas.shape([(96, 25), (MIDDLE, 20), (264, 25), (MIDDLE, 30)])
    canvas.shape([(170, 30), (190, 30), (218, 44), (218, last + 36), (142, last + 36), (142, 44)])
    for x, y in spots.cylinders.values():
        canvas.box(x - 68, y - 32, 136, 60, width=1.2)
    channels = _channels(layout, spots)
    for circuit, channel in channels.items():
        _bent_lead(made, circuit, channel)


def _channels(layout: Layout, spots: Seats) -> dict[str, float]:
    """Return where each lead runs down the middle: those of the left magneto left, front cylinders innermost."""
    found = {}
    for side, outwards in (("left", -1), ("right", 1)):
        mine = sorted(layout.fires[side], key=lambda c: (spots.plugs[c][1], spots.plugs[c][0]))
        step = 29.0 / len(mine)
        for number, circuit in enumerate(mine):
            found[circuit] = MIDDLE + outwards * (4 + step * number)
    return found


def _bent_lead(made: _Map, circuit: str, channel: float) -> None:
    layout, spots = made.layout, made.seats
    x, y = spots.plugs[circuit]
    over = y - (19 if circuit.split("-")[1] == layout.positions[-1] else 15)
    side = layout.side_of[circuit]
    made.canvas.line([(x, y), (x, over), (channel, over), (channel, spots.magnetos[side][1] - 13)], _thick(made, circuit), DASH[side])


def _thick(made: _Map, circuit: str) -> float:
    return 2.4 if level(made.shares.get(circuit, 0.0)) >= THICK_FROM else 0.9


def _radial_body(made: _Map) -> None:
    canvas, layout, spots = made.canvas, made.layout, made.seats
    middle = spots.magnetos["left"][1]
    core = 62.0
    for x, y in spots.cylinders.values():
        long = ((x - MIDDLE) ** 2 + (y - middle) ** 2) ** 0.5
        ax, ay = (x - MIDDLE) / long, (y - middle) / long
        near, half = core - 4, 11.0
        start, end = (MIDDLE + ax * near, middle + ay * near), (x, y)
        canvas.shape([(p[0] + s * half * -ay, p[1] + s * half * ax) for p, s in ((start, 1), (end, 1), (end, -1), (start, -1))])
    canvas.circle(MIDDLE, middle, core)
    for circuit, (x, y) in spots.plugs.items():
        side = layout.side_of[circuit]
        canvas.line([(x, y), spots.magnetos[side]], _thick(made, circuit), DASH[side], PALE)
    wide, high = (58.0, 40.0) if two_rows(layout) else (70.0, 46.0)
    for x, y in spots.cylinders.values():
        canvas.box(x - wide / 2, y - high / 2, wide, high, width=1.2)


def _magnetos(made: _Map) -> None:
    canvas, opposed = made.canvas, made.layout.kind == "opposed"
    wide, high = (92.0, 26.0) if opposed else ((46.0, 24.0) if two_rows(made.layout) else (62.0, 26.0))
    if made.layout.drive == "single":
        (x1, y), (x2, _) = made.seats.magnetos["left"], made.seats.magnetos["right"]
        canvas.box(x1 - wide / 2 - 5, y - high / 2 - 5, x2 - x1 + wide + 10, high + 25, PAPER, 1.6)
        canvas.text(x2 + wide / 2 + 9, y + 4, "one drive", NORMAL)
    for side in SIDES:
        x, y = made.seats.magnetos[side]
        share = made.shares.get(side, 0.0)
        _outlined(
            made,
            side,
            [(x - wide / 2, y - high / 2), (x + wide / 2, y - high / 2), (x + wide / 2, y + high / 2), (x - wide / 2, y + high / 2)],
        )
        _repair_mark(made, side, (x - wide / 2, y - high / 2))
        canvas.box(x - 16, y - 7.5, 32, 15, PAPER, 0.6)
        canvas.text(x, y + 4.2, short_percent(share), NORMAL, "middle", "bold", of=side)
        canvas.text(x, y + high / 2 + 13, f"{side} magneto" if opposed else side, NORMAL, "middle", "halo")


def _outlined(made: _Map, place: str, points: list[Point]) -> None:
    """Draw a place in its filling; a second line around it, and its number, say that it was repaired."""
    share = made.shares.get(place, 0.0)
    side = made.layout.side_of.get(place, place)
    x, y = (sum(p[i] for p in points) / len(points) for i in (0, 1))
    if place in made.repaired:
        made.canvas.shape([(px + (3 if px > x else -3), py + (3 if py > y + 1 else -3 if py < y - 1 else 0)) for px, py in points])
    made.canvas.shape(points, made.fills[level(share)], 1.4, DASH[side], place=place, level=str(level(share)))


def _repair_mark(made: _Map, place: str, spot: Point) -> None:
    """Write on a repaired place which repair it was: R1 the first."""
    if place in made.repaired:
        text = f"R{','.join(str(n) for n in made.repaired[place])}"
        wide = 6.5 * len(text) + 3
        made.canvas.box(spot[0] - wide / 2, spot[1] - 6.5, wide, 13, PAPER, 0.8)
        made.canvas.text(spot[0], spot[1] + 3.8, text, SMALL, "middle", "bold", repaired=place)


def _plug(made: _Map, circuit: str, spot: Point) -> None:
    opposed = made.layout.kind == "opposed"
    _outlined(made, circuit, _hexagon(spot, made.seats.hexagon))
    _repair_mark(made, circuit, spot)
    number = short_percent(made.shares.get(circuit, 0.0))
    letter = circuit.split("-")[1][0].upper()
    size = NORMAL if not two_rows(made.layout) else SMALL
    under = spot[1] + made.seats.hexagon + (12.5 if opposed else 9.5 if two_rows(made.layout) else 11)
    text = f"{letter} {number}" if opposed else number
    x = spot[0] + (0.0 if opposed else 2.0 if made.layout.side_of[circuit] == "left" else -2.0)  # off the edge of its box
    made.canvas.text(x, under, text, size, "middle", "bold", of=circuit)


def _number(made: _Map, cylinder: int, spot: Point) -> None:
    x, y = spot
    if made.layout.kind == "opposed":
        inner = x + (-50 if x > MIDDLE else 50)
        made.canvas.text(inner, y + 1, str(cylinder), LARGE + 2, "middle", "bold", cylinder=str(cylinder))
    else:
        made.canvas.text(x, y - 2, str(cylinder), NORMAL, "middle", "bold", cylinder=str(cylinder))


def _under(made: _Map, assessment: Assessment) -> float:
    """Write the legend, what lies elsewhere and the firing order under the engine; return the last line."""
    canvas = made.canvas
    y = legend(canvas, 8, made.seats.bottom + 10, made.fills) + 4
    gone = "The complaint is gone: the numbers say what was to blame before the last repair."
    for text in (*((gone,) if assessment.finding.state == "confirmed" else ()), *_repairs(made, assessment), *_notes(made)):
        y = canvas.paragraph(8, y, text, NORMAL) + 2
    return canvas.paragraph(8, y, _elsewhere(made, assessment), NORMAL) - 10


def _repairs(made: _Map, assessment: Assessment) -> list[str]:
    """Return every repair done, numbered as it stands on the map."""
    remedies = made.network.base.remedies
    told = [
        f"R{number} {remedies[r.remedy].label if r.remedy in remedies else r.remedy}, {_words(made.network, r.place)}"
        for number, r in enumerate(repairs_made(assessment), 1)
    ]
    return [f"Repaired (double outline): {'; '.join(told)}."] if told else []


def _notes(made: _Map) -> list[str]:
    layout = made.layout
    first, second = layout.positions
    found = ["Solid outline and lead: fired by the left magneto; broken: by the right."]
    if layout.kind == "opposed":
        found.append(
            f"Hexagon: a plug with its lead; {first[0].upper()} {first}, {second[0].upper()} {second}. Seen from above. "
            "Numbers are drawn from the front back; an engine can be numbered from the rear: go by its own plate."
        )
    else:
        sides = {layout.side_of[f"1-{p}"]: p for p in layout.positions}
        rows = " Outer ring: front row (even numbers)." if two_rows(layout) else ""
        found.append(
            f"Hexagon: a plug with its lead; left of the cylinder's number the {sides['left']} plug, right of it the "
            f"{sides['right']} one. Boxes in the middle: the magnetos. Seen from behind.{rows}"
        )
    found.append("Firing order " + "-".join(str(c) for c in layout.firing_order) + ".")
    return found


def _elsewhere(made: _Map, assessment: Assessment) -> str:
    rest = [(made.shares[p], _words(made.network, p)) for p in made.shares if p not in made.layout.side_of and p not in SIDES]
    unknown = assessment.finding.unmodelled
    if unknown is not None:
        rest.append((unknown, "something outside this rule base"))
    told = [f"{words} {short_percent(share)}" for share, words in sorted(rest, key=lambda r: (-r[0], r[1])) if share >= SHOWN]
    return "Elsewhere: " + (", ".join(told[:MOST_ELSEWHERE]) if told else "nothing of 1 % or more") + "."


def _words(network: Network, place: str) -> str:
    return "the engine as a whole" if place == "engine" else place_words(network, place)


def _title(layout: Layout) -> str:
    seen = "above, front at the top" if layout.kind == "opposed" else "behind"
    return f"Engine seen from {seen}: how suspect each plug with its lead and each magneto is"


def _says(made: _Map, assessment: Assessment) -> str:
    ranked = sorted(((s, p) for p, s in made.shares.items() if p in made.layout.side_of or p in SIDES), reverse=True)
    what = "responsible for the complaint" if assessment.complaint else "faulty (nothing is complained of yet)"
    top = "; ".join(f"{place_words(made.network, p)} {short_percent(s)}" for s, p in ranked[:5] if s >= SHOWN)
    done = ", ".join(place_words(made.network, p) for p in sorted(made.repaired))
    whole = [r for r in repairs_made(assessment) if r.place == "engine"]
    done = ", ".join([*([done] if done else []), *(["the engine as a whole"] if whole else [])])
    return (
        f"{made.layout.label}. How likely each place is {what}, most suspect first: {top or 'none stands out'}. "
        f"{_elsewhere(made, assessment)}{f' Repaired: {done}.' if done else ''} Every other circuit and magneto is less suspect."
    )
