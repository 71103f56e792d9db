"""Plain language to results: what a mechanic or a pilot says, read by the words of the rule base.

It must not know how a case is kept, what a screen looks like, nor any symptom by name. Nothing it reads is believed by itself.
"""
