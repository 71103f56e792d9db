"""Cases as the audit reads them, the command, its page and its document."""

from __future__ import annotations

import json

import pytest

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.audit import never_first
from diagnose.audit.findings import ORDER

pytestmark = pytest.mark.slow

BASE = loaded.rulebase()


def network_of(layout):
    """Return the network of a layout."""
    return loaded.network_of((), layout)


KNOWN = """format: 1
cases:
  lead: {title: t, kind: worked, layout: opposed-4, complaint: [rough.runup@left=yes], results: [plug_lead@3-bottom=yes, drop@left=excessive, egt_low@3-bottom=yes, plug_lead@1-bottom=no],
         expect: {first: [plug_lead_fouled@3-bottom]}, basis: how the circuit works}
"""
BAD = """format: 1
cases:
  b: {title: t, kind: worked, layout: opposed-5, complaint: [rough@left=yes], expect: {first: [coil_open]}, basis: x}
  c: {title: t, kind: worked, layout: opposed-4, complaint: [nonsense], expect: {first: [coil_open]}, basis: x}
"""


def test_causes_that_no_case_ranks_first_are_named(tmp_path):
    """What a case ranks first is not; everything else is; a case or file that cannot be used does not stop the rest."""
    (tmp_path / "a.yaml").write_text(KNOWN)
    (tmp_path / "b.yaml").write_text(BAD)
    (tmp_path / "broken.yaml").write_text("cases: [\n")
    found = never_first.findings(BASE, network_of, tmp_path)
    never = {f.about for f in found if f.id == "never-first"}
    assert never == set(BASE.causes) - {"plug_lead_fouled"}
    assert {f.about.split(":")[0] for f in found if f.id == "case-unreadable"} == {"b.yaml", "broken.yaml"}
    assert {"b.yaml:b", "b.yaml:c"} <= {f.about for f in found}
    assert all(f.severity == "notice" for f in found)


def test_no_cases_is_one_notice(tmp_path):
    """Not one per cause."""
    assert [(f.severity, f.id) for f in never_first.findings(BASE, network_of, tmp_path)] == [("notice", "no-cases")]


@pytest.fixture(scope="module")
def spoilt_layer(tmp_path_factory):
    """Return a folder that takes the P-lead caution from a check when laid over the base."""
    folder = tmp_path_factory.mktemp("layer")
    (folder / "a.yaml").write_text("format: 1\nnumbers: estimate\nchecks:\n  try_p_lead_off: {cautions: [run_area]}\n")
    return str(folder)


def test_json_is_one_document(spoilt_layer, tmp_path, capsys):
    """`audit/1`: counts agree with the findings, problems come first, the spoilt check is among them, exit code 1."""
    code = main(["audit", "--layout", "opposed-4", "--runs", "2", "--json", "--rulebase", spoilt_layer, "--cases", str(tmp_path)])
    told = json.loads(capsys.readouterr().out)
    every = [*told["problems"], *told["notices"]]
    kinds = [f["severity"] for f in every]
    assert code == 1
    assert told["schema"] == "audit/1"
    assert kinds == sorted(kinds, reverse=True)
    assert (kinds.count("problem"), kinds.count("notice")) == (len(told["problems"]), len(told["notices"]))
    assert ("caution-missing", "try_p_lead_off") in {(f["id"], f["about"]) for f in every}
    assert {f["id"] for f in every} <= set(ORDER)
    assert told["counts"]["causes"] == len(BASE.causes)
    assert set(told["matrix"]) == set(told["simulation"]) == {"opposed-4"}
    assert told["simulation"]["opposed-4"]["runs"] == 2
    assert told["simulation"]["opposed-4"]["figures"]["detected"]["count"] == 2
    matrix = told["matrix"]["opposed-4"]
    assert 0 < matrix["complaint"]["detectable"] < matrix["checks"]["detectable"] <= 1
    assert matrix["complaint"]["mean_group_size"] > matrix["checks"]["mean_group_size"] >= 1


def test_the_page_fits_and_says_the_worst_first(spoilt_layer, capsys, tmp_path):
    """80 columns; problems stand above notices; every layout has its line; nothing is drawn with --runs 0."""
    assert main(["audit", "--runs", "0", "--rulebase", spoilt_layer, "--cases", str(tmp_path)]) == 1
    page = capsys.readouterr().out
    assert max(len(line) for line in page.splitlines()) <= 80
    assert page.index("PROBLEMS") < page.index("try_p_lead_off says") < page.index("NOTICES") < page.index("WHAT THERE IS")
    assert all(f"\n  {name} " in page for name in BASE.layouts)
    assert "DRAWN TROUBLES" not in page
    assert "never worth its minutes" not in page


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--layout", "opposed-44"], "opposed-4"),
        (["--runs", "-1"], "--runs -1"),
        (["--cases", "/no/such/folder"], "/no/such/folder"),
        (["--runs", "two"], "two"),
    ],
)
def test_bad_input_is_one_line(words, says, capsys):
    """Exit code 2, nothing on stdout."""
    assert main(["audit", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert says in err
    assert err.count("\n") == 1
