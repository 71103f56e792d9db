"""A case entry by entry: what was known, and believed, after each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from diagnose.assessment.finding import Ranked, rank
from diagnose.belief.model import Contradiction
from diagnose.case.case import Case, trouble_after
from diagnose.case.log import Event
from diagnose.case.standing import withdrawn
from diagnose.trouble.complaint import complaint_gone
from diagnose.trouble.evidence import prepare
from diagnose.trouble.network import Network
from diagnose.trouble.trouble import Trouble

# Only these kinds of entry can move belief; the rest are kept for the reader.
MOVING = ("result", "repair", "exchange", "correct")


@dataclass(frozen=True)
class Ranking:
    """Belief after an entry: every located cause ranked, and the share of "none of these" (None: no complaint yet).

    `impossible` is set where the results cannot all be true under this rule base; the ranking is then empty.
    """

    causes: tuple[Ranked, ...] = ()
    unmodelled: float | None = None
    gone: bool = False
    impossible: bool = False

    def share(self, cause: str) -> float:
        """Return how likely a located cause is responsible; its presence while nothing is complained of."""
        for ranked in self.causes:
            if ranked.id == cause:
                return ranked.share
        return 0.0


@dataclass(frozen=True, eq=False)
class Moment:
    """One entry of a case, what was known after it, and the belief before and after, worked out when somebody asks.

    `moves`: whether the entry can move belief at all; `earlier`: the last one before it that can.
    """

    event: Event
    trouble: Trouble
    network: Network
    moves: bool
    earlier: Moment | None

    @property
    def before(self) -> Ranking:
        """Return the belief before the entry."""
        return self.earlier.after if self.earlier else Ranking()

    @cached_property
    def after(self) -> Ranking:
        """Return the belief after the entry."""
        return ranking(self.network, self.trouble) if self.moves else self.before

    @cached_property
    def moved(self) -> bool:
        """Return whether the entry changed what is believed."""
        return self.moves and self.before != self.after

    def worked_out(self) -> Moment:
        """Return the moment with its belief worked out now: for whoever tells how far that is."""
        _ = self.after
        return self


def moments(case: Case, network: Network) -> Iterator[Moment]:
    """Yield every entry of a case, oldest first, as it looked when it was made.

    A later correction acts from its own entry on, so each step shows what a reader saw then.
    """
    trouble, earlier = Trouble(), None
    for number, event in enumerate(case.events, 1):
        if event.kind in MOVING or event.kind in ("access", "decline", "state", "note"):
            trouble = trouble_after(case.events[:number], network.base, network.layout)
        moment = Moment(event, trouble, network, event.kind in MOVING, earlier)
        earlier = moment if moment.moves else earlier
        yield moment


def moments_as_corrected(case: Case, network: Network, known: Sequence[Trouble]) -> Iterator[Moment]:
    """Yield every entry of a case, oldest first, as its newest correction has it: one withdrawn moves nothing, at no point.

    `known` is the trouble after each entry, so corrected (`diagnose.case.case.troubles`). A correction itself moves nothing.
    """
    earlier, looks = None, Trouble().looks
    for event, trouble in zip(case.events, known, strict=True):
        moves = event.kind in MOVING and event.kind != "correct" and not withdrawn(event, case.corrected) and trouble.looks != looks
        moment = Moment(event, trouble, network, moves, earlier)
        earlier, looks = moment if moves else earlier, trouble.looks
        yield moment


def ranking(network: Network, trouble: Trouble) -> Ranking:
    """Return the belief about a trouble."""
    prepared = prepare(network, trouble.looks)
    try:
        belief, causes = rank(network, prepared)
    except Contradiction:
        return Ranking(impossible=True)
    has_complaint = bool(prepared.complaint)
    return Ranking(causes, belief.unexplained if has_complaint else None, complaint_gone(trouble.looks))
