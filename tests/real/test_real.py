"""The files and scores of this folder, and a handful of accounts; the whole is `python -m tests.real` (see README.md)."""

from __future__ import annotations

import json
import math
import re

import pytest
import yaml

from diagnose import loaded
from diagnose.problems import BadInput
from tests.real import printing, reading, runs, scores
from tests.real.__main__ import main
from tests.real.asking import Told, ask, believe
from tests.real.records import Answer, Bet, Entry, Expected, Presentation

BASE = loaded.rulebase()
ACCOUNTS, ANSWERS = reading.read_accounts(BASE), reading.read_answers(BASE)
TROUBLES, EXPECTED = reading.read_made_up(BASE), reading.read_expected(BASE)
HANDFUL = ("r001", "r013", "r032", "r044")


def test_every_entry_has_its_answer():
    """Reading them checks every line, family, cause and step by itself: a file with an unknown word is refused."""
    assert list(ACCOUNTS) == list(ANSWERS)
    assert list(TROUBLES) == list(EXPECTED)
    assert (len(ACCOUNTS), len(TROUBLES)) == (52, 40)
    reading.read_presentations(BASE)


def test_no_answer_stands_beside_the_observations():
    """Neither keys nor texts of the answers, nor ids of causes or families, are in the files somebody enters from."""
    for entries, answers in (("accounts", "answers"), ("made_up", "made_up_answers")):
        text = (reading.HERE / f"{entries}.yaml").read_text()
        held = yaml.safe_load((reading.HERE / f"{answers}.yaml").read_text())["answers"]
        keys = {key for one in held.values() for key in one} | {"bet", "accept", "families", "causes"}
        assert not {k for k in keys if re.search(rf"^\s*{k}:", text, re.MULTILINE)}
        told = [one[k] for one in held.values() for k in ("cause", "confirmed_by", "words") if len(one.get(k, "")) > 10]
        assert len(told) >= len(held)
        assert not [words for words in told if words in text]
    lines = "\n".join(o.value for a in ACCOUNTS.values() for o in a.observations)
    assert not [c for c in (*BASE.causes, *{c.family for c in BASE.causes.values()}) if "_" in c and c in lines]


def test_the_bets_are_those_that_were_made():
    """A mechanic's bets on the same lines: 13 first and 18 in three of 24 firm, 10 in three of 17 thin, mean log -2.30 over all."""
    nothing = [scores.Judged(Told(k, {}), a) for k, a in ANSWERS.items()]
    by_standing = {s: scores.totals([j for j in nothing if j.answer.standing == s]) for s in ("firm", "thin")}
    assert [by_standing[s][k] for s, k in (("firm", "accounts"), ("firm", "bet_first"), ("firm", "bet_three"))] == [24, 13, 18]
    assert [by_standing["thin"][k] for k in ("accounts", "bet_three")] == [17, 10]
    assert scores.totals(nothing)["bet_log"] == pytest.approx(-2.30, abs=0.005)


@pytest.mark.parametrize("name", HANDFUL)
def test_what_is_told_hangs_together(name):
    """The chance of any accepted family lies between the largest of them and their sum; belief alone tells the same families."""
    accepted = ANSWERS[name].families
    told, belief = ask(ACCOUNTS[name].entry, accepted), believe(ACCOUNTS[name].entry)
    shares = [told.families[f] for f in accepted]
    assert max(shares) - 1e-9 <= told.accepted <= math.fsum(shares) + 1e-9
    assert told.families == pytest.approx(belief.families, abs=1e-12)
    assert told.order == sorted(told.order, key=lambda f: -round(told.families[f], 12))
    assert told.next.split("@")[0] in {*BASE.checks, *BASE.remedies}


def test_a_fault_is_seen_by_a_test_and_not_by_a_squawk():
    """What the crew met says that something is wrong; a timing light that reads late has seen what is wrong."""
    squawks = Entry("a", "opposed-4", ("engine_stops.cruise_lean@engine=yes",), ("no_start.hot@engine=yes",))
    tested = Entry("b", "opposed-4", ("drop@right=excessive",), ("drop_slow@right=yes", "timing_late@right=yes", "rough@right=no"))
    assert [ask(squawks).seen, ask(tested).seen] == [False, True]


def test_results_that_cannot_all_be_true_are_a_state():
    """Such an entry counts as a miss at the floor and stops nothing."""
    judged = scores.Judged(Told("x", {}, state="contradiction"), _answer(("coil",)))
    assert (judged.first, judged.three, judged.sure_wrong, judged.log) == (False, False, False, math.log(0.001))


def _answer(families, bet=None):
    return Answer("firm", families[0], families, (), Bet(bet or {families[0]: 0.5}, ""))


@pytest.mark.parametrize(
    ("families", "accepted", "log"),
    [
        ({"coil": 0.3, "points": 0.2, "valve": 0.1}, ("coil", "points"), math.log(0.5)),  # 0.6 in all: not scaled
        ({"coil": 0.6, "points": 0.6, "valve": 0.3}, ("coil", "points"), math.log(1.2 / 1.5)),  # 1.5 in all
        ({"coil": 0.0004}, ("coil",), math.log(0.001)),
        ({"coil": 0.5}, ("valve",), math.log(0.001)),
    ],
)
def test_log_score_by_hand(families, accepted, log):
    """Sum of the accepted shares over the greater of 1 and the sum of all; never below one in a thousand."""
    assert scores.log_share(families, accepted) == pytest.approx(log)


def test_cross_entropy_by_hand():
    """A bet of .6 and .2 is .75 and .25 of what it names; with itself it is least."""
    bet = {"coil": 0.6, "points": 0.2}
    assert scores.cross_entropy(bet, {"coil": 0.1, "valve": 0.9}) == pytest.approx(-(0.75 * math.log(0.1) + 0.25 * math.log(0.001)))
    assert scores.own_entropy(bet) == pytest.approx(-(0.75 * math.log(0.6) + 0.25 * math.log(0.2)))
    assert scores.own_entropy(bet) < scores.cross_entropy(bet, {"coil": 0.4, "points": 0.4})


def test_totals_of_invented_accounts():
    """First, in three, sure and wrong, isolated unseen: one account for each."""
    told = [
        Told("a", {"coil": 0.5, "points": 0.2}, {"coil_open@left": 0.5}, "unsettled"),
        Told("b", {"points": 0.3, "valve": 0.2, "coil": 0.1}, {"x": 0.3}, "unsettled"),
        Told("c", {"valve": 0.95}, {"x": 0.9}, "isolated", seen=False),
        Told("d", {"points": 0.85, "coil": 0.2}, {"x": 0.9}, "isolated", seen=True),
    ]
    answers = [_answer(("coil",)), _answer(("coil",)), _answer(("coil",)), _answer(("points",))]
    answers[0] = Answer("firm", "coil", ("coil",), ("coil_open",), Bet({"valve": 0.4, "coil": 0.3}, ""))
    found = scores.totals([scores.Judged(t, a) for t, a in zip(told, answers, strict=True)])
    wanted = {"family_first": 2, "family_three": 3, "cause_first": 1, "sure_wrong": 1, "isolated_unseen": 1, "bet_first": 3, "bet_three": 4}
    assert {k: found[k] for k in wanted} == wanted


def test_calibration_counts_every_share_once():
    """Bands hold their lower edge; a share of exactly 1 stands in the last."""
    judged = [scores.Judged(Told("a", {"coil": 0.2, "points": 1.0, "valve": 0.0}), _answer(("points",)))]
    bands = scores.calibration(judged)
    assert sum(b["families"] for b in bands) == 3
    assert [(b["from"], b["accepted"]) for b in bands if b["families"]] == [(0.0, 0.0), (0.2, 0.0), (0.8, 1.0)]


def test_steps_agree_with_a_place_or_at_any():
    """`look_at_plug` is any plug; `look_at_plug@1-top` is that one."""
    assert scores.agrees("look_at_plug@1-top", ("look_at_plug",))
    assert not scores.agrees("look_at_plug@1-top", ("look_at_plug@2-top", "look_at"))
    told = {"t": Told("t", {"coil": 0.5}, next="measure_coil@left")}
    found = scores.of_made_up(
        told, {"t": Expected(("coil_open@left",), ("points",), ("coil",), (), ("measure_coil@left",))}, {"coil_open": "coil"}
    )
    wanted = {"first_suspicion": 1, "first_suspicion_own": 0, "next_check": 1, "next_check_own": 0, "hidden_first": 1}
    assert {k: found[k] for k in wanted} == wanted


def test_differentials_against_bets():
    """Totals by family, first suspicion (level families count as first both), a presentation nobody bet on counted apart."""
    entry = Entry("d", "opposed-4", ("rough@left=yes",), ())
    presented = {
        "a": Presentation(entry, Bet({"coil": 0.4, "points": 0.4}, "measure_coil@left"), False),
        "b": Presentation(entry, Bet({"valve": 0.7}, "x@left"), False),
        "c": Presentation(entry, None, False),
    }
    found = scores.of_differentials({"a": Told("a", {"points": 0.5}), "b": Told("b", {"coil": 0.5, "valve": 0.25})}, presented)
    assert (found["presentations"], found["bets"], found["first_suspicion"], found["next_asked"]) == (3, 2, 1, 0)
    assert found["families"]["valve"] == {"expected": 0.25, "actual": 0, "bet": 0.7}


ACCOUNT = "format: 1\naccounts:\n  r1:\n    told: rough\n    observations: [{what: a, value: b, when: c}]\n    entered: {layout: opposed-4, complaint: [COMPLAINT], results: []}\n"
BETS = "format: 1\npresentations:\n  d1:\n    layout: opposed-4\n    complaint: ['rough@left=yes']\n    bet: {families: FAMILIES, next: NEXT}\n    basis: 'estimate: judgement'\n"


@pytest.mark.parametrize(
    ("complaint", "says"),
    [
        ("'rouh@left=yes'", "r1|rough"),
        ("'rough@middle=yes'", "middle"),
        ("'rough@left=no'", "not abnormal"),
        ("'rough@left=bad'", "grades: no, yes"),
    ],
)
def test_unknown_words_of_an_entry_are_refused(tmp_path, complaint, says):
    """The line says file, line and the nearest words."""
    path = tmp_path / "accounts.yaml"
    path.write_text(ACCOUNT.replace("COMPLAINT", complaint))
    with pytest.raises(BadInput, match=says) as found:
        reading.read_accounts(BASE, path)
    assert str(found.value).startswith("accounts.yaml:6:")


@pytest.mark.parametrize(
    ("families", "step", "says"),
    [
        ("{coil: .4, pionts: .2}", "measure_coil@left", "points"),
        ("{coil: .8, points: .4}", "measure_coil@left", "adds up to 1.20"),
        ("{coil: 1}", "measure_coil@left", "above 0 and below 1"),
        ("{coil: .4}", "measure_coils@left", "measure_coil"),
    ],
)
def test_a_bet_that_cannot_be_is_refused(tmp_path, families, step, says):
    """A family or step there is not, and probabilities that are none."""
    (tmp_path / "d.yaml").write_text(BETS.replace("FAMILIES", families).replace("NEXT", step))
    with pytest.raises(BadInput, match=says):
        reading.read_presentations(BASE, tmp_path)


def test_bets_are_read_and_ids_stand_once(tmp_path):
    """Two files of one folder share no id."""
    text = BETS.replace("FAMILIES", "{coil: .4, points: .35}").replace("NEXT", "measure_coil@left")
    (tmp_path / "a.yaml").write_text(text)
    assert reading.read_presentations(BASE, tmp_path)["d1"].bet == Bet({"coil": 0.4, "points": 0.35}, "measure_coil@left")
    (tmp_path / "b.yaml").write_text(text)
    with pytest.raises(BadInput, match="another file"):
        reading.read_presentations(BASE, tmp_path)


def test_how_far_an_account_is_said():
    """r001: the told complaint and six observations, of which two lose something."""
    assert sorted(ACCOUNTS["r001"].said()) == ["partly"] * 2 + ["wholly"] * 5
    assert sum(scores.said(ACCOUNTS.values())[k] for k in ("wholly", "partly", "not")) == 52 + 187


def test_a_run_and_what_changed_since(tmp_path, capsys):
    """One object; against itself nothing differs; a moved share, a new leader and a new entry are told."""
    run = runs.run(BASE, ("accounts", "differentials"), only=("r032",))
    assert json.loads(json.dumps(run)) == run
    assert list(printing.changes(run, run)) == []
    assert any("valve" in line for line in printing.whole(run))
    old = json.loads(json.dumps(run))
    old["accounts"]["totals"]["all"]["family_first"] = 9
    old["accounts"]["each"]["r032"]["share"] -= 0.3
    told = list(printing.changes(old, run))
    assert told[0] == f"accounts all family_first: 9 -> {run['accounts']['totals']['all']['family_first']}"
    assert told[-1].startswith(" r032: ")


@pytest.mark.parametrize(
    ("given", "says"), [(["--account", "r9999"], "no entry is called 'r9999'"), (["--before", "nowhere.json"], "write one with --json")]
)
def test_bad_input_is_one_line(given, says, capsys):
    """Exit code 2 and the way out."""
    assert main(given) == 2
    told = capsys.readouterr().err.strip()
    assert says in told
    assert "\n" not in told


@pytest.mark.slow
def test_one_account_in_full(capsys):
    """Lines, belief, why, and what was accepted."""
    assert main(["--account", "r044"]) == 0
    told = capsys.readouterr().out
    assert "fires_p_lead_off.start@left=yes" in told
    assert "accepted: p_lead_grounded ignition_switch" in told
    assert re.search(r"^p_lead_grounded +[01]\.\d\d$", told, re.MULTILINE)
