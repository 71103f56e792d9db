"""Where the stand and the network's links say different things: how often a fault shows each sign it is asked about."""

from __future__ import annotations

from collections import defaultdict
from random import Random

from diagnose.drill.answers import answer
from diagnose.drill.exercise import Deck, Exercise, engine_of, look_at, sized
from diagnose.drill.fault_causes import causes_of
from diagnose.plan.checks import available
from diagnose.stand.conditions import Weather
from diagnose.stand.faults import KINDS
from tests.trade.how_often import rows_of, shown

LEAST_ASKED = 10  # answers that were not left open
FEW = 12  # places of one cause whose signs are asked about at most


def differences(network, sample, seed, kinds=()):
    """Return a row for every fault and sign, greatest difference first: stand's share, network's share, the word of `how_often`.

    A fault that several causes describe is held against the cause that comes nearest. What the stand leaves open is left out.
    """
    deck, given = Deck(network), sorted({n for c in available(network, (), ()) for n in c.nodes})
    found = []
    by_kind = defaultdict(list)
    for kind, place in deck.pairs:
        by_kind[kind].append(place)
    for kind, places in by_kind.items():
        if kinds and kind not in kinds:
            continue
        place = places[len(places) // 2]
        causes = sorted(causes_of(network, kind, place))
        if causes:
            found += _of_kind(network, kind, place, causes, given, sample, seed)
    return sorted(found, key=lambda r: -abs(r["stand"] - r["network"]))


def _of_kind(network, kind, place, causes, given, sample, seed):
    wanted = sorted({n for c in causes[:FEW] for n in network.cause_nodes[c].feeds if n in given})
    counts = {name: [0, 0] for name in wanted}
    for number in range(sample):
        rng = Random(seed * 7919 + number)
        weather = Weather(round(rng.gauss(15, 8), 1), round(rng.uniform(0, 3000)))
        exercise = Exercise(rng.randrange(2**31), weather, (sized(rng, KINDS[kind], place),))
        look = look_at(network, exercise, engine_of(network, exercise))
        for name in wanted:
            located = network.symptoms[name]
            grade = answer(look, located.symptom.id, located.regime, located.place)
            if "|" not in grade and grade not in ("unknown", "cannot"):
                counts[name][1] += 1
                counts[name][0] += grade != located.symptom.names[0]
    return [_row(network, kind, causes, name, hits, asked) for name, (hits, asked) in counts.items() if asked >= LEAST_ASKED]


def _row(network, kind, causes, name, hits, asked):
    first = network.symptoms[name].symptom.names[1]
    stand = hits / asked
    said = {c: shown(network, c, name, first) for c in causes}
    cause = min(said, key=lambda c: abs(said[c] - stand))
    word = next((r.word for r in rows_of(cause.split("@")[0]) if r.finding.split("@")[0] == name.split("@")[0]), "")
    return {
        "fault": kind,
        "cause": cause,
        "sign": name,
        "stand": round(stand, 2),
        "network": round(said[cause], 2),
        "of": asked,
        "word": word,
    }


def told(rows, most=60):
    """Return the greatest differences as text."""
    line = "{fault:24} {sign:44} stand {stand:.2f}  network {network:.2f}  {word:14} ({cause}, {of})"
    return "\n".join(line.format(**row) for row in rows[:most])
