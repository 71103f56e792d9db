"""The record: an append-only file of entries, what they add up to, what a correction means.

It must not rank anything and must not advise.
"""
