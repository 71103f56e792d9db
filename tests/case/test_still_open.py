"""What is still open of a case, said in one place: each thing is open until what ends it is recorded, and nothing else ends it."""

from __future__ import annotations

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case import log
from diagnose.case.case import load, open_case
from diagnose.case.standing import complaint_words
from diagnose.case.still_open import still_open

NETWORK = loaded.network_of((), "opposed-4")
COMPLAINT = ("result", {"result": "rough.runup@left=yes", "complaint": True})
REPAIR = ("repair", {"remedy": "clean_plug@3-bottom"})
GONE = ("result", {"result": "rough.runup@left=no", "check": "confirming_run"})
RUN = (
    *(("result", {"result": f"drop.runup@{side}=normal", "check": "confirming_run"}) for side in ("left", "right")),
    ("result", {"result": "power_low.high_power@engine=no", "check": "confirming_run"}),
    ("result", {"result": "runs_in_off.idle@engine=no", "check": "confirming_run"}),
)
ON = ("state", {"state": {"cowl": "on"}})


@pytest.fixture
def open_of(tmp_path):
    """Return a function that writes entries into a new case and returns what is open: (kind, what it is of)."""

    def read(*rows):
        path = tmp_path / "a.case"
        path.unlink(missing_ok=True)
        open_case(path, NETWORK.base, NETWORK.layout, "A", {})
        log.append_all(path, "A", rows)
        return [(o.kind, o.thing or o.text) for o in still_open(load(path, NETWORK.base), NETWORK)]

    return read


def test_a_case_is_open_until_its_complaint_run_and_cowling_are_done(open_of):
    """The repair takes the cowling off (its access), and nothing but a person's word puts it back."""
    assert open_of() == []
    assert open_of(COMPLAINT) == [("complaint", "Not gone: left magneto rough at run-up")]
    kinds = [kind for kind, _ in open_of(COMPLAINT, REPAIR)]
    assert kinds == ["state", "again", "run", "run", "run", "run"]
    assert open_of(COMPLAINT, REPAIR, GONE, *RUN) == [("state", "cowl")]
    assert open_of(COMPLAINT, REPAIR, GONE, *RUN, ON) == []
    assert [kind for kind, _ in open_of(COMPLAINT, REPAIR, GONE, *RUN[:2], ON)] == ["run", "run"]
    assert ("complaint", "Not gone: left magneto rough at run-up") in open_of(
        COMPLAINT, REPAIR, ("result", {"result": "rough.runup@left=yes", "check": "confirming_run"})
    )


@pytest.mark.parametrize(
    ("state", "back"),
    [
        ({"P-lead left": "off"}, {"P-lead left": "on"}),
        ({"P-lead right": "unknown"}, {"P-lead right": "on"}),
        ({"magneto left": "grounded"}, {"magneto left": "not grounded"}),
        ({"propeller": "tagged"}, {"propeller": "not tagged"}),
        ({"parts off": "cowl flap"}, {"parts off": "none"}),
        ({"tools": "missing"}, {"tools": "counted"}),
        ({"inspection": "due"}, {"inspection": "done"}),
        ({"plug 3-bottom": "out"}, {"plugs": "in"}),
        ({"cover left": "off"}, {"cover left": "on"}),
        ({"switch": "on"}, {"switch": "off"}),
        ({"wheel": "flat"}, None),
    ],
)
def test_a_state_other_than_an_aircraft_is_left_in_is_open(open_of, state, back):
    """What can be read is ended by its opposite; what cannot be read stays open, as it is not known to be right."""
    thing = next(iter(state))
    assert ("state", thing) in open_of(("state", {"state": state}))
    if back is not None:
        told = open_of(("state", {"state": state}), ("state", {"state": back}))
        assert [kind for kind, _ in told] == (["off_due"] if "P-lead" in thing else [])
    assert open_of(("state", {"state": {"chocks": "in"}}), ("state", {"state": {"chocks": "out"}})) == []


def test_items_answers_and_what_a_step_left_are_open_once(open_of):
    """An item a step leaves is a note too: it is told once. An answer nobody had stays open until one comes."""
    refit = ("note", {"note": "To make good after it", "open": True, "refit": "look_at_plug@3-bottom"})
    mine = ("note", {"note": "probe lead chafed", "open": True})
    assert open_of(refit, mine) == [("refit", "To make good after it"), ("note", "probe lead chafed")]
    assert open_of(refit, mine, ("note", {"note": "done", "closes": 2}), ("note", {"note": "done", "closes": 3})) == []
    unseen = ("result", {"result": "plug_soot.static@1-bottom=cannot", "check": ""})
    assert [kind for kind, _ in open_of(unseen)] == ["answer"]
    assert open_of(unseen, ("result", {"result": "plug_soot.static@1-bottom=no", "check": ""})) == []


def test_the_reporters_words_are_those_of_the_complaint(tmp_path, capsys):
    """Told at the opening or to the interview; what was said at a check is no complaint, what was taken back is none either."""
    path = tmp_path / "a.case"
    open_case(path, NETWORK.base, NETWORK.layout, "A", {})
    said = ("note", {"words": "left mag shakes", "complaint": True})
    older = ("note", {"words": "and it bangs"})
    at_check = ("note", {"words": "no 3 bottom wet with oil"})
    found = ("result", {"result": "plug_oil.static@3-bottom=yes", "check": "look_at_plug@3-bottom"})
    wrong = ("note", {"words": "right mag", "complaint": True})
    log.append_all(path, "A", [said, COMPLAINT, older, COMPLAINT, at_check, found, wrong, ("correct", {"corrects": 8, "withdrawn": True})])
    assert [e.data["words"] for e in complaint_words(log.read(path).events)] == ["left mag shakes", "and it bangs"]
    for paper in ("record", "handover", "report"):
        assert main([paper, str(path), "--format", "text"]) == 0
        told = " ".join(capsys.readouterr().out.split())
        assert "left mag shakes" in told
        assert "words are not recorded" not in told
