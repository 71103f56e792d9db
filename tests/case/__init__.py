"""The record of a case: what is kept, what a kill may not take, what outlives a rule base."""
