"""What a number can be at all: (low, high, unit), one place for the calculations and for a field judged as it is typed.

Outside its span a number is a slip of the pen or of the unit. All are estimates, wide on purpose: no limit of any manual.
"""

Span = tuple[float, float, str]
AIR: Span = (-50, 55, "degC")  # air an engine is run in
ELEVATION: Span = (-500, 6000, "m")  # of a field
RPM: Span = (300, 5000, "rpm")
STATIC_RPM: Span = (800, 5000, "rpm")
DROP: Span = (1, 1000, "rpm")
PLUG_RESISTANCE: Span = (0, 10, "Mohm")
INSULATION: Span = (0, 1e7, "Mohm")
CONTINUITY: Span = (0, 1e9, "ohm")
TEST_VOLTAGE: Span = (0.001, 20, "kV")
COMPRESSION_LIMIT: Span = (20, 100, "psi")
TIMING_SPECIFIED: Span = (5, 45, "deg BTC")
TIMING_FOUND: Span = (-20, 60, "deg BTC")
E_GAP: Span = (1, 30, "magnet deg")
E_GAP_TOLERANCE: Span = (0, 10, "magnet deg")
E_GAP_FOUND: Span = (-45, 45, "magnet deg")
WARMTH: Span = (0, 10_000, "")  # relative numbers of a cold-cylinder check
