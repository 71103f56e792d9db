"""What was told and not understood stands with the answer and is counted over cases; what was withdrawn is not."""

from __future__ import annotations

import json

from diagnose.__main__ import main
from diagnose.case.not_used import counted


def told(folder, name, words):
    """Return a case in which something was told, entered without asking."""
    path = str(folder / name)
    assert main(["open", path, "--layout", "opposed-4", "--complaint", "rough@left=yes", "--person", "A"]) == 0
    assert main(["tell", path, words, "--yes", "--person", "A"]) == 0
    return path


def test_words_not_understood_stand_under_the_answer(tmp_path, capsys):
    path = told(tmp_path, "a.case", "left mag drops 250, wobbly flurgle")
    capsys.readouterr()
    assert main(["rank", path, "--json"]) == 0
    words = json.loads(capsys.readouterr().out)["not_used"]
    assert any("flurgle" in word for word in words)
    assert main(["rank", path]) == 0
    text = capsys.readouterr().out
    assert "Not used, kept as said:" in text
    assert "flurgle" in text.split("Not used")[1]


def test_nothing_left_says_nothing(tmp_path, capsys):
    path = told(tmp_path, "a.case", "no drop on the left mag")
    capsys.readouterr()
    assert main(["rank", path, "--json"]) == 0
    assert "not_used" not in json.loads(capsys.readouterr().out)


def test_counted_over_cases(tmp_path, capsys):
    told(tmp_path, "a.case", "flurgle")
    told(tmp_path, "b.case", "Flurgle")
    capsys.readouterr()
    assert main(["list", str(tmp_path), "--left", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["cases"], found["left"]) == (2, [{"words": "flurgle", "cases": 2}])
    assert main(["list", str(tmp_path), "--left"]) == 0
    assert '2  "flurgle"' in capsys.readouterr().out


def test_the_most_frequent_stand_first_and_a_case_counts_once():
    assert counted([("whirr", "stub"), ("Stub", "stub"), ()]) == [("stub", 2), ("whirr", 1)]
