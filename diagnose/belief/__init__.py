"""Exact belief over independent causes acting through effects: numbers only.

It must not know YAML, a layout, or the name of any cause, symptom or part.
"""
