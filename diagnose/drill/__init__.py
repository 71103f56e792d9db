"""An engine of the stand seen as the rule base speaks: what a truthful mechanic answers, mends, and is complained to.

It must not know screens, files of cases or how belief is worked out, and nothing in it may be set to agree with a link of the rule base.
"""
