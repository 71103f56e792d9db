"""Finds what is probably wrong with a piston-aircraft ignition system, and what to check next."""

__version__ = "0.2.0"
