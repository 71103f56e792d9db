"""Cases gone through again: replayed, reproduced, compared, found on a shelf.

It must not word anything for a reader's eye, nor change a case.
"""
