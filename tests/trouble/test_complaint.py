"""A complaint lives until it is looked at again under its own conditions, each by itself."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.assessment.finding import _conflict, _likelihood, rank
from diagnose.assessment.steps import next_step
from diagnose.case.case import load
from diagnose.trouble.complaint import (
    blamed,
    complaint_gone,
    complaints,
    completed,
    gone_before_repair,
    living,
    reopened,
    still_to_look_at,
)
from diagnose.trouble.evidence import prepare
from diagnose.trouble.exchanges import Exchange
from diagnose.trouble.looks import LookResults, Repair
from diagnose.trouble.results import read_results
from diagnose.trouble.trouble import Trouble

NETWORK = loaded.network_of((), "opposed-4")
CLEAN = (Repair("clean_plug", "3-bottom"),)


def look(*results, about=(), **more):
    """Return a look; `about` are the results complained of."""
    read = lambda texts: tuple(read_results(texts, NETWORK.base, NETWORK.layout))
    named = {r.subject for r in read(about)}
    every = read([*about, *results])
    return LookResults(every, tuple(r for r in every if r.subject in named and r.abnormal), **more)


ROUGH_AND_KICK = look(about=("rough@left=yes", "kick_back@engine=yes"))


def gone(looks):
    """Return symptom -> whether its complaint is gone."""
    return {c.result.symptom: c.gone for c in complaints(looks)}


def test_only_what_was_looked_at_again_is_gone():
    looks = [ROUGH_AND_KICK, look("rough@left=no", repairs=CLEAN)]
    assert gone(looks) == {"rough": True, "kick_back": False}
    assert not complaint_gone(looks)
    assert [c.result.symptom for c in blamed(looks)] == ["kick_back"]
    assert [w.partition(".")[0] for w in still_to_look_at(looks)] == ["kick_back"]


def test_an_unrepeated_complaint_keeps_its_causes():
    """Kick-back told, another repair done, only the mag check repeated: its causes do not fall for that."""
    alone = completed(NETWORK.base, Trouble((look(about=("kick_back@engine=yes",)),))).looks
    later = [ROUGH_AND_KICK, look("rough@left=no", "drop@left=normal", "drop@right=normal", repairs=CLEAN)]
    before, after = ({r.id: r.share for r in rank(NETWORK, prepare(NETWORK, looks))[1]} for looks in (alone, later))
    leader = max(before, key=lambda cause: before[cause])
    assert before[leader] > 0.1
    assert after[leader] > before[leader] / 2


def test_each_is_blamed_in_its_own_newest_look():
    again = look(about=("rough@left=yes",), repairs=CLEAN)
    evidence = prepare(NETWORK, [ROUGH_AND_KICK, again]).evidence
    assert {(t, next(f for f, _ in evidence.looks[t].clauses[k].options).partition(".")[0]) for t, k in evidence.blamed} == {
        (0, "kick_back"),
        (1, "rough"),
    }


def test_where_all_are_gone_all_are_what_it_was_about():
    looks = [ROUGH_AND_KICK, look("rough@left=no", "kick_back@engine=no", repairs=CLEAN)]
    assert complaint_gone(looks)
    assert len(prepare(NETWORK, looks).evidence.blamed) == 2
    assert still_to_look_at(looks) == ()


def test_a_normal_look_before_the_repair_ends_nothing():
    """Also after an exchange alone: a fault that comes and goes is not mended by a quiet run."""
    exchanged = look("rough@left=no", exchange=Exchange("swap_plug", "3-bottom", "1-bottom"))
    assert gone([look(about=("rough@left=yes",)), exchanged]) == {"rough": False}
    assert gone([look(about=("rough@left=yes",)), exchanged, look("rough@left=no", repairs=CLEAN)]) == {"rough": True}


def test_gone_once_it_stays_gone_through_another_repair():
    looks = [ROUGH_AND_KICK, look("rough@left=no", repairs=CLEAN), look("kick_back@engine=no", repairs=(Repair("gap_plug", "1-bottom"),))]
    assert gone(looks) == {"rough": True, "kick_back": True}


def test_what_went_with_an_earlier_repair_is_looked_at_once_more_in_the_run_after_the_last():
    """It stays gone and holds nothing up; the run that ends the case shows it again."""
    told = look(about=("rough@left=yes", "rough.high_power@left=yes"))
    mended = (Repair("gap_plug", "1-bottom"),)
    looks = [told, look("rough@left=no", repairs=CLEAN), look("rough.high_power@left=no", repairs=mended)]
    assert complaint_gone(looks)
    assert still_to_look_at(looks) == ()
    assert gone_before_repair(looks) == ("rough.runup@left",)
    step = next_step(NETWORK, loaded.assessed(NETWORK, Trouble(tuple(looks))))
    assert step is not None
    assert step.look_at == ("rough.runup@left",)
    looks[-1] = look("rough.high_power@left=no", "rough@left=no", repairs=mended)
    assert gone_before_repair(looks) == ()
    assert gone_before_repair(looks[:1]) == ()


def test_met_again_it_lives_again_and_is_the_same_one():
    looks = [look(about=("rough@some=yes",)), look(about=("rough@left=yes",), repairs=CLEAN)]
    (one,) = complaints(looks)
    assert (str(one.result), one.since, one.newest, one.gone) == ("rough.runup@some=yes", 0, 1, False)


def test_a_new_complaint_after_all_were_gone_opens_again():
    mended = [look(about=("rough@left=yes",)), look("rough@left=no", repairs=CLEAN)]
    assert complaint_gone(mended)
    after = [mended[0], look("rough@left=no", about=("runs_in_off.idle@engine=yes",), repairs=CLEAN)]
    assert not complaint_gone(after)
    assert [c.result.symptom for c in living(after)] == ["runs_in_off"]
    assert [c.result.symptom for c in reopened(after)] == ["runs_in_off"]
    assert reopened(mended) == ()
    three = [*mended, look(about=("runs_in_off.idle@engine=yes",), repairs=CLEAN)]
    assert [c.result.symptom for c in reopened(three)] == ["runs_in_off"]


@pytest.mark.slow
@pytest.mark.parametrize("flag", [[], ["--complaint"]], ids=["squawks", "named"])
def test_every_paper_says_alike_with_and_without_naming_the_complaint(tmp_path, flag, capsys):
    path = tmp_path / "c.case"
    assert main(["open", str(path), "--layout", "opposed-4"]) == 0
    assert main(["enter", str(path), "rough@left=yes", "drop@left=excessive", *flag]) == 0
    assert main(["remedy", str(path), "clean_plug@3-bottom"]) == 0
    assert main(["enter", str(path), "rough@left=no", "drop@left=normal"]) == 0
    assert complaint_gone(load(path, NETWORK.base).trouble.looks)
    told = {}
    for paper in ("report", "record", "handover", "rank"):
        capsys.readouterr()
        assert main([paper, str(path)]) == 0
        told[paper] = " ".join(capsys.readouterr().out.split())
    assert "did not show again" in told["report"]
    assert "COMPLAINT GONE" in told["rank"]
    assert "Confirming run, still to do" in told["handover"]  # gone, and the parts of the run that are not entered are named


@pytest.mark.slow
def test_a_new_squawk_after_confirmed_takes_the_state_back(tmp_path, capsys):
    path = tmp_path / "c.case"
    for command in (
        ["open", str(path), "--layout", "opposed-4"],
        ["enter", str(path), "rough@left=yes", "--complaint"],
        ["remedy", str(path), "clean_plug@3-bottom"],
        ["enter", str(path), "rough@left=no"],
        ["enter", str(path), "runs_in_off.idle@engine=yes", "--complaint"],
        ["rank", str(path)],
    ):
        capsys.readouterr()
        assert main(command) == 0
    out = capsys.readouterr().out
    assert "COMPLAINT GONE" not in out
    assert "A NEW COMPLAINT: keeps firing with the switch OFF" in " ".join(out.split())


def test_a_later_complaint_is_judged_by_what_it_was_told_with():
    """The first look fits itself badly, and says so; once its complaint is gone that is no conflict of the next one."""
    warm = (f"cold_cylinder@{circuit}=no" for circuit, side in NETWORK.layout.side_of.items() if side == "left")
    torn = look("drop@left=normal", *warm, about=("rough@left=yes",))
    later = look("rough@left=no", "drop@left=normal", about=("kick_back@engine=yes",), repairs=CLEAN)
    first, both = (prepare(NETWORK, completed(NETWORK.base, Trouble(looks)).looks) for looks in ((torn,), (torn, later)))
    assert (first.told_in, both.told_in) == (0, 1)
    limit = NETWORK.base.settings.conflict_limit
    assert _conflict(NETWORK, first, _likelihood(NETWORK, first, first.evidence.looks)) > limit
    assert _conflict(NETWORK, both, 0.0) < limit / 2
