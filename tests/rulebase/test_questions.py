"""Every word of the vocabulary stands under one of the six questions, and is listed by it."""

from __future__ import annotations

import json

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.rulebase.questions import QUESTIONS, by_question

BASE = loaded.rulebase()
ROWS = list(by_question(BASE))


def test_every_symptom_and_history_word_has_one_place():
    """Counted against the sections themselves."""
    words = [word for _, word, _ in ROWS]
    assert sorted(w for w in words if w in BASE.symptoms or w in BASE.history) == sorted([*BASE.symptoms, *BASE.history])
    assert list(dict.fromkeys(question for question, _, _ in ROWS)) == list(QUESTIONS)


def test_words_stand_where_a_mechanic_looks_for_them():
    """By hand, two or more of each."""
    where = {word: question for question, word, _ in ROWS}
    assert [where[w] for w in ("rough", "plug_oil", "tach_falls")] == ["what"] * 3
    assert [where[w] for w in ("comes_and_goes", "grew", "came_suddenly")] == ["how it goes"] * 3
    assert [where[w] for w in ("richer_helps", "drying_helps", "changing_plugs_helps")] == ["what changed it"] * 3
    assert [where[w] for w in ("recent_ignition_work", "electronic_side")] == ["what was done"] * 2
    assert (where["left, right"], where["hot"], where["any"]) == ("where", "when", "when")


def test_show_lists_by_question(capsys):
    assert main(["show", "questions"]) == 0
    text = capsys.readouterr().out
    heads = [text.index(asked) for asked in QUESTIONS.values()]
    assert heads == sorted(heads)
    assert heads[3] < text.index("comes_and_goes") < heads[4] < text.index("richer_helps") < heads[5]
    assert main(["show", "questions", "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["words"]) == len(ROWS)
