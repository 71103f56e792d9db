"""Every number kept: one calculation is one check on every paper, with its cells, limit, tool, calibration and person."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from diagnose.__main__ import main
from diagnose.case import log
from diagnose.case.readings import expired
from diagnose.cli.papers import written
from diagnose.report.paper.alerts import BROKEN
from diagnose.report.paper.cause_tables import stretches
from diagnose.report.paper.entry_draft import entry_draft
from diagnose.report.paper.handover import handover
from diagnose.report.paper.model import Paper, facts
from diagnose.report.paper.open_items import open_now
from diagnose.report.paper.story import Story
from diagnose.report.paper.worksheet import worksheet
from tests.report import samples

MAKERS = (worksheet, entry_draft, handover)
TACH = ("--tool", "tachometer T-11", "--calibration", "2026-12-31", "--procedure", "Handbook 4-12", "--conditions", "1800 rpm, warm")
LIMITS = ("--drop-limit", "150", "--difference-limit", "50", "--document", "Handbook 4-12", "--revision", "7", "--tach-band", "10")
BOTH, LEFT, RIGHT = "1320,1335,1310,1340", "1395,1412,985,1410", "1392,1404,1385,1408"


def run(*words: object) -> None:
    assert main([str(w) for w in words]) == 0, words


@pytest.fixture(scope="module")
def worked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a case worked with calculations: a drop, a table of temperatures, a repair, the whole confirming run."""
    path = tmp_path_factory.mktemp("worked") / "worked.case"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DIAGNOSE_CLOCK", "2026-05-04T08:00:00Z")
        run("open", path, "--layout", samples.LAYOUT, "--nickname", "Wren", "--person", "A. Alder")
        case = ("--into", path, "--person", "A. Alder")
        rough = ("--left", "1560", "--left-run", "rough", "--left-change", "fast", "--right", "1720", "--right-run", "smooth")
        run("calc", "mag-check", *case, "--check", "mag_check", "--complaint", "--both", "1800", *rough, *LIMITS, *TACH)
        cells = ("--egt-both", BOTH, "--egt-left", LEFT, "--egt-right", RIGHT, "--unit", "F")
        run("calc", "egt", *case, "--check", "egt_each_magneto", *cells, "--tool", "gauge G-2", "--calibration", "2026-03-31")
        run("remedy", path, "clean_plug@3-bottom", "--person", "B. Birch")
        well = ("--left", "1725", "--left-run", "smooth", "--right", "1720", "--right-run", "smooth")
        run("calc", "mag-check", *case, "--check", "confirming_run", "--both", "1800", *well, *LIMITS, *TACH)
    return path


@pytest.fixture(scope="module")
def story(worked: Path) -> Story:
    return samples.story_at(worked)


def text(paper: Paper) -> str:
    """Return everything a paper tells, with plain blanks."""
    return "\n".join(facts(paper)).replace("\u00a0", " ")


@pytest.mark.slow
def test_a_calculation_is_one_check_whatever_its_results_are_about(story: Story) -> None:
    """Eleven results of the first check are part complaint, part not; those after the repair part complaint, part not."""
    readings = story.of("reading")
    assert len(readings) == 3
    for reading in readings:
        mine = [g for g in story.groups if reading in g.events]
        assert len(mine) == 1
        taken = [e for e in story.of("result") if e.data.get("from") == reading.seq]
        assert taken
        assert [e.seq for e in mine[0].results] == [e.seq for e in taken]
    assert [(g.kind, g.check) for g in story.groups] == [
        ("complaint", "mag_check@engine"),
        ("check", "egt_each_magneto@engine"),
        ("confirming", "confirming_run"),
    ]


@pytest.mark.slow
def test_every_cell_given_stands_in_the_case_and_on_the_worksheet_and_draft(story: Story) -> None:
    held = json.dumps(story.of("reading")[1].data)
    for row in (BOTH, LEFT, RIGHT):
        shown = row.replace(",", ", ")
        assert shown in held
        assert shown in text(worksheet(story))
        assert shown in text(entry_draft(story))
        assert shown in text(handover(story))


@pytest.mark.slow
@pytest.mark.parametrize("make", MAKERS)
def test_limit_tool_calibration_data_and_person_reach_every_paper(story: Story, make: Any) -> None:
    told = text(make(story))
    for part in (
        "left 1560 rpm (rough, fast)" if make is not handover else "left 1725 rpm (smooth)",
        "drop on each side 150 rpm, Handbook 4-12 (revision: 7)",
        "tachometer T-11 (calibration due 2026-12-31)",
        "gauge G-2 (calibration due 2026-03-31, EXPIRED on the day)",
        "A. Alder",
    ):
        assert part in told, part
    assert "tachometer T-11 (calibration due 2026-12-31, EXPIRED" not in told


@pytest.mark.slow
def test_a_run_of_which_parts_are_missing_is_not_complete_on_any_paper(worked: Path) -> None:
    """FAA-H-8083-32B p4-31 and p10-37: the run holds the drops, the static rpm and the OFF check."""
    missing = "Confirming run, not entered: static rpm at full throttle; OFF check at idle"
    story = samples.story_at(worked)
    assert story.gone
    assert missing in open_now(story)
    for make in MAKERS:
        told = list(facts(make(story)))
        assert any("Static rpm at full throttle: not entered" in f for f in told)
        assert any(missing in f for f in told)
        assert not any("Nothing is left open" in f or "none left open" in f for f in told)
    draft = list(facts(entry_draft(story)))
    assert draft[draft.index("Completed") + 1].startswith("not yet: ")
    sheet = list(facts(handover(story)))
    assert sheet[sheet.index("Next") + 1] == "Confirming run, still to do: static rpm at full throttle; OFF check at idle"


@pytest.mark.slow
def test_a_passed_off_check_is_named_on_every_paper(worked: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "whole.case"
    path.write_bytes(worked.read_bytes())
    monkeypatch.setenv("DIAGNOSE_CLOCK", "2026-05-04T09:00:00Z")
    static = ("--rpm", "2250", "--low", "2200", "--high", "2350", "--off-check", "stops")
    run("calc", "static", "--into", path, "--check", "confirming_run", *static, *TACH, "--person", "A. Alder")
    (cowl,) = open_now(samples.story_at(path))
    assert cowl.startswith("To put right: cowl: off")
    run("note", path, "--state", "cowl=on", "--person", "A. Alder")
    story = samples.story_at(path)
    assert open_now(story) == ()
    for make in MAKERS:
        assert "stops firing with the switch OFF at idle; static rpm 2250 rpm; OFF check at idle stops" in text(make(story))
    draft = list(facts(entry_draft(story)))
    assert draft[draft.index("Completed") + 1] == "2026-05-04"
    assert "Nothing is left open in the record." in draft


@pytest.mark.slow
def test_confirming_runs_are_not_judged_as_choices(story: Story) -> None:
    parts = {s.key: s for s in worksheet(story).sections}["checks"].parts
    runs = [p for p in parts if p.title.endswith("Confirming run")]
    assert len(runs) == 1
    told = text(Paper("x/1", "k", "t", "a", (), (runs[0],), ()))
    assert "Why this one" not in told
    assert "number " not in told


@pytest.mark.slow
@pytest.mark.parametrize("make", MAKERS)
def test_a_broken_chain_is_said_first_on_every_paper(worked: Path, tmp_path: Path, make: Any) -> None:
    path = tmp_path / "edited.case"
    path.write_bytes(worked.read_bytes().replace(b'"value": 1560.0', b'"value": 1660.0', 1))
    story = samples.story_at(path)
    paper = make(story)
    assert list(facts(paper))[3].startswith(f"{BROKEN}. line ")
    assert "The chain of the case file is broken: what was recorded is not certain" in open_now(story)
    assert written(paper, "text").index(BROKEN) < written(paper, "text").index("===")


def test_an_expired_calibration_is_said_at_entry(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DIAGNOSE_CLOCK", "2026-05-04T08:00:00Z")
    path = samples.make(tmp_path / "a.case", ())
    due = ("--tool", "meter M-1", "--calibration", "2026-05-03")
    run("enter", path, "plug_resistance_high@3-bottom=no", *due)
    assert "calibration EXPIRED: meter M-1 was due 2026-05-03" in capsys.readouterr().err
    run("enter", path, "plug_resistance_high@1-bottom=no", "--tool", "meter M-1", "--calibration", "2026-05-04")
    assert "EXPIRED" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("due", "day", "out"),
    [("2026-05-03", "2026-05-04", True), ("2026-05-04", "2026-05-04", False), ("none needed", "2026-05-04", False), ("", "x", False)],
)
def test_calibration_holds_to_the_end_of_its_day(due: str, day: str, out: bool) -> None:
    assert expired(due, day) is out


def test_a_corrected_place_takes_its_check_along(tmp_path: Path) -> None:
    path = samples.make(tmp_path / "a.case", (("result", "A", {"result": "rough.runup@left=yes", "complaint": True}),))
    run("enter", path, "plug_lead@3-bottom=yes", "--check", "look_at_plug@3-bottom")
    run("enter", path, "egt_low.runup@3-bottom=yes", "--check", "egt_each_magneto")
    run("correct", path, 3, "--result", "plug_lead@4-bottom=yes", "--reason", "wrong tray")
    run("correct", path, 4, "--result", "egt_low.runup@4-bottom=yes", "--reason", "wrong channel")
    story = samples.story_at(path)
    assert [story.check(e) for e in story.of("result")[1:]] == ["look_at_plug@4-bottom", "egt_each_magneto@engine"]
    told = text(entry_draft(story))
    assert "Take the plug out and read it, No. 4 bottom" in told
    assert "Take the plug out and read it, No. 3 bottom" not in told


def test_a_text_may_follow_the_options_of_a_note(tmp_path: Path) -> None:
    path = samples.make(tmp_path / "a.case", (("note", "A", {"note": "lead to renew", "open": True}),))
    run("note", path, "--closes", 2, "new lead", "--person", "X")
    last = log.read(path).events[-1]
    assert (last.data["note"], last.data["closes"], last.person) == ("new lead", 2, "X")
    assert main(["note", str(path), "one", "two"]) == 2
    assert main(["note", str(path), "--closes", "2", "one", "two"]) == 2


def test_two_names_are_one_person_only_where_that_was_recorded(tmp_path: Path) -> None:
    done = ("repair", "Alder", {"remedy": "clean_plug@3-bottom"}), ("repair", "A. Alder", {"remedy": "clean_plug@1-bottom"})
    path = samples.make(tmp_path / "a.case", (("result", "C", {"result": "rough.runup@left=yes", "complaint": True}), *done))

    def repaired_by() -> str:
        told = list(facts(entry_draft(samples.story_at(path))))
        return told[told.index("Repairs by") + 1]

    assert repaired_by() == "Alder; A. Alder"
    assert main(["note", str(path), "--same-person", "Alder=Nobody"]) == 2
    run("note", path, "--same-person", "Alder=A. Alder")
    assert repaired_by() == "Alder (also recorded as A. Alder)"


@pytest.mark.slow
def test_a_repaired_cause_stands_in_no_table_after_its_repair(worked: Path) -> None:
    """The plug was cleaned: its own normal signs afterwards say nothing against it."""
    story = samples.story_at(worked)
    found = list(stretches(story))
    repair = story.live("repair")[0]
    assert [s.title.startswith("Before the repair") for s in found] == [True]
    assert "plug_lead_fouled@3-bottom" in {c for c, _ in found[0].causes}
    alternatives = {s.key: s for s in worksheet(story).sections}["alternatives"]
    against = [plain for plain in text(Paper("x/1", "k", "t", "a", (), (alternatives,), ())).splitlines() if "3 bottom" in plain]
    later = [e.seq for e in story.of("result") if e.seq > repair.seq]
    assert not any(f"entry {n}" in line for n in later for line in against if "ended by the repair" in line)


def test_numbers_are_shown_without_the_noise_of_the_machine(tmp_path: Path) -> None:
    """0.018 in is 0.4572 mm exactly (an inch is 25.4 mm, NIST SP 811); the product in binary is 0.45719999999999994."""
    value = {"name": "gap", "value": 0.018 * 25.4, "unit": "mm"}
    path = samples.make(tmp_path / "a.case", (("reading", "A", {"calculation": "x", "inputs": [value]}),))
    assert 0.018 * 25.4 != 0.4572
    assert "gap 0.4572 mm" in text(worksheet(samples.story_at(path)))
