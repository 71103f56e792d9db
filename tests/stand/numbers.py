"""The number of a reading, for tests that need one."""

from __future__ import annotations

from diagnose.stand.reading import Reading


def number_of(reading: Reading) -> float:
    """Return the number; the test fails where the reading has only words or is over the meter's range."""
    assert reading.number is not None, str(reading)
    return reading.number
