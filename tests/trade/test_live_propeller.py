"""A propeller that fires when it is moved: the warning stands, and not having noticed it proves nothing about OFF."""

from __future__ import annotations

from diagnose import loaded
from diagnose.trouble.alarms import magneto_live
from diagnose.trouble.evidence import prepare


def prepared(*results):
    network = loaded.network_of((), "opposed-4")
    trouble = loaded.trouble_from(network.base, network.layout, [], results, frozenset())
    return network, trouble, prepare(network, trouble.looks)


def test_it_warns_like_an_engine_that_runs_in_off():
    """NTSB SA-080, FAA maintenance handbook - General p11-14."""
    network, trouble, _ = prepared("fires_when_turned@engine=yes")
    assert magneto_live(network, trouble.looks)
    network, trouble, _ = prepared("fires_when_turned@engine=no")
    assert not magneto_live(network, trouble.looks)


def test_only_the_off_check_shows_that_a_side_was_alone():
    """With no drop on right, its other results count once OFF is proved at idle (FAA-H-8083-32B p4-31), not before."""
    told = ["no_drop.runup@right=yes", "rough.runup@right=no"]

    def set_aside(*more):
        return {str(i.result) for i in prepared(*told, *more)[2].ignored}

    assert "rough.runup@right=no" in set_aside()
    assert "rough.runup@right=no" in set_aside("fires_when_turned@engine=no")
    assert "rough.runup@right=no" not in set_aside("runs_in_off.idle@engine=no")
