"""Commands, options, prompts and exit codes.

It must not work anything out: it asks the rooms below and shows what they say.
"""
