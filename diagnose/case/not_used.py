"""What was said and not understood: kept in a case in the reporter's words, and counted over cases."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from diagnose.case.log import Event
from diagnose.case.standing import standing_entries


def not_used(events: Sequence[Event]) -> tuple[str, ...]:
    """Return the words of a case that moved no belief, oldest first, each once; what was withdrawn is left out."""
    kept = (event.data.get("left") for event in standing_entries(events) if event.kind == "note")
    words = (" ".join(str(word).split()) for some in kept if isinstance(some, list) for word in some)
    return tuple(dict.fromkeys(word for word in words if word))


def counted(cases: Iterable[Sequence[str]]) -> list[tuple[str, int]]:
    """Return (words, in how many cases they were not understood), the most frequent first; small and capital letters are alike."""
    found = Counter(word for words in cases for word in {w.casefold() for w in words})
    return sorted(found.items(), key=lambda item: (-item[1], item[0]))
