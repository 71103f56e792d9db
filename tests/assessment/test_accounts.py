"""How a cause came to its share adds up: the odds before, times every factor in recorded order, are the odds printed."""

from __future__ import annotations

import json
import math

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.assessment.explain import Account, Reason, accounts, odds
from diagnose.trouble.complaint import completed
from diagnose.trouble.exchanges import Exchange
from diagnose.trouble.looks import LookResults, Repair
from diagnose.trouble.results import read_results
from diagnose.trouble.trouble import Trouble
from tests.fast import slow

NETWORK = loaded.network_of((), "opposed-4")


def look(*results, **more):
    """Return a look with results given as text; the first is the complaint where it is a squawk."""
    read = tuple(read_results(results, NETWORK.base, NETWORK.layout))
    return LookResults(read, **more)


TROUBLES = {
    "one look": [look("rough@left=yes", "drop@left=excessive", "cold_cylinder@3/left=yes", "plug_lead@3-bottom=yes", "drop@right=normal")],
    "test before the complaint": [look("plug_lead@3-bottom=yes", "recent_ignition_work@engine=no", "rough@left=yes")],
    "repair": [look("rough@left=yes"), look("rough@left=yes", repairs=(Repair("clean_plug", "3-bottom"),))],
    "exchange": [look("rough@left=yes"), look("rough@left=yes", exchange=Exchange("swap_plug", "3-bottom", "1-bottom"))],
}


@pytest.mark.parametrize("name", ["one look", "test before the complaint", slow("repair"), slow("exchange")])
def test_the_factors_multiply_to_the_odds_of_the_ranking(name):
    looks = completed(NETWORK.base, Trouble(tuple(TROUBLES[name]))).looks
    found = loaded.assessed(NETWORK, Trouble(looks)).finding.causes[:6]
    told = accounts(NETWORK, looks, [row.id for row in found])
    for row in found:
        account = told[row.id]
        assert account.share == row.share
        product = odds(account.start) * math.prod(r.factor for r in account.reasons)
        assert product == pytest.approx(odds(row.share), rel=1e-9)


def test_the_start_is_the_prior_and_entries_stand_in_recorded_order():
    looks = completed(NETWORK.base, Trouble(tuple(TROUBLES["repair"]))).looks
    account = accounts(NETWORK, looks, ["plug_lead_fouled@3-bottom"])["plug_lead_fouled@3-bottom"]
    assert account.start == pytest.approx(NETWORK.graph.nodes["plug_lead_fouled@3-bottom"]["prior"], rel=1e-12)
    assert [(r.kind, r.entry) for r in account.reasons] == [
        ("result", "rough.runup@left=yes"),
        ("repair", "clean_plug@3-bottom"),
        ("result", "rough.runup@left=yes"),
    ]
    assert account.reasons[0].factor > 2
    assert account.reasons[2].factor < 0.5, "cleaned, and it still runs rough: the plug was not it"


def test_an_entry_that_cannot_be_true_alone_is_told_with_the_one_that_resolves_it():
    """Nothing is lost where a step on the way has no belief: the chain goes on from the last that had one."""
    account = Account(0.1, 0.5, (Reason("a", "result", 3.0), Reason("b", "result", 3.0)))
    assert account.heaviest == list(account.reasons)
    assert Reason("a", "result", 1.1).words == "hardly matters"
    assert Reason("a", "result", 0.05).words == "strongly against it"


def test_the_document_holds_the_chain(capsys):
    given = ["--layout", "opposed-4", "--complaint", "rough@left=yes", "--result", "plug_lead@3-bottom=yes", "--json"]
    assert main(["why", *given, "--about", "plug_lead_fouled@3-bottom"]) == 0
    (cause,) = json.loads(capsys.readouterr().out)["causes"]
    product = odds(cause["start"]) * math.prod(r["factor"] for r in cause["reasons"])
    assert product == pytest.approx(odds(cause["share"]), rel=1e-6)
    assert [r["kind"] for r in cause["reasons"]] == ["result", "result"]


@pytest.mark.slow
def test_the_screen_folds_what_hardly_matters(capsys):
    given = [
        "--layout",
        "opposed-4",
        "--complaint",
        "rough@left=yes",
        "--result",
        "plug_lead@3-bottom=yes",
        "--result",
        "compression_low@1=no",
    ]
    assert main(["why", *given, "--about", "plug_lead_fouled@3-bottom"]) == 0
    folded = capsys.readouterr().out
    assert main(["why", *given, "--about", "plug_lead_fouled@3-bottom", "--all"]) == 0
    every = capsys.readouterr().out
    assert "one other entry" in folded
    assert "other entry" not in every
    assert "Before anything was told" in folded
    assert "responsible" in folded
