"""Parsing the shipped files once is enough: their bytes do not change from test to test."""

from __future__ import annotations

import functools

import pytest

from diagnose.rulebase import nodes, reader


@functools.cache
def parsed(name, data):
    """Return nodes and problems of one file."""
    return nodes.read_nodes(name, data)


@pytest.fixture(autouse=True)
def parse_once(monkeypatch):
    """Give the reader what was parsed before; the list of problems is fresh each time."""

    def read(name, data):
        root, problems = parsed(name, data)
        return root, list(problems)

    monkeypatch.setattr(reader, "read_nodes", read)
