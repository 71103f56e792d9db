"""Problems in the knowledge of a rule base, and how well troubles can be told apart with it.

It must not know cases on file, nor how a screen is laid out beyond its own.
"""
