"""Drawings that go with the principles: worked out from numbers, as text for a screen and as SVG.

A drawing is one of four shapes (`shapes.py`); `made.py` works them out, `as_text.py` and `as_svg.py` draw any of them.
"""
