"""What may be written shorter says the same as what is written out."""

from __future__ import annotations

import pytest

from diagnose.trouble.network import build
from tests.rulebase.test_layers import over

CAUSE = """format: 1
numbers: estimate
causes:
  coil_open:
    goes: []
    effects:
%s
"""
SYMPTOM = """numbers: estimate
sentences:
  mine: {of: magneto, no: "as it should be", yes: not so}
symptoms:
  mine:
    label: Mine
    kind: test
    at: [side]
    grades: {no: as it should be, yes: not so}
    leak: {yes: .01}
"""


def effects_of(tmp_path, layout, text, name):
    """Return the strength and links of every effect of the cause on a layout, by its place."""
    base, problems = over(tmp_path, CAUSE % text, name)
    assert problems == []
    graph = build(base, base.layouts[layout]).graph
    found = {}
    for cause in ("coil_open@left", "coil_open@right"):
        found[cause] = sorted(
            (edge["strength"], sorted((symptom, link["levels"]) for symptom, link in graph.adj[effect].items()))
            for effect, edge in graph.adj[cause].items()
        )
    return found


SHORT = """\
      - use: weak_at_the_start
        shows: {hard_start@engine: .85, hard_start.hot@engine: .4, no_start@engine: .3, fires_on_release.start@engine: .25}
        in: [start, cold]
        strength: .9
"""
LONG = """\
      - shows:
          hard_start.start@engine: .85
          hard_start.cold@engine: .85
          hard_start.hot@engine: .4
          no_start.start@engine: .3
          no_start.cold@engine: .3
          fires_on_release.start@engine: .25
        needs: [start_aid_alone]
        strength: .9
      - shows: {hard_start.start@engine: .85, hard_start.cold@engine: .85, hard_start.hot@engine: .4}
        needs: [start_aid_shared]
        strength: .225
"""


@pytest.mark.parametrize(("layout", "made"), [("opposed-4", [1, 0]), ("opposed-6-rear", [1, 1]), ("opposed-4-dual", [1, 0])])
def test_a_split_template_is_the_pair_written_out(tmp_path, layout, made):
    """On an engine started by one magneto, by both, and by one dual unit; the numbers are the same to the last digit."""
    short, long = (effects_of(tmp_path, layout, text, name) for text, name in ((SHORT, "short"), (LONG, "long")))
    assert short == long
    assert [len(effects) for effects in short.values()] == made


def test_a_share_of_a_strength_keeps_both_sources_and_the_table(tmp_path):
    """A strength by cylinder count is shared count by count."""
    text = """format: 1
numbers: estimate
effects:
  shared_out:
    split: [{share: .5}]
causes:
  coil_open:
    numbers: from memory
    effects:
      - {use: shared_out, shows: {coil_fail@here: .5}, strength: one_dead_rough}
      - {use: shared_out, shows: {coil_fail@here: .5}, strength: .5}
"""
    base, problems = over(tmp_path, text)
    assert problems == []
    table, plain = (effect.strength for effect in base.causes["coil_open"].effects)
    assert [table.at(count) for count in (4, 18)] == [0.46, 0.275]  # half of .92 and .55
    assert (plain.value, plain.source) == (0.25, "from memory, estimate")


@pytest.mark.parametrize(
    ("written", "regimes", "default"),
    [
        ("", ("static",), "static"),
        ("    regimes: [idle]\n", ("idle",), "idle"),
        ("    regimes: [runup, idle]\n    default: idle\n", ("runup", "idle"), "idle"),
        ("    regimes: slow\n", ("start", "idle"), "start"),
        ("    regimes: [runup, slow, idle]\n", ("runup", "start", "idle"), "runup"),
    ],
)
def test_regimes_left_out_or_named_by_their_list(tmp_path, written, regimes, default):
    """The engine stopped where nothing is said; the first regime where no default is; each regime once."""
    base, problems = over(tmp_path, "format: 1\nregimes:\n  slow: [start, idle]\n" + SYMPTOM + written)
    assert problems == []
    assert (base.symptoms["mine"].regimes, base.symptoms["mine"].default) == (regimes, default)
