"""Exact belief over independent causes acting through effects; no YAML, no name of any cause."""
