"""Exercise files: the shipped ten hold together, bad ones are told with file, line and column; made ones, progress, class list."""

from __future__ import annotations

import csv
import io
import json

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.drill.fault_causes import OUTSIDE
from diagnose.problems import BadInput
from diagnose.training.drawn import drawn
from diagnose.training.exercise_files import read_exercise, shelf, task_of
from diagnose.training.levels import LEVELS
from diagnose.training.making import Wish, made
from diagnose.training.offered import caution_ids, decoys
from diagnose.training.own_path import own_path
from diagnose.training.progress import Done, class_rows, keep, next_drill, next_level, read, weak_families, weak_habits

SLOW = ("shakes-at-power", "after-taxi", "after-the-shop", "rough-idle", "leaned-in-cruise", "only-when-hot", "one-side", "two-of-them")
GOOD = """format: 1
exercise:
  id: mine
  title: Mine
  level: plug
  layout: opposed-4
  faults:
    - {kind: plug.bridged, at: 3-bottom}
  story: Left is bad.
  basis: invented
"""


def problems(text, consistent=False):
    """Return the problems of a file as line:column code."""
    _, found = read_exercise("mine.yaml", text.encode(), (), consistent)
    return [f"{p.line}:{p.column} {p.code}" for p in found]


@pytest.mark.slow
def test_the_ten_cover_the_nine_levels_and_one_looks_like_ignition_and_is_not():
    tasks = [task_of(name, ()) for name in shelf()]
    assert len(tasks) == 10
    assert {t.level for t in tasks} == set(LEVELS)
    assert all(t.teaches and t.minutes and t.exercise.complaint for t in tasks)
    assert next(t for t in tasks if t.level == "unknown").exercise.faults[0].kind in OUTSIDE
    assert task_of("leaned-in-cruise", ()).exercise.faults[0].kind.startswith("injector.")


@pytest.mark.parametrize("name", [n for n in shelf() if n not in SLOW])
def test_a_shipped_exercise_holds_together(name):
    """The engine shows the squawk and a sound one does not, a check finds it, a remedy ends it, the story betrays nothing."""
    path = shelf()[name]
    assert read_exercise(path.name, path.read_bytes(), (), consistent=True)[1] == []


@pytest.mark.slow
@pytest.mark.parametrize("name", SLOW)
def test_the_others_too(name):
    test_a_shipped_exercise_holds_together(name)


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("format: 1", "format: 2", ["1:9 format"]),
        ("id: mine", "id: Mine", ["3:7 id"]),
        ("level: plug", "level: plugs", ["5:10 word"]),
        ("layout: opposed-4", "layout: opposed-5", ["6:11 word"]),
        ("kind: plug.bridged", "kind: plug.bridge", ["8:14 word"]),
        ("at: 3-bottom", "at: 5-bottom", ["8:32 place"]),
        ("plug.bridged, at: 3-bottom", "plug.lead, at: 3-bottom, amount: 2", ["8:47 number"]),
        ("  basis: invented\n", "", ["3:3 missing"]),
        ("  story: Left is bad.", "  storey: Left is bad.", ["3:3 missing", "9:3 unknown-key"]),
        ("plug.bridged, at: 3-bottom", "plug.gap-wide, at: 3-bottom, amount: .0221", ["8:5 unnoticed"]),
        ("  basis", "  complaint: [drop@left=huge]\n  basis", ["10:15 complaint"]),
    ],
)
def test_a_bad_file_is_told_with_line_and_column(before, after, told):
    assert problems(GOOD) == []
    assert problems(GOOD.replace(before, after)) == told


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("story: Left is bad.", "story: I think the gap bridged by a particle.", ["9:10 betrayed"]),
        ("level: plug", "level: unknown", ["5:10 level"]),
        ("  basis", "  complaint: [drop.runup@right=excessive]\n  basis", ["10:14 not-shown"]),
    ],
)
def test_a_file_that_does_not_hold_together_is_told_where(before, after, told):
    assert problems(GOOD.replace(before, after), consistent=True) == told


def test_an_exercise_is_made_from_a_fault_and_read_back():
    text, found = made(Wish("mine", "lead", "opposed-4", ("lead.open@2-top",), "Left is bad.", minutes=90))
    assert found == []
    task, found = read_exercise("mine.yaml", text.encode())
    assert task is not None
    assert (task.exercise.faults[0].kind, task.exercise.faults[0].place, task.minutes, found) == ("lead.open", "2-top", 90.0, [])
    with pytest.raises(BadInput, match="write KIND@PLACE"):
        made(Wish("mine", "plug", "opposed-4", ("plug lead at 3",), "Left is bad."))


@pytest.mark.slow
def test_an_exercise_is_made_from_a_closed_case(tmp_path, capsys):
    case, out = str(tmp_path / "shop.case"), tmp_path / "shop.yaml"
    assert main(["open", case, "--layout", "opposed-4", "--complaint", "Left drops 240 since Monday"]) == 0
    assert main(["enter", case, "drop@left=excessive", "--complaint"]) == 0
    assert main(["drill", "--from-case", case, "--id", "shop"]) == 2  # not closed yet
    assert main(["remedy", case, "replace_lead@4-top", "--reason", "open"]) == 0
    assert main(["enter", case, "drop@left=normal"]) == 0
    assert main(["drill", "--from-case", case, "--id", "shop", "--out", str(out)]) == 0
    capsys.readouterr()
    task = task_of(str(out), ())
    assert task.story == "Left drops 240 since Monday"
    assert task.exercise.complaint == ("drop.runup@left=excessive",)
    assert (task.exercise.faults[0].kind.partition(".")[0], task.exercise.faults[0].place) == ("lead", "4-top")


def test_json_has_no_answer(capsys):
    assert main(["drill", "one-side", "--json"]) == 0
    out = capsys.readouterr().out
    assert json.loads(out)["complaint"] == ["drop.runup@right=excessive", "rough.runup@right=yes"]
    assert not any(word in out for word in ("distributor", "stray", "seed", "teaches", "answer"))


@pytest.mark.slow
def test_solve_has_the_fault_its_causes_and_a_way_that_ends_it(capsys):
    assert main(["drill", "new-plugs-no-help", "--solve"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["answer"]["faults"][0]["kind"] == "lead.leaks"
    assert "lead_carbon_track@2-bottom" in found["answer"]["faults"][0]["causes"]
    assert found["own_path"]["minutes"] == pytest.approx(sum(step["minutes"] for step in found["own_path"]["steps"]), abs=0.1)


def test_the_sheet_has_squawk_and_blanks_and_no_answer(capsys):
    for form in ("text", "html", "markdown", "json"):
        assert main(["drill", "cold-morning", "--sheet", "--format", form]) == 0
        out = capsys.readouterr().out
        assert "Primed as always" in " ".join(out.split())
        assert "AM.III.H.K3" in out
        assert not any(word in out for word in ("impulse.never", "flyweight", "Listen for the snap"))


def drill(level="plug", score=90, found=True, unsafe=0, **more):
    """Return a drill of a progress file."""
    fields = {"schema": "progress/1", "time": "2026-11-27T10:00:00Z", "trainee": "A", "exercise": "x", "level": level, "score": score}
    fields |= {"found": found, "unsafe": unsafe, "missed": 0, "confirmed": "yes", "minutes": 60, "checks": 3, "ranking": 0}
    return {**fields, "families": ["plug_worn"], "habits": {}, "codes": ["AM.III.H.K2"], **more}


def test_the_next_level_is_the_first_not_passed_twice():
    """Two drills of a level found, safe and at 75 or more put it behind; an unsafe one never counts."""
    one, two = [Done(drill()), Done(drill())], [Done(drill()), Done(drill(unsafe=1))]
    assert (next_level([]), next_level(one), next_level(two)) == ("plug", "lead", "plug")
    every = [Done(drill(level, score=80 - n)) for n, level in enumerate(LEVELS) for _ in range(2)]
    assert next_level(every) == "conditions"  # the seventh has 74: the first not passed
    assert next_level([Done(drill(level, score=99 - n)) for n, level in enumerate(LEVELS) for _ in range(2)]) == "unknown"  # lowest mean


def test_what_needs_work_names_safety_first():
    done = [Done(drill(found=False, habits={"poor": 4, "unsafe": 1})), Done(drill(found=True, families=["valve"]))]
    assert weak_habits(done) == [("unsafe, stopped", 1), ("told little for its minutes", 4)]
    assert weak_families(done) == ["plug_worn"]


def test_every_second_drill_goes_back_to_a_weak_family_or_else_a_weak_habit():
    missed = Done(drill("magneto", found=False, families=["coil"], habits={"poor": 1}))
    after = next_drill([missed])
    assert (after.level, after.family) == ("magneto", "coil")
    assert "missed more often than found" in after.why
    assert (next_drill([missed, missed]).level, next_drill([missed, missed]).family) == ("plug", "")  # the ladder has its turn
    both = Done(drill("two", found=False, families=["coil"]))
    assert next_drill([both]).level == "plug"  # a family is drawn with one fault
    three = [Done(drill("lead", habits={"guess": 1})), Done(drill("magneto", habits={"guess": 2})), Done(drill("plug", habits={"poor": 9}))]
    assert next_drill(three[:1]).level == next_level(three[:1])  # once is no habit
    assert (next_drill(three).level, next_drill(three).family) == ("plug", "")
    unsafe = [*three[:2], Done(drill("timing", habits={"missed": 2, "poor": 9}))]
    assert next_drill(unsafe).level == "timing"  # safety first, though others are commoner
    assert next_drill(unsafe).why.startswith("cautions left out, 2 times")
    assert next_drill([]).why == "passed 0 of 2 times"


def test_what_is_drawn_next_is_of_the_family_that_needs_work(tmp_path, capsys):
    kept = tmp_path / "a.jsonl"
    keep(kept, drill("magneto", found=False, families=["coil"]))
    assert main(["drill", "--next", "--progress", str(kept), "--json"]) == 0
    out, err = capsys.readouterr()
    assert "level 3, One magneto, coil: faults of coil were missed" in err
    assert json.loads(out)["id"] == "coil-2"
    keep(kept, drill("plug", found=False, families=["no_such_family"]))
    keep(kept, drill("plug", found=True, families=["coil"]))
    assert main(["drill", "--next", "--progress", str(kept), "--json"]) == 0  # none of that family on this engine: the level stands
    assert json.loads(capsys.readouterr().out)["id"] == "plug-4"


def test_a_progress_file_is_one_trainees_and_a_class_list_has_a_row_for_each(tmp_path, capsys):
    ann, ben = tmp_path / "a.jsonl", tmp_path / "b.jsonl"
    keep(ann, drill())
    keep(ann, drill(score=50))
    keep(ben, drill(trainee="=B", unsafe=2))
    with pytest.raises(BadInput, match="is the progress of A"):
        keep(ann, drill(trainee="B"))
    assert [row["last three"] for row in class_rows([read(ann), read(ben)])] == [90, 70]
    assert main(["drill", "--csv", "--class", str(ann), str(ben)]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [(r["trainee"], r["drills"], r["passed"], r["unsafe"]) for r in rows] == [("'=B", "1", "0", "2"), ("A", "2", "1", "0")]
    ann.write_text("{}\n")
    assert main(["drill", "--progress", str(ann), "--table"]) == 2
    assert "a.jsonl:1: this line is no drill" in capsys.readouterr().err


def test_no_caution_offered_as_wrong_says_what_a_true_one_says():
    base = loaded.rulebase()
    for wanted in (*(caution_ids(base, c) for c in base.checks.values()), *(caution_ids(base, r) for r in base.remedies.values())):
        assert not any("Two magnetos are meant" in base.cautions[c].label for c in wanted)  # it warns of nothing that is there
        others = decoys(base, wanted, ())
        if {"p_lead_off_live", "turn_lead_off"} & set(wanted):
            assert not {"p_lead_off_live", "turn_lead_off", "switch_wires", "prove_off", "prop_live"} & set(others)
        if "fuel_lines" in wanted:
            assert not {"fuel", "fuel_flowing", "solvent"} & set(others)  # flames


@pytest.mark.slow
def test_the_tools_way_looks_again_after_every_repair_and_plans_anew_until_the_squawk_is_gone():
    network = loaded.network_of((), "opposed-4")
    path = own_path(network, drawn((), "opposed-4", LEVELS["starting"], 1))
    kinds = [step.kind for step in path.steps]
    repairs = [n for n, kind in enumerate(kinds) if kind == "repair"]
    assert len(repairs) > 1  # the first was without effect
    assert all("run" in kinds[n:m] for n, m in zip(repairs, [*repairs[1:], None], strict=True))
    assert path.gone
    assert len({step.id for step in path.repairs}) == len(path.repairs)  # none is done twice
    assert path.minutes == sum(step.minutes for step in path.steps)
    assert any("cowl: off, to be on" in step.id and step.minutes >= 15 for step in path.steps)  # closed before the run, and counted
