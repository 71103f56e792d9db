"""What a rule base comes to, kept in the user's cache folder: read, checked and linked once, not at every command.

A file holds a rule base, or its network on one layout with the arrays belief runs on. Its name is a digest of every file of the
rule base, of the program's own files and of the libraries whose records it holds: whatever changes, another file is looked for.

Nothing in such a file can run: out of it are made the plain records of a few modules, numbers and texts, and nothing else. It begins
with the digest of the rest, must belong to whoever runs the program, and must not be open to others to write. What is missing, older,
damaged or not to be trusted is made anew without a word. `DIAGNOSE_CACHE=off` keeps and reads nothing; a folder there is used instead.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import os
import pickle  # never more than records: see _Reader
import platform
import re
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any, TypeVar

from diagnose import __version__
from diagnose.belief.flat import Flat, flat_of, keep_flat
from diagnose.places import Layout
from diagnose.rulebase.records import RuleBase
from diagnose.trouble.network import Network

OFF = "off"
OWN = ("diagnose.belief.flat", "diagnose.belief.model", "diagnose.places", "diagnose.rulebase.", "diagnose.trouble.network")
GRAPH = ("networkx.classes.digraph", "networkx.classes.reportviews", "networkx.classes.coreviews")
PLAIN = frozenset({("builtins", "frozenset"), ("builtins", "set"), ("diagnose.compiled", "Linked")})
KINDS = "biuf"  # arrays of truth values and numbers; an array of objects is none of ours
NAME = re.compile("[0-9a-f]{64}")
DIGEST = hashlib.sha256().digest_size
MOST = 16  # files kept, the newest: some seven layouts before and after a change (estimate)
UNREADABLE = (
    OSError,
    pickle.UnpicklingError,
    ValueError,
    KeyError,
    TypeError,
    AttributeError,
    ImportError,
    IndexError,
    EOFError,
    MemoryError,
)

Made = TypeVar("Made")


@dataclass(frozen=True)
class Linked:
    """A network with what is read off it, and the arrays belief runs on."""

    network: Network
    flat: Flat


def rulebase(folders: Sequence[Path], make: Callable[[], RuleBase]) -> RuleBase:
    """Return the rule base of some folders as it is kept, else as `make` reads it, and keep that; raises what `make` raises."""
    name = _digest(folders)
    found = _kept(name, None, RuleBase)
    if found is None:
        found = make()
        _keep(name, found, None)
    return found


def network(base: RuleBase, layout: Layout, make: Callable[[], Network]) -> Network:
    """Return the network of a rule base on a layout as it is kept, else as `make` builds it, and keep that."""
    name = hashlib.sha256(f"{Path.cwd()} {base.sha256} {layout.id} {_program()}".encode()).hexdigest()
    found = _kept(name, base, Linked)
    if found is None:
        built = make()
        found = Linked(built, flat_of(built.model))
        for read_off in ("causes", "symptoms", "hidden"):
            getattr(built, read_off)  # worked out now, and kept with it
        built.__dict__.pop("unfolded", None)
        _keep(name, found, base)
    keep_flat(found.network.model, found.flat)
    return found.network


def _digest(folders: Sequence[Path]) -> str:
    """Return a name for what some folders hold now, seen from where the program runs: places in files are told from there."""
    digest = hashlib.sha256(f"{Path.cwd()} {_program()}".encode())
    for folder in folders:
        for path in sorted(folder.rglob("*.yaml")):
            digest.update(f"\0{folder.absolute()}\0{path}\0".encode())
            with contextlib.suppress(OSError):
                digest.update(path.read_bytes() if path.is_file() else b"")
    return digest.hexdigest()


@cache
def _program() -> str:
    """Return the program and the libraries that made a file: its version, and size and time of its own files."""
    own = sorted(Path(__file__).parent.rglob("*.py"))
    files = [(path.name, stat.st_size, stat.st_mtime_ns) for path, stat in ((path, path.stat()) for path in own)]
    return f"{__version__} {platform.python_version()} {version('networkx')} {version('numpy')} {files}"


def _folder() -> Path | None:
    """Return the folder of kept files, made where it is not there; None where nothing is to be kept or it is not the user's own."""
    named = os.environ.get("DIAGNOSE_CACHE", "")
    if named == OFF:
        return None
    if named:
        folder = Path(named)
    else:
        from platformdirs import user_cache_path

        folder = user_cache_path("ignition-diagnose", appauthor=False)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        return folder if _own(folder) else None
    except OSError:
        return None


def _own(path: Path) -> bool:
    """Return whether a path belongs to whoever runs the program and is not open to others to write; where the system can tell."""
    if sys.platform == "win32":
        return True
    stat = path.stat()
    return stat.st_uid == os.getuid() and not stat.st_mode & 0o022


def _kept(name: str, base: RuleBase | None, kind: type[Made]) -> Made | None:
    """Return what a file holds; None where it is missing, damaged, or not to be trusted."""
    folder = _folder()
    path = folder / name if folder else None
    try:
        if path is None or not _own(path):
            return None
        data = path.read_bytes()
        if hashlib.sha256(data[DIGEST:]).digest() != data[:DIGEST]:
            return None
        found = _Reader(io.BytesIO(memoryview(data)[DIGEST:]), base).load()
    except UNREADABLE:
        return None
    return found if isinstance(found, kind) else None


def _keep(name: str, made: object, base: RuleBase | None) -> None:
    """Write a file whole or not at all, and drop the oldest; where nothing can be written nothing is kept."""
    folder = _folder()
    if folder is None:
        return
    out = io.BytesIO()
    _Writer(out, base).dump(made)
    data = out.getvalue()
    with contextlib.suppress(OSError):
        handle, fresh = tempfile.mkstemp(dir=folder)
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(data).digest() + data)
        Path(fresh).replace(folder / name)
        mine = [path for path in folder.iterdir() if NAME.fullmatch(path.name)]  # a folder that somebody names may hold other things
        for old in sorted(mine, key=lambda path: path.stat().st_mtime, reverse=True)[MOST:]:
            old.unlink(missing_ok=True)


class _Writer(pickle.Pickler):
    """Writes arrays as their bytes, and what the rule base holds too as a way to find it there."""

    def __init__(self, out: io.BytesIO, base: RuleBase | None) -> None:
        super().__init__(out, protocol=5)
        self.known = {id(one): way for way, one in _entries(base)} if base else {}

    def persistent_id(self, one: object) -> tuple[Any, ...] | None:
        import numpy as np

        if isinstance(one, np.ndarray):
            return "array", one.dtype.str, one.shape, one.tobytes()
        return self.known.get(id(one))


class _Reader(pickle.Unpickler):
    """Makes records of the program's own, its graph, arrays of numbers, and what the rule base holds."""

    def __init__(self, data: io.BytesIO, base: RuleBase | None) -> None:
        super().__init__(data)
        self.known = dict(_entries(base)) if base else {}

    def persistent_load(self, way: tuple[Any, ...]) -> object:
        import numpy as np

        if way[0] != "array":
            return self.known[way]
        kind = np.dtype(str(way[1]))
        if kind.kind not in KINDS:
            raise ValueError("no array of numbers")
        return np.frombuffer(way[3], kind).reshape(way[2]).copy()

    def find_class(self, module: str, name: str) -> Any:
        """Return a record type of the program, or the graph's; everything else is refused."""
        allowed = module.startswith(OWN) or module in GRAPH or (module, name) in PLAIN
        found = super().find_class(module, name) if allowed and "." not in name else None
        if not isinstance(found, type) or found.__module__ != module:
            raise pickle.UnpicklingError(f"{module}.{name} is no record")
        return found


def _entries(base: RuleBase) -> Iterator[tuple[tuple[Any, ...], object]]:
    """Yield (way, entry) for what a network shares with its rule base."""
    for name in ("causes", "symptoms", "checks", "remedies", "history", "layouts", "templates", "limits", "says", "sentences"):
        for key, entry in getattr(base, name).items():
            yield (name, key), entry
    for key, cause in base.causes.items():
        yield from ((("effect", key, n), rule) for n, rule in enumerate((*cause.effects, *cause.goes)))
