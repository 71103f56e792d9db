"""Commands: documents other programs read, exit codes, and what is imported."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from diagnose.__main__ import main

TROUBLE = ["--layout", "opposed-4", "--complaint", "rough@left=yes", "--result", "drop@left=excessive", "--result", "drop_fast@left=yes"]


def document(capsys, *argv):
    """Return the JSON document of a command."""
    assert main(list(argv)) == 0
    return json.loads(capsys.readouterr().out)


def test_rank_document(capsys):
    """Keys, order, canonical spelling; the same bytes twice."""
    found = document(capsys, "rank", *TROUBLE, "--json")
    assert found["schema"] == "rank/1"
    assert {"rulebase", "layout", "complaint", "ignored", "exact", "state", "causes", "families", "unmodelled", "ambiguity", "next"} <= set(found)
    assert found["complaint"] == ["rough.runup@left=yes"]
    assert found["exact"] is True
    shares = [c["responsible"] for c in found["causes"]]
    assert shares == sorted(shares, reverse=True)
    assert all(0 < c["probability"] < 1 for c in found["causes"])
    assert len(found["next"]) == 3
    assert found == document(capsys, "rank", *TROUBLE, "--json")


def test_next_document(capsys):
    """Outcomes are a partition, and their first causes are named."""
    found = document(capsys, "next", *TROUBLE, "--json")
    assert found["schema"] == "next/1"
    for row in found["next"][:5]:
        assert sum(o["probability"] for o in row["results"]) == pytest.approx(1, abs=1e-9)
        assert row["minutes"] > 0
        assert row["information"] >= 0


def test_outcome_equals_entering_it(capsys):
    """What a check promises for a result is what entering that result gives."""
    offered = document(capsys, "next", *TROUBLE, "--json")["next"][0]
    outcome = max(offered["results"], key=lambda o: o["probability"])
    extra = [part for text in outcome["results"] for part in ("--result", text)]
    after = document(capsys, "rank", *TROUBLE, *extra, "--json")
    by_id = {c["id"]: c["responsible"] for c in after["causes"]}
    for row in outcome["top"]:
        assert row["responsible"] == pytest.approx(by_id[row["id"]], abs=1e-9)


def test_no_complaint(capsys):
    """Unsettled, nobody responsible."""
    found = document(capsys, "rank", "--layout", "opposed-4", "--json")
    assert found["state"] == "unsettled"
    assert found["unmodelled"] is None
    assert {c["responsible"] for c in found["causes"]} == {0}


def test_unknown_moves_nothing(capsys):
    """Unknown is not normal."""
    plain = document(capsys, "rank", *TROUBLE, "--json")
    told = document(capsys, "rank", *TROUBLE, "--result", "plug_lead@3-bottom=unknown", "--json")
    assert [c["responsible"] for c in plain["causes"]] == [c["responsible"] for c in told["causes"]]


def test_masking_is_told(capsys):
    """No drop on one side: what looked normal there was not tested."""
    found = document(capsys, "rank", "--layout", "opposed-4", "--result", "no_drop@left=yes", "--result", "rough@left=no", "--json")
    assert [i["result"] for i in found["ignored"]] == ["rough.runup@left=no"]


@pytest.mark.parametrize(
    ("argv", "hint"),
    [(["rank", "--layout", "opposed-44"], "opposed-4"), (["rank", "--layout", "opposed-4", "--result", "ruogh@left=yes"], "rough"),
     (["rank", "--layout", "opposed-4", "--result", "rough@lefft=yes"], "left"),
     (["rank", "--layout", "opposed-4", "--result", "rough.runupp@left=yes"], "runup"),
     (["rank", "--layout", "opposed-4", "--result", "drop@left=big"], "excessive"),
     (["rank", "--layout", "opposed-4", "--result", "drop@left=normal", "--result", "drop@left=dies"], "drop.runup@left"),
     (["rank", "/nowhere.case"], "nowhere"), (["show", "plug_leed"], "plug_lead"), (["nonsense"], "")],
)  # fmt: skip
def test_bad_input_is_one_line_and_exit_2(capsys, argv, hint):
    """What is wrong, and the nearest right one."""
    assert main(argv) == 2
    streams = capsys.readouterr()
    assert streams.out == ""
    assert hint in streams.err
    assert "Traceback" not in streams.err


def test_check_and_show(capsys, tmp_path):
    """The shipped base is clean (0), a broken one is not (1)."""
    assert document(capsys, "check", "--json") == {"schema": "check/1", "problems": []}
    (tmp_path / "a.yaml").write_text("format: 1\nnonsense: {}\n")
    assert main(["check", str(tmp_path), "--json"]) == 1
    problem = json.loads(capsys.readouterr().out)["problems"][0]
    assert set(problem) == {"file", "line", "column", "code", "message", "fix"}
    symptoms = document(capsys, "show", "symptoms", "--layout", "opposed-4", "--json")["symptoms"]
    drop = next(s for s in symptoms if s["id"] == "drop")
    assert [g["id"] for g in drop["grades"]] == ["normal", "excessive", "severe", "dies"]
    assert drop["places"] == ["left", "right"]


@pytest.mark.parametrize(
    ("argv", "absent"),
    [(["--help"], ["networkx", "numpy", "rich"]), (["--version"], ["networkx", "numpy", "rich"]), (["rank", *TROUBLE, "--json"], ["rich"])],
)
def test_what_costs_is_imported_late(argv, absent):
    """Heavy modules stay out of commands that do not need them."""
    code = f"import sys\nfrom diagnose.__main__ import main\nmain({argv!r})\nprint([m for m in {absent!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_demo_ends_confirmed_in_eighty_columns(capsys):
    """The invented trouble is confirmed; no line is wider than 80, no escape when piped."""
    assert main(["demo"]) == 0
    text = capsys.readouterr().out
    assert "CONFIRMED" in text
    assert "invented" in text
    assert max(len(line.rstrip()) for line in text.splitlines()) <= 80
    assert "\x1b" not in text
