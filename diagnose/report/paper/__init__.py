"""Worksheet, draft entry and hand-over sheet, as plain blocks and in four forms.

A form adds no fact; a builder knows no form.
"""
