"""Belief, plan and finding of one trouble put together, why so, and what was advised.

It must not know files, screens or papers.
"""
