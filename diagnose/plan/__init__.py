"""What to do next and what not to do: checks and remedies valued, hard rules, warnings.

It must not know how a case is kept, nor what a screen looks like.
"""
