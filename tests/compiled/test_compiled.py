"""What is kept is what was made; what is damaged, older, foreign or hostile is made anew, and nothing in it ever runs."""

from __future__ import annotations

import hashlib
import io
import os
import pickle
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from diagnose import compiled
from diagnose.belief.flat import flat_of
from diagnose.rulebase.locate import shipped
from diagnose.rulebase.reader import read_rulebase
from diagnose.trouble.network import build

FOLDERS = [shipped("rulebase")]


@pytest.fixture(scope="module")
def base():
    """Return the shipped rule base, read."""
    return read_rulebase(FOLDERS)[0]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Return an empty cache folder that is in use."""
    kept = tmp_path / "kept"
    monkeypatch.setenv("DIAGNOSE_CACHE", str(kept))
    return kept


class Making:
    """Makes a rule base, and counts how often."""

    def __init__(self, base):
        self.base, self.count = base, 0

    def __call__(self):
        self.count += 1
        return self.base


def never():
    """Stand in for reading and building where nothing should be made."""
    raise AssertionError("made anew")


def test_a_rule_base_kept_is_the_one_read(base, folder):
    """Field by field, places in files and all."""
    assert compiled.rulebase(FOLDERS, lambda: base) is base
    assert compiled.rulebase(FOLDERS, never) == base


@pytest.mark.slow
@pytest.mark.parametrize("name", ["opposed-4", "radial-9"])
def test_a_network_kept_has_the_same_numbers(base, folder, name):
    """Every node, link, cause and leak, and every array of belief; what it shares with the rule base is the same object."""
    made = compiled.network(base, base.layouts[name], lambda: build(base, base.layouts[name]))
    kept = compiled.network(base, base.layouts[name], never)
    assert kept is not made
    assert dict(kept.graph.nodes(data=True)) == dict(made.graph.nodes(data=True))
    assert list(kept.graph.edges(data=True)) == list(made.graph.edges(data=True))
    assert (kept.causes, kept.symptoms, kept.hidden) == (made.causes, made.symptoms, made.hidden)
    assert list(kept.causes) == list(made.causes)
    assert (kept.model.causes, kept.model.leaks, kept.model.pairs) == (made.model.causes, made.model.leaks, made.model.pairs)
    assert all(one.cause is base.causes[one.cause.id] for one in kept.causes.values())
    one, other = flat_of(kept.model), flat_of(made.model)
    assert one.numbers == other.numbers
    for field in ("strengths", "owners", "steps", "priors", "reach", "somehow"):
        assert np.array_equal(getattr(one, field), getattr(other, field))
    assert all(np.array_equal(one.fed[f].levels, other.fed[f].levels) for f in other.fed)


def _spoilt(data: bytes, how: str) -> bytes:
    middle = len(data) // 2
    ways = {
        "cut": data[:middle],
        "empty": b"",
        "one letter": data[:middle] + bytes([data[middle] ^ 1]) + data[middle + 1 :],
        "other words": _signed(b"not what a file holds"),
        "another record": _signed(pickle.dumps({"causes": 1})),
    }
    return ways[how]


def _signed(data: bytes) -> bytes:
    return hashlib.sha256(data).digest() + data


@pytest.mark.parametrize("how", ["cut", "empty", "one letter", "other words", "another record"])
def test_what_is_damaged_is_made_anew(base, folder, how):
    compiled.rulebase(FOLDERS, lambda: base)
    (path,) = folder.iterdir()
    path.write_bytes(_spoilt(path.read_bytes(), how))
    making = Making(base)
    assert compiled.rulebase(FOLDERS, making) is base
    assert making.count == 1
    assert compiled.rulebase(FOLDERS, never) == base, "and kept again"


class _Runs:
    """Would make a folder when it is read back."""

    def __init__(self, call, *given):
        self.way = call, given

    def __reduce__(self):
        return self.way


@pytest.mark.parametrize(
    "hostile",
    [
        lambda ran: _Runs(os.mkdir, ran),
        lambda ran: _Runs(exec, f"import os; os.mkdir({ran!r})"),
        lambda ran: _Runs(subprocess.call, [sys.executable, "-c", f"import os; os.mkdir({ran!r})"]),
        lambda ran: _Runs(Path.mkdir, Path(ran)),
        lambda ran: _Runs(build, None, ran),
    ],
)
def test_nothing_in_a_file_runs(base, folder, tmp_path, hostile):
    """Signed as a sound file is: calls of the system, of Python and of the program's own functions are all refused."""
    compiled.rulebase(FOLDERS, lambda: base)
    (path,) = folder.iterdir()
    ran = tmp_path / "ran"
    path.write_bytes(_signed(pickle.dumps(hostile(str(ran)))))
    assert compiled.rulebase(FOLDERS, lambda: base) is base
    assert not ran.exists()


@pytest.mark.parametrize(
    ("module", "name"),
    [
        ("diagnose.rulebase.reader", "read_rulebase"),
        ("diagnose.rulebase.records", "replace"),
        ("diagnose.rulebase.reader", "Path"),
        ("diagnose.rulebase.records", "RuleBase.on"),
        ("builtins", "eval"),
        ("os", "mkdir"),
    ],
)
def test_only_records_of_the_modules_named_are_made(module, name):
    reader = compiled._Reader(io.BytesIO(), None)
    with pytest.raises(pickle.UnpicklingError, match="is no record"):
        reader.find_class(module, name)


def test_an_array_of_objects_is_refused():
    reader = compiled._Reader(io.BytesIO(), None)
    with pytest.raises(ValueError, match="no array of numbers"):
        reader.persistent_load(("array", "|O", (1,), b"12345678"))


def test_a_changed_file_is_read_anew(folder, tmp_path):
    """A number, a name of a file, a file more: each is another rule base."""
    rules = tmp_path / "rules"
    rules.mkdir()
    (rules / "a.yaml").write_text("format: 1\nscale: {perhaps: {value: .3, numbers: estimate}}\n")
    names = [compiled._digest([*FOLDERS, rules])]
    (rules / "a.yaml").write_text("format: 1\nscale: {perhaps: {value: .4, numbers: estimate}}\n")
    names.append(compiled._digest([*FOLDERS, rules]))
    (rules / "a.yaml").rename(rules / "b.yaml")
    names.append(compiled._digest([*FOLDERS, rules]))
    (rules / "c.yaml").write_text("format: 1\n")
    names.append(compiled._digest([*FOLDERS, rules]))
    assert len(set(names)) == 4
    assert compiled._digest([*FOLDERS, rules]) == names[-1]


def test_switched_off_nothing_is_kept(base, tmp_path, monkeypatch):
    monkeypatch.setenv("DIAGNOSE_CACHE", "off")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    making = Making(base)
    for _ in range(2):
        assert compiled.rulebase(FOLDERS, making) is base
    assert making.count == 2
    assert list(tmp_path.iterdir()) == []


def test_without_a_word_it_is_the_users_own_folder(base, tmp_path, monkeypatch):
    """Of the folder for caches that desktop systems agree on (XDG base directory specification 0.8)."""
    monkeypatch.delenv("DIAGNOSE_CACHE", raising=False)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    compiled.rulebase(FOLDERS, lambda: base)
    assert [path.parent.name for path in tmp_path.rglob("*") if path.is_file()] == ["ignition-diagnose"]


@pytest.mark.skipif(sys.platform == "win32", reason="who may write is told otherwise there")
@pytest.mark.parametrize("open_to_others", ["folder", "file"])
def test_what_others_may_write_is_not_read(base, folder, open_to_others):
    compiled.rulebase(FOLDERS, lambda: base)
    (path,) = folder.iterdir()
    (folder if open_to_others == "folder" else path).chmod(0o777)
    making = Making(base)
    compiled.rulebase(FOLDERS, making)
    assert making.count == 1


def test_a_folder_that_cannot_be_written_stops_nothing(base, tmp_path, monkeypatch):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path / "file" / "kept"))
    assert compiled.rulebase(FOLDERS, lambda: base) is base


def test_the_oldest_go_and_nothing_else(base, folder):
    """So many files of its own are kept at most; what else lies in a folder that somebody named stays, however old."""
    folder.mkdir(mode=0o700)
    others = [folder / name for name in ("rough.case", "0" * 63, "0" * 64 + ".case")]
    for path in others:
        path.write_text("mine")
        os.utime(path, (0, 0))
    mine = [folder / f"{n:064x}" for n in range(compiled.MOST + 3)]
    for n, path in enumerate(mine):
        path.write_bytes(b"")
        os.utime(path, (n, n))
    compiled.rulebase(FOLDERS, lambda: base)
    assert [path.read_text() for path in others] == ["mine"] * 3
    assert len(list(folder.iterdir())) == compiled.MOST + len(others)
    assert not mine[0].exists()


def test_places_in_files_are_told_from_where_the_program_runs(folder, tmp_path, monkeypatch):
    """The same rule base from another folder is another file: what it says of its files would mislead."""
    here = compiled._digest(FOLDERS)
    monkeypatch.chdir(tmp_path)
    assert compiled._digest(FOLDERS) != here
    assert Path.cwd() == tmp_path
