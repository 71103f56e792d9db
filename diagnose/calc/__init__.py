"""Arithmetic for the numbers a technician has in hand: readings in, results, limits and next steps out.

It must not know a cause, a symptom's id or a command: layouts and the parts of a confirming run come in, and a result
names its symptom by the role it has in a rule base. Every calculation returns an `Answer`; input that cannot be used
raises `BadInput`.
"""
