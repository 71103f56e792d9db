"""A drill played: well, badly, through a pipe, left and gone on with, twice from one seed."""

from __future__ import annotations

import io
import json

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case.case import load
from diagnose.cli.drills import session
from diagnose.cli.drills.board import KEYS, board
from diagnose.cli.drills.entry import named, typed
from diagnose.cli.drills.fitting import lines_of, screens_of
from diagnose.cli.drills.session import Session
from diagnose.cli.talk import Talk
from diagnose.plan.checks import available
from diagnose.report.glance import prompt_lines
from diagnose.report.screens import console
from diagnose.training.drawn import drawn
from diagnose.training.exercise_files import task_of
from diagnose.training.levels import LEVELS
from diagnose.training.offered import found_remedies, offered_checks
from diagnose.training.work import Work, begin
from tests.drill.trainee import BOARD, Trainee

FOUR = loaded.network_of((), "opposed-4")
LOOKED = [(BOARD, "t"), ("your words", "pull the plug no 3 bottom and read it"), ("^Number", "1"), ("cannot say", "1"), ("How sure", "70")]
CLEANED = [(BOARD, "c"), ("Numbers of all", "a"), ("^Number", "2"), ("How sure", "90")]
RUN = [(BOARD, "g"), (BOARD, "r")]
WRITTEN = [
    *((BOARD, "e"), ("^Numbers", "1"), ("^As found", "drop 240 rpm left, lead on no. 3 bottom"), ("^Work done", "cleaned, gapped .018")),
    *(("^Data", "manual 74-20 rev 3"), ("^Parts", "none"), ("^Confirming", "run-up 1750, drops 50 and 45"), ("^Open", "none")),
]


def moves(path):
    """Return the moves of a drill's file."""
    return [json.loads(line) for line in path.read_text().splitlines() if json.loads(line)["kind"] == "drill"]


@pytest.mark.slow
def test_a_drill_done_well_ends_confirmed_and_is_kept(monkeypatch, tmp_path, capsys):
    path, kept = tmp_path / "well.case", tmp_path / "ann.jsonl"
    trainee = Trainee(monkeypatch, [*LOOKED, *CLEANED, *RUN, *WRITTEN])
    assert main(["drill", "after-taxi", "--file", str(path), "--progress", str(kept), "--person", "A"]) == 0
    assert trainee.left == []
    out = " ".join(capsys.readouterr().out.split())
    assert [m["move"] for m in moves(path) if m["move"] != "typed"] == ["check", "marks", "repair", "right", "confirm", "entry", "end"]
    assert "yes, the squawk is gone" in out
    assert (
        "9 Safety: unsafe steps 0, runs tried with plugs or parts out 0, left off or unproved at the end 0, left open at the end 0, " in out
    )
    line = json.loads(kept.read_text())
    assert (line["level"], line["unsafe"], line["missed"], line["confirmed"]) == ("plug", 0, 0, "yes")
    assert load(path, FOUR.base).opening["nickname"] == "exercise, no aircraft"  # a drill is a case file, and says what it is


def test_a_run_with_the_p_lead_off_is_stopped_told_and_counted(monkeypatch, tmp_path, capsys):
    path = tmp_path / "bad.case"
    script = [(BOARD, "t"), ("your words", "run with the p-lead off left mag"), ("^Number", "1"), (BOARD, "r"), (BOARD, "q")]
    trainee = Trainee(monkeypatch, script, careful=False)
    main(["drill", "after-taxi", "--file", str(path)])
    out = " ".join(capsys.readouterr().out.split())
    first, second = moves(path)
    assert first["check"] == "try_p_lead_off@left"
    assert "p_lead_off_live" in first["missed"]
    assert second["move"] == "unsafe"
    assert any("P-lead left" in text for text in second["why"])
    assert "STOP. Not done: Confirming run" in out
    assert not any(m["move"] == "confirm" for m in moves(path))
    assert "left out: A magneto whose P-lead is off is live" in out
    assert trainee.left == [(BOARD, "q")] or trainee.left == []


def test_what_was_typed_of_the_entry_is_kept_as_it_is_typed(monkeypatch, tmp_path):
    path = tmp_path / "left.case"

    def asked(out, question, allowed=None, help_="", line=False, tell=None):
        assert line  # every answer of a drill wants its Enter
        if question.startswith("Work done"):
            raise KeyboardInterrupt
        return {"Num": "1", "As ": "drop 240 rpm left"}.get(question[:3], "e" if question == KEYS else "")

    monkeypatch.setattr(session, "ask", asked)
    main(["drill", "after-taxi", "--file", str(path)])
    assert [(m["field"], m["text"]) for m in moves(path)][1:] == [("found", "drop 240 rpm left")]
    first = moves(path)[0]
    again = Session(Work(path, FOUR, task_of("after-taxi", ())), Talk(path, "", FOUR, console()))
    assert typed(again) == {"named": first["text"], "found": "drop 240 rpm left"}
    assert named(again) == [first["text"]]  # the cause too: it is not asked for again as if nothing had been said
    assert first["text"] in FOUR.causes


def test_a_remedy_is_found_by_its_own_name_and_at_the_place_that_is_said():
    every = {f"{r.id}@{p}": r.label for r in FOUR.base.remedies.values() for p in FOUR.layout.places(r.at)}
    for said, wanted in (
        ("replace the harness right", "replace_harness@right"),
        ("replace points", "replace_points@left"),
        ("change the magneto, left", "replace_magneto@left"),
        ("new plug 3 bottom", "replace_plug@3-bottom"),
    ):
        assert found_remedies(FOUR.base, said, every)[0] == wanted


def test_a_run_with_plugs_out_is_asked_about_and_counts_only_where_it_is_insisted_on(monkeypatch, tmp_path, capsys):
    path = tmp_path / "out.case"
    timed = [(BOARD, "t"), ("your words", "check the timing of both magnetos to the engine"), ("^Number", "1")]
    trainee = Trainee(monkeypatch, [*timed, (BOARD, "r"), (BOARD, "r"), ("run it all the same", "1"), (BOARD, "q")], careful=False)
    main(["drill", "after-taxi", "--file", str(path)])
    out = " ".join(capsys.readouterr().out.split())
    assert "NOW plugs out; cowl off" in out
    first, second = moves(path)
    assert first["move"] == "check"
    assert (second["move"], second["open"], second["step"]) == ("unsafe", True, "confirm")  # the first attempt, taken back, left nothing
    assert "Taken back: Confirming run." in out
    assert sum("run it all the same" in question for question in trainee.asked) == 2


@pytest.mark.slow
def test_through_a_pipe_it_leaves_at_the_end_of_input_and_goes_on(monkeypatch, tmp_path, capsys):
    path = tmp_path / "pipe.case"
    for lines, expected in (("t\nmag check\n1\n\n0\n\n\n", ["check"]), ("f\n1 2\nk\n", ["check", "marks", "ranking"])):
        monkeypatch.setattr("sys.stdin", io.StringIO(lines))
        assert main(["drill", "--level", "1", "--seed", "5", "--file", str(path)]) == 0
        out = " ".join(capsys.readouterr().out.split())
        assert "the same command goes on" in out
        assert [m["move"] for m in moves(path)] == expected
    assert "step 2" in out
    assert main(["drill", "--level", "1", "--seed", "6", "--file", str(path)]) == 2  # another exercise must not go on in it


def test_one_seed_is_one_exercise_and_a_drill_left_reads_on_as_if_it_had_not_been(tmp_path):
    assert drawn((), "opposed-4", LEVELS["lead"], 3) == drawn((), "opposed-4", LEVELS["lead"], 3)
    assert drawn((), "opposed-4", LEVELS["lead"], 3).exercise != drawn((), "opposed-4", LEVELS["lead"], 4).exercise
    task = task_of("new-plugs-no-help", ())
    checks = [
        next(c for c in available(FOUR, (), ()) if c.id == name)
        for name in ("mag_check@engine", "egt_each_magneto@engine", "mag_check@engine")
    ]
    read = []
    for left in (False, True):
        path = tmp_path / f"{left}.case"
        begin(path, FOUR, task, "")
        work = Work(path, FOUR, task)
        for check in checks:
            work = Work(path, FOUR, task) if left else work
            read.append(work.check(check, {}))
    assert read[:3] == read[3:]
    assert read[0] != read[2]  # the second magneto check has its own scatter


@pytest.fixture
def at_the_board(monkeypatch, tmp_path):
    """Return a drill of `after-taxi` on a screen of 80 by 24, and what does a check in it."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("LINES", "24")
    task, path = task_of("after-taxi", ()), tmp_path / "d.case"
    begin(path, FOUR, task, "")
    return Session(Work(path, FOUR, task), Talk(path, "", FOUR, console()), noted="Done: " + "a long label " * 12)


def done(s, name):
    """Do a check in a drill."""
    s.work.check(next(c for c in available(FOUR, (), ()) if c.id == name), {})


@pytest.mark.parametrize("steps", [[], ["mag_check@engine", "try_p_lead_off@left"], ["try_p_lead_off@left", "try_p_lead_off@right"]])
def test_no_screen_is_longer_than_24_lines_or_wider_than_80_and_every_caution_is_whole(at_the_board, steps):
    from diagnose.plan.warnings import ALWAYS
    from diagnose.report.said import alarms

    for name in steps:
        done(at_the_board, name)
    a = at_the_board.work.assessment()
    lines, shown = board(at_the_board, a)
    text = " ".join(" ".join(lines).split())
    warned = [alarm for alarm in alarms(FOUR, a) if alarm not in ALWAYS]
    assert bool(warned) is bool(steps)
    assert all(alarm in text for alarm in warned)  # the last word of it too
    assert len(lines) + len(prompt_lines(KEYS, 80)) <= 24
    assert max(map(len, lines)) <= 80
    offered = {c.check.id for c in offered_checks(FOUR, at_the_board.work.task)}
    met = {check.id for check in shown}
    for _ in range(30):
        at_the_board.page += 1
        met |= {check.id for check in board(at_the_board, a)[1]}
    assert met == offered  # checks give way to later pages, none is lost


def test_where_cautions_want_more_than_a_screen_they_are_shown_before_it(at_the_board, monkeypatch):
    from diagnose.plan import warnings

    long = "Nobody goes near. " * 40 + "Last word."
    monkeypatch.setattr(warnings, "BY_HAND", long)
    done(at_the_board, "try_p_lead_off@left")
    lines, _ = board(at_the_board, at_the_board.work.assessment())
    shown = screens_of(lines_of(lines, 80), KEYS, 80, 24)
    assert len(shown) > 1
    assert long in " ".join(" ".join(line for page in shown for line in page).split())
    assert all(len(page) <= 23 for page in shown[:-1])
    assert len(shown[-1]) + len(prompt_lines(KEYS, 80)) <= 24


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("mag check", "mag_check@engine"),
        ("pull and read the plug no 3 bottom", "look_at_plug@3-bottom"),
        ("swap plugs on 3 bottom", "swap_plug@3-bottom"),
        ("megger lead 3 top", "lead_voltage_test@3-top"),
        ("condenser test left", "test_capacitor@left"),
        ("egt on each mag", "egt_each_magneto@engine"),
        ("full power static", "static_full_power_run@engine"),
        ("off check", "off_check@engine"),
    ],
)
def test_a_check_is_found_by_a_mechanics_own_words(said, meant):
    from diagnose.cli.drills.session import words_of
    from diagnose.training.offered import every_check, found_checks

    names = {c.id: words_of(FOUR, c.check.label, c.place) for c in every_check(FOUR)}
    assert found_checks(FOUR, said, names)[0] == meant
