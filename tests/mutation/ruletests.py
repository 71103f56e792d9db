"""The laws of the circuit and what the trade says of look-alikes, called one by one on another rule base, quickest first.

The handbook tests are left out: they rank on several layouts each and would cost more than all the cases.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any
from unittest.mock import patch

from diagnose import loaded
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.network import build
from tests.casebook import test_how_common, test_laws
from tests.trade import test_look_alikes

MODULES = (test_how_common, test_laws, test_look_alikes)


def first_failing_rule_test(base: RuleBase) -> str:
    """Return the name of the first rule test that fails on a rule base; empty where all hold."""

    @cache
    def network_of(_overlay: tuple[str, ...], layout: str) -> Any:
        return build(base, base.layouts[layout])

    with patch.object(loaded, "network_of", network_of), patch.object(loaded, "rulebase", lambda _overlay=(): base):
        for module in MODULES:
            for name, function in vars(module).items():
                if name.startswith("test_") and _fails(function):
                    return f"{module.__name__.split('.')[-1]}.{name}"
    return ""


def _fails(function: Callable[..., None]) -> bool:
    for arguments in _calls(function):
        try:
            function(**arguments)
        except Exception:  # noqa: BLE001 - a test that cannot even run on a mutant has told it too
            return True
    return False


def _calls(function: Callable[..., None]) -> Iterator[dict[str, Any]]:
    """Return the arguments of every call that the `parametrize` marks of a test ask for."""
    axes = []
    for mark in (m for m in getattr(function, "pytestmark", []) if m.name == "parametrize"):
        names = [mark.args[0]] if isinstance(mark.args[0], str) else list(mark.args[0])
        rows = [value if len(names) > 1 else (value,) for value in mark.args[1]]
        axes.append([dict(zip(names, row, strict=True)) for row in rows])
    for chosen in itertools.product(*axes):
        yield {key: value for part in chosen for key, value in part.items()}
