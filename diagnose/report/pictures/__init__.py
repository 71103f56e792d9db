"""Pictures of a case as inline SVG: the engine, how belief moved, which result speaks of which cause."""

from diagnose.report.pictures.belief_chart import belief_chart
from diagnose.report.pictures.cause_map import cause_map
from diagnose.report.pictures.engine_map import engine_map

__all__ = ["belief_chart", "cause_map", "engine_map"]
