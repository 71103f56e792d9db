"""Pictures: everything of the layout is there once, the numbers are the finding's, nothing leaves the paper."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from functools import cache
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case.case import load, open_case
from diagnose.case.log import append
from diagnose.places import SIDES
from diagnose.report.pictures import belief_chart, engine_map
from diagnose.report.pictures.levels import level, short_percent
from diagnose.report.pictures.seats import seats
from diagnose.report.pictures.suspicion import place_shares
from diagnose.review.replay import moments

pytestmark = pytest.mark.slow

NAMES = sorted(loaded.rulebase().layouts)
SVG = "{http://www.w3.org/2000/svg}"
LETTER = 0.5  # mean width of a letter over its size, measured on plain sans-serif faces; estimate


def made(tmp_path, name, results=(), extra=()):
    """Return case and network with a rough side, its drop, and more results."""
    base = loaded.rulebase()
    path = tmp_path / f"{name}.case"
    open_case(path, base, base.layouts[name], "", {})
    for text in results:
        append(path, "result", "", {"result": text, "complaint": text.startswith("rough")})
    for kind, data in extra:
        append(path, kind, "", data)
    return loaded.case_at(str(path))


def trouble(name):
    """Return results that make one circuit of the left magneto suspect, and that circuit."""
    circuit = loaded.rulebase().layouts[name].fires["left"][-1]
    return ["rough.runup@left=yes", "drop.runup@left=excessive", "drop_fast.runup@left=yes", f"egt_low.runup@{circuit}=yes"], circuit


@cache
def known(name):
    """Return case, network and assessment of the trouble on a layout, worked out once."""
    with TemporaryDirectory() as folder:
        case, network = made(Path(folder), name, trouble(name)[0])
    return case, network, loaded.assessed(network, case.trouble)


@cache
def every(name):
    """Return the two pictures of a case on a layout."""
    case, network, assessment = known(name)
    return engine_map(network, assessment), belief_chart(moments(case, network), network)


def parsed(picture: str) -> Any:
    """Return the elements of a picture; what an element lacks fails where it is asked for."""
    return ET.fromstring(picture)


def texts(picture):
    """Return x from, x to, y from, y to and the words of every text of a picture."""
    found = []
    for one in parsed(picture).iter(f"{SVG}text"):
        size = float(one.get("font-size"))
        long = len(one.text or "") * size * LETTER
        if one.get("transform"):
            x, y = (float(v) for v in re.findall(r"translate\(([\d.]+) ([\d.]+)\)", one.get("transform"))[0])
            found.append((x, x + size, y, y + long, one.text))
            continue
        x, y = float(one.get("x")), float(one.get("y"))
        start = x - {"start": 0.0, "middle": long / 2, "end": long}[one.get("text-anchor")]
        found.append((start, start + long, y - size * 0.75, y + size * 0.2, one.text))
    return found


@pytest.mark.parametrize("name", NAMES[::3])
def test_every_circuit_and_magneto_stands_once(name):
    """On every third layout: each place drawn once, with the number of the finding beside it and the filling of its band."""
    _, network, assessment = known(name)
    root = parsed(every(name)[0])
    drawn = [e.get("data-place") for e in root.iter() if e.get("data-place")]
    assert sorted(drawn) == sorted([*network.layout.circuits, *SIDES])
    shares = place_shares(network, assessment)
    numbers = {e.get("data-of"): e.text.split()[-1] for e in root.iter(f"{SVG}text") if e.get("data-of")}
    assert numbers == {p: short_percent(shares.get(p, 0.0)) for p in drawn}
    levels = {e.get("data-place"): int(e.get("data-level")) for e in root.iter() if e.get("data-place")}
    assert levels == {p: level(shares.get(p, 0.0)) for p in drawn}
    assert levels[trouble(name)[1]] == max(levels[c] for c in network.layout.circuits)
    cylinders = [e.get("data-cylinder") for e in root.iter() if e.get("data-cylinder")]
    assert sorted(map(int, cylinders)) == list(range(1, network.layout.cylinders + 1))


def test_shares_of_places_equal_those_of_the_finding():
    """A place's share lies between its likeliest cause and the sum of its causes; where one repair ends all, it is that group's."""
    _, network, assessment = known("opposed-4")
    single = {r.id: r.responsible for r in assessment.finding.causes}
    for place, share in place_shares(network, assessment).items():
        mine = [single[c] for c in single if network.causes[c].place == place]
        assert max(mine) - 1e-9 <= share <= sum(mine) + 1e-9
        # A group may reach over several places: its remedy stands at the place that holds them.
        touching = [g for g in assessment.groups.values() if place in {network.causes[c].place for c in g.causes}]
        wholly = [assessment.finding.group_shares[g.key] for g in touching if {network.causes[c].place for c in g.causes} == {place}]
        if len(touching) == len(wholly) == 1:
            assert share == pytest.approx(wholly[0], abs=1e-9)
        assert share >= max(wholly, default=0.0) - 1e-9


@pytest.mark.parametrize("name", NAMES)
def test_pictures_say_in_words_what_they_show(name):
    """Role, title and desc, no script, nothing fetched, unique ids, every use of an id defined."""
    page = "".join(every(name))
    root = parsed(f"<div>{page}</div>")
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]*)\)", page)) <= set(ids)
    assert not re.search(r"<script|https?://(?!www\.w3\.org/2000/svg)|@font|<image|href", page)
    for svg in root:
        assert svg.get("role") == "img"
        assert svg.get("viewBox").startswith("0 0 360 ")
        assert "width:100%" in svg.get("style")
        title, desc = svg.find(f"{SVG}title"), svg.find(f"{SVG}desc")
        assert svg.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"
        assert len(title.text) > 20
        assert "%" in desc.text


@pytest.mark.parametrize("name", NAMES)
def test_no_text_leaves_the_paper_or_is_too_small(name):
    """By letter count: inside the view box, at least 10 units high, and no text over another."""
    for picture in every(name):
        high = float(parsed(picture).get("viewBox").split()[3])
        found = texts(picture)
        for x0, x1, y0, y1, words in found:
            assert x0 >= 0, words
            assert x1 <= 360, words
            assert y0 >= 0, words
            assert y1 <= high, words
        assert min(float(e.get("font-size")) for e in parsed(picture).iter(f"{SVG}text")) >= 10
        for i, (a0, a1, b0, b1, one) in enumerate(found):
            for c0, c1, d0, d1, other in found[i + 1 :]:
                apart = a1 <= c0 + 1 or c1 <= a0 + 1 or b1 <= d0 + 1 or d1 <= b0 + 1
                assert apart, (one, other)


def test_fillings_differ_without_colour():
    """Five fillings, all different, drawn in ink and paper only, and each darker than the one before."""
    picture = every("opposed-6")[0]
    patterns = re.findall(r"<pattern .*?</pattern>", picture)
    assert len({re.sub(r'id="[^"]*"', "", p) for p in patterns}) == len(patterns) == 3
    assert set(re.findall(r"#[0-9a-f]{3,6}", picture)) <= {"#111", "#777", "#fff"}

    def ink(pattern):
        size = float(re.findall(r'width="([\d.]+)"', pattern)[0])
        dot = re.search(r'r="([\d.]+)"', pattern)
        if dot:
            return 3.14159 * float(dot[1]) ** 2 / size**2
        strokes = pattern.count("M")
        one = 2**0.5 * float(re.findall(r'stroke-width="([\d.]+)"', pattern)[0]) / size
        return 1 - (1 - one) ** strokes

    covered = [0.0, *(ink(p) for p in patterns), 1.0]
    assert all(b - a > 0.07 for a, b in pairwise(covered))


@pytest.mark.fast
@pytest.mark.parametrize(
    ("share", "text", "band"),
    [
        (0.0, "<1%", 0),
        (0.0099, "<1%", 0),
        (0.01, "1%", 1),
        (0.049, "5%", 1),
        (0.05, "5%", 2),
        (0.2, "20%", 3),
        (0.5, "50%", 4),
        (0.99, "99%", 4),
        (0.9999, ">99%", 4),
        (1.0, ">99%", 4),
    ],
)
def test_numbers_never_say_nought_or_all(share, text, band):
    """Whole percent, and the ends of the scale are never shown."""
    assert short_percent(share) == text
    assert level(share) == band


@pytest.mark.parametrize("name", NAMES)
def test_cylinders_stand_where_the_layout_says(name):
    """Right ones right of the middle; a radial goes clockwise round from the top; no two cylinders on one spot."""
    layout = loaded.rulebase().layouts[name]
    spots = seats(layout).cylinders
    for cylinder, (x, _) in spots.items():
        if abs(x - 180) > 1:
            assert (x > 180) == (cylinder in layout.seen_right)
    assert len({(round(x), round(y)) for x, y in spots.values()}) == layout.cylinders
    if layout.kind == "radial":
        assert spots[1][1] < seats(layout).magnetos["left"][1]
        assert spots[2][0] > 180
    for circuit, (x, y) in seats(layout).plugs.items():
        cx, cy = spots[int(circuit.split("-")[0])]
        nearest = min(spots, key=lambda c: (spots[c][0] - x) ** 2 + (spots[c][1] - y) ** 2)
        assert nearest == int(circuit.split("-")[0]) or layout.kind == "opposed"
        assert abs(x - cx) < 70
        assert abs(y - cy) < 30


def test_the_chart_holds_the_numbers_of_every_step():
    """Each line's values are the shares after its columns' last entries; columns cover every moving entry once, in order."""
    case, network, _ = known("opposed-4")
    every_step = list(moments(case, network))
    root = parsed(belief_chart(every_step, network))
    numbers = [e.get("data-entry") for e in root.iter() if e.get("data-entry")]
    covered = [n for text in numbers for n in range(int(text.split("-")[0]), int(text.split("-")[-1]) + 1)]
    assert covered == [s.event.seq for s in every_step if s.moved]
    after = {s.event.seq: s.after for s in every_step}
    lines = {e.get("data-cause"): [float(v) for v in e.get("data-values").split()] for e in root.iter() if e.get("data-cause")}
    assert 1 <= len(lines) <= 6
    for cause, values in lines.items():
        told = [after[int(text.split("-")[-1])] for text in numbers]
        wanted = [(s.unmodelled or 0) if cause == "outside" else s.share(cause) for s in told]
        assert values[1:] == pytest.approx(wanted, abs=1e-6)
        if cause != "outside":
            assert values[0] == pytest.approx(network.graph.nodes[cause]["prior"], abs=1e-6), "starts at the prior"
    dashes = [(e.get("stroke-dasharray"), e.get("stroke-width")) for e in root.iter() if e.get("data-cause")]
    assert len(set(dashes)) == len(dashes)
    labels = {e.get("data-of"): e.text for e in root.iter() if e.get("data-of")}
    assert {c: labels[c].split()[-1] for c in lines} == {c: short_percent(v[-1]) for c, v in lines.items()}


def test_a_long_case_stays_readable(demo):
    """Sixty entries: at most thirteen columns, repairs keep their own."""
    case, network = loaded.case_at(str(demo.path))
    root = parsed(belief_chart(moments(case, network), network))
    shown = [e.get("data-entry") for e in root.iter() if e.get("data-entry")]
    assert len(shown) <= 13
    assert {str(e.seq) for e in case.events if e.kind == "repair"} <= set(shown)
    confirmed = engine_map(network, loaded.assessed(network, case.trouble))
    assert "The complaint is gone" in confirmed
    assert "Repaired: No. 2 top (left), No. 3 bottom (left)" in confirmed


def test_two_pictures_of_a_kind_share_a_page():
    """With a prefix each, no id is there twice."""
    _, network, a = known("opposed-4")
    page = engine_map(network, a, prefix="one") + engine_map(network, a, prefix="two")
    ids = re.findall(r' id="([^"]*)"', page)
    assert len(ids) == len(set(ids)) == 12


def test_an_empty_case_and_one_without_a_complaint_are_drawn(tmp_path):
    """Nothing known yet is no reason to stop, and no number claims blame."""
    for extra in ((), [("result", {"result": "plug_lead@1-front=yes"})]):
        case, network = made(tmp_path, "radial-9" if extra else "opposed-8", (), extra)
        a = loaded.assessed(network, case.trouble)
        for picture in (engine_map(network, a), belief_chart(moments(case, network), network)):
            parsed(picture)


def test_strange_words_are_escaped(tmp_path):
    """A label of an own rule base can hold anything: marks, quotes, escapes, direction changes."""
    folder = tmp_path / "own"
    folder.mkdir()
    (folder / "own.yaml").write_text(
        'format: 1\ncauses:\n  plug_lead_fouled: {label: "<b>&\\"x\\" \\u202e\\u0007 ]]>"}\n', encoding="utf-8"
    )
    case, _ = made(tmp_path, "opposed-4", [*trouble("opposed-4")[0], "plug_lead@3-bottom=yes"])
    network = loaded.network_of((str(folder),), "opposed-4")
    case = load(case.path, network.base)
    a = loaded.assessed(network, case.trouble)
    for picture in (engine_map(network, a), belief_chart(moments(case, network), network)):
        parsed(picture)
        assert "\u202e" not in picture
        assert "<b>" not in picture
    assert "&lt;b&gt;" in belief_chart(moments(case, network), network)


def test_the_command_writes_once(tmp_path, capsys):
    """A picture on stdout is the one in the file; an existing file is left alone."""
    case, _ = made(tmp_path, "opposed-4", trouble("opposed-4")[0])
    out = tmp_path / "x.svg"
    assert main(["picture", str(case.path), "--what", "belief", "--out", str(out)]) == 0
    capsys.readouterr()
    assert main(["picture", str(case.path), "--what", "belief"]) == 0
    assert capsys.readouterr().out == out.read_text(encoding="utf-8")
    before = out.read_bytes()
    assert main(["picture", str(case.path), "--what", "engine", "--out", str(out)]) == 2
    assert out.read_bytes() == before
    assert "exists already" in capsys.readouterr().err
