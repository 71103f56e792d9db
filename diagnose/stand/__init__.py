"""The stand: an engine with faults in it, computed from physics, that gives what instruments and eyes would (README.md).

It knows places of a layout; it must not know a cause, a symptom, a rule or how often anything happens.
"""
