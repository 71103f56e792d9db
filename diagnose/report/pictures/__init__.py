"""Pictures of a case as inline SVG: the engine, and how belief moved from step to step.

It must not work out a share: it draws what is handed in.
"""

from diagnose.report.pictures.belief_chart import belief_chart
from diagnose.report.pictures.engine_map import engine_map

__all__ = ["belief_chart", "engine_map"]
