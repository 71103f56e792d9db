"""What `diagnose` alone says."""

from __future__ import annotations

TEXT = """diagnose - piston-aircraft ignition trouble: what is probably wrong and what to
check next.

  See it work          diagnose demo
  Start a case         diagnose open rough.case --layout opposed-4
  Be led through it    diagnose chase rough.case
  Ask without a case   diagnose rank --layout opposed-4 --result rough@left=yes
  Look something up    diagnose show symptoms | layouts | plug_lead_fouled ...
  Bench arithmetic     diagnose calc --help

It advises. The manufacturer's current manual, local rules and licensed people
decide; it releases nothing and signs nothing. Treat every propeller as live.
"""


def welcome() -> int:
    """Print what to do next."""
    print(TEXT, end="")
    return 0
