"""The record: an append-only file of entries, what they add up to, what a correction means.

`log` writes, locks and reads the file, `chain` finds changes made outside, `standing` says what a correction means, `case`
adds entries up, `still_open` says what is not finished, `carried` reads ids of older rule bases. It must not rank anything
and must not advise.
"""
