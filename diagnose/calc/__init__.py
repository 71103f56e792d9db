"""Arithmetic for the numbers a technician has in hand: readings in, results, limits and next steps out.

It must not know a cause or a rule base; layout facts come in as an
:class:`~diagnose.calc.layout.EngineLayout`.
Every calculation returns an :class:`~diagnose.calc.record.Answer`. Bad input raises
:class:`~diagnose.calc.problem.CalcError`, whose text is one line: what, why not, how to mend it.
"""
