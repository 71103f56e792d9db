"""The screens of a drill: one step back everywhere, nothing cut that must be heeded, rows that can be told apart, a cause that is none."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.cli.drills import before, entry, session
from diagnose.cli.drills.before import Cautions, Foresight
from diagnose.cli.drills.checking import do
from diagnose.cli.drills.fitting import ON, cut_apart, lines_of, making_room, screens_of
from diagnose.cli.drills.session import Back, Session, walk
from diagnose.cli.talk import Talk
from diagnose.report.screens import console
from diagnose.report.text import cut
from diagnose.training.exercise_files import task_of
from diagnose.training.judged import came_true
from diagnose.training.offered import every_check, nearest_labels, offered_checks
from diagnose.training.plain_sight import injected
from diagnose.training.work import Work, begin

FOUR = loaded.network_of((), "opposed-4")


class Answers:
    """Answers the questions of a drill in order, and keeps what was asked."""

    def __init__(self, monkeypatch, *answers):
        """Take the keyboard's place."""
        self.left, self.asked = list(answers), []
        monkeypatch.setattr(session, "ask", self)

    def __call__(self, out, question, allowed=None, help_="", line=False, tell=None):
        """Answer the next one; one that is not allowed is a mistake of the test."""
        self.asked.append(question)
        assert self.left, f"not expected: {question}"
        text = self.left.pop(0)
        assert allowed is None or text in allowed, f"{question}: {text}"
        return text


@pytest.fixture(scope="module")
def begun(tmp_path_factory):
    """A drill begun, its first assessment worked out once."""
    path = tmp_path_factory.mktemp("drill") / "d.case"
    task = task_of("after-taxi", ())
    begin(path, FOUR, task, "")
    s = Session(Work(path, FOUR, task), Talk(path, "", FOUR, console()))
    return s, s.work.assessment()


def check(name):
    """Return a check of the layout by id."""
    return next(c for c in every_check(FOUR) if c.id == name)


def test_questions_are_gone_through_in_both_directions_and_what_asks_nothing_is_passed_over():
    asked: list[str] = []
    back = ["c"]  # questions answered with b, each once

    def question(name):
        def ask():
            asked.append(name)
            if name in back:
                back.remove(name)
                raise Back
            return False if name == "b" else None

        return ask

    assert walk([question(name) for name in "abcd"]) is True
    assert asked == ["a", "b", "c", "b", "a", "b", "c", "d"]
    back.append("a")
    assert walk([question(name) for name in "ab"]) is False


def test_b_goes_one_step_back_at_every_question_of_a_check_and_nothing_is_done(monkeypatch, begun):
    s, a = begun
    monkeypatch.setattr(before, "to_name", lambda base, wanted, known, seed: wanted[:1])
    # Page, cautions named, cautions in full, kind, place (two sides), how sure: forward to the last, then back to the first.
    answers = Answers(monkeypatch, "", "1", "", "1", "1", "b", "b", "b", "b", "b", "b")
    assert do(s, a, check("mag_check@engine")) is False
    assert answers.left == []
    starts = [question.split(" (")[0].split(",")[0] for question in answers.asked]
    way = ["Enter: go on", "Numbers", "Enter: all of it is seen to", "Number", "Number", "How sure are you? In %"]
    assert starts == [*way, *reversed(way[:-1])]
    assert s.work.moves == []


def test_b_in_the_entry_goes_one_step_back_and_is_never_its_text(monkeypatch, begun):
    s, a = begun
    answers = Answers(monkeypatch, "1", "drop 240", "cleaned", "b", "b", "b", "", "b", "b")
    assert entry.write_entry(s, a) is False
    assert answers.left == []
    assert [q.split(" (")[0] for q in answers.asked] == [
        *("Numbers", "As found", "Work done", "Data used", "Work done", "As found", "Numbers", "As found", "Numbers")
    ]
    kept = entry.typed(s)
    assert (kept["found"], kept["done"]) == ("drop 240", "cleaned")
    assert "b" not in kept.values()
    assert entry.named(s) == [kept["named"]]  # Enter took it as it was named before


def test_a_cause_that_does_not_exist_is_told_with_the_nearest_ones_and_asked_again(monkeypatch, begun):
    s, _ = begun
    shown = []
    monkeypatch.setattr(Session, "_draw", lambda self, lines, question: shown.append(" ".join(lines)))
    said = []
    monkeypatch.setattr(Session, "_told", lambda self, lines, question, text: said.append(text))
    Answers(monkeypatch, "xyzzy", "the plug is bewitched", "", "number 3 bottom plug lead fouled", "1")
    found = entry._by_words(s)
    assert found == ["plug_lead_fouled@3-bottom"]
    assert said[0].startswith("No cause is like 'xyzzy'.")
    assert any("No cause is called 'the plug is bewitched'. Did you mean one of these?" in text for text in shown)


def test_the_nearest_causes_are_of_the_part_that_is_named():
    from diagnose.report.said import cause_name

    every = {c: cause_name(FOUR, c) for c in FOUR.causes}
    assert all("coil" in every[c].lower() for c in nearest_labels(FOUR.base, "coil haunted left", every, 2))
    assert nearest_labels(FOUR.base, "qqq", every) == []


def test_rows_that_would_read_alike_keep_what_tells_them_apart():
    rows = [
        "Exhaust temperature of every cylinder on each magneto (running)",
        "Exhaust temperature of every cylinder on each magneto, at idle (running)",
        "Cold-cylinder check on one magneto (cowl off)",
    ]
    assert len({cut(row, 48) for row in rows}) < len(rows)
    short = cut_apart(rows, 48)
    assert len(set(short)) == len(rows)
    assert all(len(row) <= 48 for row in short)
    assert "at idle" in short[1]
    assert short[2] == rows[2]


def test_a_message_takes_the_place_of_a_line_the_first_one_and_cautions_stay():
    lines = ["TITLE", "! first caution that goes on", "  here", "", "row one", "row two"]
    assert making_room(lines, ["said"], 6) == ["TITLE", *lines[1:3], "row one", "row two", "said"]
    assert making_room(lines, ["said"], 5) == ["TITLE", *lines[1:3], "row one", "said"]
    assert making_room(lines, ["said"], 3) == []  # only the first line and cautions are left: it wants a screen of its own
    assert making_room(lines, ["said"], 9) == [*lines, "said"]


def test_lines_too_many_for_a_screen_go_on_to_the_next_and_none_is_lost():
    told = [f"! caution {n} " + "and so on " * 12 for n in range(20)]
    lines = lines_of(told, 80)
    pages = screens_of(lines, "Enter: all of it is seen to, b back", 80, 24)
    assert [line for page in pages for line in page] == lines
    assert all(len(page) == 24 - 1 for page in pages[:-1])
    assert len(ON) < 80
    assert screens_of(lines[:23], "Enter", 80, 24) == [lines[:23]]


@pytest.mark.parametrize(
    ("guess", "found", "came"),
    [
        ("normal", ["drop.runup@left=normal", "drop.runup@right=normal"], True),
        ("normal", ["drop.runup@left=normal", "drop.runup@right=unknown"], True),
        ("normal", ["drop.runup@left=unknown", "drop.runup@right=unknown"], None),
        ("normal", ["drop.runup@left=cannot"], None),
        ("normal", ["drop.runup@left=unknown", "rough.runup@left=yes"], False),
        ("drop.runup", ["drop.runup@left=excessive", "drop.runup@right=normal"], True),
        ("drop.runup", ["drop.runup@left=normal", "drop.runup@right=normal"], False),
        ("drop.runup", ["drop.runup@left=unknown", "rough.runup@left=yes"], None),
        ("drop.runup", ["drop.runup@left=normal|excessive", "drop.runup@right=normal"], None),
        ("drop.runup@left", ["drop.runup@left=excessive"], True),
        ("drop.runup@left", ["drop.runup@left=normal", "drop.runup@right=excessive"], False),
        ("drop.runup@left", ["drop.runup@left=unknown", "drop.runup@right=excessive"], None),
    ],
)
def test_what_was_foreseen_came_did_not_or_could_not_be_told(guess, found, came):
    assert came_true(guess, found) is came


def test_a_prediction_names_a_kind_and_where_it_looks_at_several_places_a_place(monkeypatch, begun):
    s, _ = begun
    foresight = Foresight(s, check("mag_check@engine"))
    answers = Answers(monkeypatch, "1", "2", "80")
    assert walk(foresight.questions)
    kind = next(iter(foresight.rows))
    assert (foresight.guess, foresight.sure) == (f"{kind}@right", 0.8)
    assert answers.left == []
    Answers(monkeypatch, "0", "60")  # all normal has no place
    assert walk(foresight.questions)
    assert (foresight.guess, foresight.sure) == ("normal", 0.6)


def test_the_cautions_of_a_step_are_all_shown_in_full_the_first_time(monkeypatch, begun):
    s, _ = begun
    shown = []

    def show(self, told, question):
        shown.append(" ".join(told))
        return ""

    monkeypatch.setattr(Session, "show", show)
    cautions = Cautions(s, check("try_p_lead_off@left").check)
    cautions.in_full()
    assert all(FOUR.base.cautions[c].label in shown[0] for c in cautions.wanted)


@pytest.mark.parametrize("layout", ["opposed-4", "opposed-6", "radial-7", "radial-9"])
def test_only_checks_that_the_engine_can_have_are_offered(layout):
    """How a coupling and a vibrator exclude each other: common practice, no source."""
    network = loaded.network_of((), layout)
    task = task_of("after-taxi", ())
    offered = {c.check.id for c in offered_checks(network, task)}
    impulse = {"feel_impulse_snap", "open_impulse_coupling", "measure_impulse_lag"}
    vibrator = {"listen_to_vibrator", "measure_vibrator_output", "check_retard_points", "see_retard_let_go"}
    aids = set(network.layout.start_aid.values())
    assert bool(offered & impulse) is ("impulse" in aids)
    assert bool(offered & vibrator) is ("vibrator" in aids)
    assert ("heat_trial" in " ".join(offered)) is not injected(task)
    assert "ask_what_was_tried" not in offered  # the stand has not lived through other days: it can answer nothing of it
