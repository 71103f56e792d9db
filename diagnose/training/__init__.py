"""Exercises on an engine of the stand: drawn, read or made; worked by a trainee, measured, and gone through again.

It must not know screens, keys or papers; what a person is shown, and how, stands above it.
"""
