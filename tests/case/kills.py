"""Every writing command killed before, inside and after each call that touches the disk; `python -m tests.case.kills` prints the counts.

Each kill is a child of its own that ends by SIGKILL at one call. Afterwards the file must be whole: what stood before stands
byte for byte, a batch is there as a whole or not at all, what was acknowledged is there, and the next entry goes in.
"""

from __future__ import annotations

import os
import shutil
import signal
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from diagnose import loaded
from diagnose.__main__ import main
from diagnose.case import log
from tests.talking import talk

CALLS = ("open", "write", "fsync", "ftruncate", "link", "unlink", "replace", "close")
TORN = {"torn"}  # the only problem a kill may leave: a last line that was never acknowledged
COMMANDS: dict[str, tuple[str, ...]] = {
    "enter": ("enter", "{case}", "drop@left=excessive", "drop_fast@left=yes", "--check", "mag_check"),
    "enter and its open item": ("enter", "{case}", "points_gap_narrow@left=yes", "--check", "gauge_points@left"),
    "calc --into": ("calc", "mag-check", "--both", "1800", "--left", "1560", "--right", "1740", "--into", "{case}"),
    "tell": ("tell", "{case}", "left mag drops 250 and shakes", "--yes"),
    "exchange": ("exchange", "{case}", "swap_plug@3-bottom,1-bottom"),
    "remedy": ("remedy", "{case}", "replace_plug@3-bottom"),
    "note": ("note", "{case}", "text", "--open", "--state", "P-lead left=off", "--unit", "engine=E-1", "--unit", "plugs=P-1"),
    "note --closes": ("note", "{case}", "done", "--closes", "3"),
    "note --same-person": ("note", "{case}", "--same-person", "ida=I"),
    "correct": ("correct", "{case}", "2", "--reason", "wrong side", "--result", "rough@right=yes"),
    "correct a reading": ("correct", "{case}", "5", "--reason", "wrong engine"),
    "next --keep": ("next", "{case}", "--keep"),
    "chase": ("", "d", "1", "", "", "s", "1", "2", "q"),
    "open": ("open", "{new}", "--layout", "opposed-4", "--unit", "engine=E-1", "--complaint", "rough"),
    "record --out": ("record", "{case}", "--format", "html", "--out", "{new}"),
    "picture --out": ("picture", "{case}", "--out", "{new}"),
}


@dataclass
class Count:
    """What came of one command: kills, and what was wrong after them."""

    kills: int = 0
    wrong: list[str] = field(default_factory=list)


class _Killer:
    """Replaces the calls that touch the disk; at the `at`-th one the process ends, before, inside or after it."""

    def __init__(self, at: int, moment: str) -> None:
        self.at, self.moment, self.seen = at, moment, 0
        self.real = {name: getattr(os, name) for name in CALLS}

    def start(self) -> None:
        for name in CALLS:
            setattr(os, name, self._made(name))

    def _made(self, name: str) -> Callable[..., object]:
        def call(*args: object, **more: object) -> object:
            if name == "write" and args[0] in (1, 2):
                return self.real[name](*args, **more)
            self.seen += 1
            now = self.seen == self.at
            if now and self.moment == "before":
                _end()
            if now and self.moment == "inside" and name == "write":
                data = args[1]
                assert isinstance(data, bytes)
                self.real[name](args[0], data[: len(data) // 2])
                _end()
            result = self.real[name](*args, **more)
            if now:
                _end()
            return result

        return call


def _end() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def prepared(folder: Path) -> Path:
    """Return a case with a complaint, an open item of somebody, a reading and its results."""
    case = folder / "a.case"
    quiet(["open", str(case), "--layout", "opposed-4", "--person", "ida"])
    quiet(["enter", str(case), "rough@left=yes", "--complaint", "--person", "I"])
    quiet(["note", str(case), "left lead to be looked at", "--open"])
    quiet(["enter", str(case), "drop@right=normal"])
    quiet(["calc", "mag-check", "--both", "1800", "--left", "1700", "--right", "1740", "--into", str(case)])
    return case


def quiet(argv: Sequence[str]) -> int:
    """Run a command in this process with its words left out."""
    here = [os.dup(1), os.dup(2)]
    sink = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(sink, 1)
        os.dup2(sink, 2)
        return main(list(argv))
    finally:
        for number, kept in enumerate(here, 1):
            os.dup2(kept, number)
            os.close(kept)
        os.close(sink)


def killed(name: str, case: Path, new: Path, at: int, moment: str) -> tuple[bool, str]:
    """Run a command in a child that is killed at one call; return whether it was, and what it had said until then."""
    said = case.with_name("said")
    child = os.fork()
    if child == 0:
        out = os.open(said, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
        os.dup2(out, 1)
        os.dup2(out, 2)
        words = [w.format(case=case, new=new) for w in COMMANDS[name]]
        _Killer(at, moment).start()
        code = talk(case, *words)[0] if name == "chase" else main(words)
        os._exit(min(code, 100))
    _, status = os.waitpid(child, 0)
    return os.WIFSIGNALED(status), said.read_text("utf-8", "replace")


def wrong_after(name: str, case: Path, new: Path, before: bytes, said: str) -> str:
    """Return what is wrong with the files after a kill; empty where nothing is."""
    makes = any("{new}" in w for w in COMMANDS[name])
    after = case.read_bytes()
    if not after.startswith(before):
        return "what stood before has changed"
    if makes:
        return _wrong_new(name, case, new, after == before, said)
    problems = {p.code for p in log.verify(case)[0]} - TORN
    if problems:
        return f"problems {sorted(problems)}"
    made = [e for e in log.read(case).events[before.count(b"\n") :] if e.kind != "recovered"]
    acknowledged = [line for line in said.splitlines() if line.partition(":")[0].isdigit()]
    if len(made) < len(acknowledged):
        return f"{len(acknowledged)} acknowledged, {len(made)} there"
    if made and name in WHOLE and len(made) != WHOLE[name]:
        return f"half a batch: {len(made)} of {WHOLE[name]}"
    log.append(case, "note", "", {"note": "after"})
    left = [p.code for p in log.verify(case)[0]]
    return f"problems {left} after the next entry" if left else ""


WHOLE = {"enter": 2, "enter and its open item": 2, "note": 4}


def _wrong_new(name: str, case: Path, new: Path, untouched: bool, said: str) -> str:
    if not untouched:
        return "the case was written to"
    if not new.exists():
        return "acknowledged and not there" if "opened" in said or "written" in said else ""
    if name == "open":
        return "" if not log.verify(new)[0] and len(log.read(new).events) == 2 else "half a case"
    end = {"record --out": "</html>", "picture --out": "</svg>"}[name]
    return "" if new.read_text("utf-8").rstrip().endswith(end) else "half a file"


def drive(name: str, most: int = 200, stride: int = 1) -> Count:
    """Kill a command at every call (or every so many), before, inside and after it, until it ends by itself."""
    found = Count()
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        kept = prepared(folder)
        before = kept.read_bytes()
        for moment in ("before", "inside", "after"):
            for at in range(1, most, stride):
                work = folder / f"{moment}-{at}"
                work.mkdir()
                case, new = work / "a.case", work / "new.out"
                shutil.copy(kept, case)
                was_killed, said = killed(name, case, new, at, moment)
                problem = wrong_after(name, case, new, before, said)
                if problem:
                    found.wrong.append(f"{name}, {moment} call {at}: {problem}")
                if not was_killed:
                    break
                found.kills += 1
    return found


def table(names: Sequence[str]) -> int:
    """Print kills and losses of every command; return the number of losses."""
    loaded.network_of((), "opposed-4")  # read once, before the children
    total = Count()
    for name in names:
        found = drive(name)
        print(f"{name:<26} {found.kills:>4} kills {len(found.wrong):>3} losses", flush=True)
        total.kills += found.kills
        total.wrong += found.wrong
    print(f"{'all':<26} {total.kills:>4} kills {len(total.wrong):>3} losses")
    for line in total.wrong:
        print(line)
    return len(total.wrong)


if __name__ == "__main__":
    raise SystemExit(1 if table(list(COMMANDS)) else 0)
