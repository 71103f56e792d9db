"""A trainee without a keyboard: answers a drill's questions from a list, each when a question like it comes."""

from __future__ import annotations

import re

from diagnose.cli.drills import before, session
from diagnose.cli.drills.board import KEYS
from diagnose.cli.prompt import Leave
from diagnose.training.offered import to_name

BOARD = re.escape(KEYS[:9])


class Trainee:
    """Takes (pattern, answer) in order; what no pattern waits for gets Enter, a caution question the right ones where `careful`."""

    def __init__(self, monkeypatch, script, careful=True):
        """Sit down at the drill."""
        self.left, self.wanted, self.careful, self.asked = list(script), [], careful, []
        monkeypatch.setattr(session, "ask", self.ask)
        monkeypatch.setattr(before, "to_name", self.to_name)

    def to_name(self, base, wanted, known, seed):
        """Remember which of the cautions to choose from are right."""
        mixed = to_name(base, wanted, known, seed)
        self.wanted = [str(n) for n, c in enumerate(mixed, 1) if c in wanted]
        return mixed

    def ask(self, out, question, allowed=None, help_="", line=False, tell=None):
        """Answer one question."""
        self.asked.append(question)
        if self.left and re.search(self.left[0][0], question):
            return self.left.pop(0)[1]
        if "0 none (" in question:
            return " ".join(self.wanted) if self.careful else "0"
        if question == KEYS:
            raise Leave
        return ""
