"""`explain`, the way to it from `show`, `why` and `w`, and what it says to a wrong word."""

from __future__ import annotations

import json

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case import log
from diagnose.case.case import open_case
from diagnose.report.drawings.made import MAKERS
from tests.talking import talk

BASE = loaded.rulebase()


def told(capsys, *argv):
    """Return what a command printed."""
    assert main(list(argv)) == 0
    return capsys.readouterr().out


def test_the_topics_are_listed_with_their_names(capsys):
    lines = told(capsys, "explain").splitlines()
    assert len(lines) == 1 + len(BASE.principles)
    assert all(p.id in line and p.label in line for p, line in zip(BASE.principles.values(), lines[1:], strict=True))


@pytest.mark.parametrize("topic", BASE.principles)
def test_a_topic_is_one_page_of_plain_lines(capsys, topic):
    one = BASE.principles[topic]
    text = told(capsys, "explain", topic)
    assert max(map(len, text.splitlines())) <= 80
    flat = " ".join(text.split())
    assert all(" ".join(part.split()) in flat for part in (*one.plain, one.isolates))
    assert all(" ".join(BASE.cautions[c].label.split()) in flat.replace(" ! ", " ") for c in one.cautions)
    assert "current manual" in flat
    assert "Source: " in flat
    drawn = [name for name, make in MAKERS.items() if " ".join(make(BASE.layouts["opposed-4"]).basis.split()) in flat]
    assert drawn == ([one.drawing] if one.drawing else [])


@pytest.mark.parametrize(
    ("words", "topic"),
    [
        (["E-gap"], "e_gap"),
        (["e_gap"], "e_gap"),
        (["P-lead"], "p_lead"),
        (["plug", "rotation"], "plug_rotation"),
        (["EGT"], "egt"),
        (["Reading a plug"], "reading_plugs"),
        (["measure_coil_hot"], "coil_heat"),
        (["impulse_magnetised@left"], "impulse"),
    ],
)
def test_a_topic_is_found_as_people_write_it(capsys, words, topic):
    assert json.loads(told(capsys, "explain", *words, "--json"))["id"] == topic


@pytest.mark.parametrize(("wrong", "right"), [("e-gab", "e_gap"), ("compresion", "compression"), ("leanchek", "lean_check")])
def test_a_wrong_word_names_the_nearest(capsys, wrong, right):
    assert main(["explain", wrong]) == 2
    said = capsys.readouterr().err
    assert right in said
    assert len(said.splitlines()) == 1


def test_documents_hold_the_page_and_the_list(capsys):
    listed = json.loads(told(capsys, "explain", "--json"))
    assert listed["schema"] == "explain-topics/1"
    assert [row["id"] for row in listed["topics"]] == list(BASE.principles)
    one = json.loads(told(capsys, "explain", "e_gap", "--json"))
    assert one["schema"] == "explain/1"
    assert one["plain"] == list(BASE.principles["e_gap"].plain)
    assert any("E-gap" in line for line in one["drawing"])


def test_the_drawing_can_be_a_picture_and_follows_the_layout(capsys, tmp_path):
    out = tmp_path / "rotation.svg"
    assert main(["explain", "plug_rotation", "--layout", "opposed-6", "--out", str(out)]) == 0
    assert "1-4-5-2-3-6" in out.read_text()
    assert main(["explain", "plug_rotation", "--out", str(out)]) == 2
    assert main(["explain", "lead_fouling", "--out", str(tmp_path / "none.svg")]) == 2
    assert "no drawing" in capsys.readouterr().err
    assert "radial-9" in told(capsys, "explain", "egt", "--layout", "radial-9")


def test_checks_and_causes_name_their_topic(capsys):
    assert "diagnose explain reading_plugs" in " ".join(told(capsys, "show", "look_at_plug").split())
    assert "diagnose explain coil_heat" in " ".join(told(capsys, "show", "coil_weak").split())


def test_w_says_whom_the_step_tells_apart_and_by_what(tmp_path):
    """For plugs that can be read: soot points to soot and to the idle mixture, and away from lead; the topic is named."""
    path = tmp_path / "a.case"
    open_case(path, BASE, BASE.layouts["opposed-4"], "", {})
    for result in ("rough@left=yes", "cold_cylinder@3-bottom=yes"):
        log.append(path, "result", "", {"result": result, "complaint": result.startswith("rough"), "check": ""})
    screen = " ".join(talk(path, "", "w", "", "q")[1].split())
    page = screen.partition("WHAT THIS STEP TELLS APART")[2]
    assert "diagnose explain reading_plugs" in page
    assert BASE.principles["reading_plugs"].short[1:] in page
    soot = page.partition("No. 3 bottom plug: sooty: points to ")[2]
    assert soot.startswith("No. 3 bottom plug: fouled with soot")
    assert "Worth it: takes " in page


def test_a_cause_is_shown_in_words_and_with_all_its_numbers_only_where_they_are_asked_for(capsys):
    short, whole = (" ".join(told(capsys, "show", "timing_early", *more).split()) for more in ((), ("--all",)))
    assert short.startswith("timing_early (cause)")
    assert "(retime_magneto)" in short.partition("how it is mended:")[2]
    assert "(check_timing)" in short.partition("how it is found:")[2].partition("how it is mended")[0]
    assert "strength" not in short
    assert "prior 0.0018, estimate" in whole
