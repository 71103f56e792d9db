"""Runs as text: tables of totals, misses with what was believed, differences against an earlier run."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from tests.real.records import Account, Entry

MOVED = 0.02  # a change of the accepted share from which an account counts as changed


def table(head: Sequence[str], rows: Sequence[Sequence[object]]) -> Iterator[str]:
    """Yield lines of a table: the first column to the left, numbers to the right, rounded to two places."""
    texts = [tuple(head), *(tuple(_cell(c) for c in row) for row in rows)]
    widths = [max(len(t[i]) for t in texts) for i in range(len(head))]
    for text in texts:
        yield "  ".join(c.ljust(w) if i == 0 else c.rjust(w) for i, (c, w) in enumerate(zip(text, widths, strict=True))).rstrip()


def _cell(value: object) -> str:
    return f"{value:.2f}" if isinstance(value, float) else str(value)


def whole(run: Mapping[str, Any]) -> Iterator[str]:
    """Yield a run as lines of text."""
    if "accounts" in run:
        yield from accounts(run["accounts"])
    if "made_up" in run:
        yield from made_up(run["made_up"])
    if "differentials" in run:
        yield from differentials(run["differentials"])
    yield f"Processor time {run['processor_seconds']:.0f} s. What each figure means: tests/real/README.md."


def accounts(part: Mapping[str, Any]) -> Iterator[str]:
    """Yield scores, sayable, family totals, calibration and misses of the accounts."""
    names = list(next(iter(part["totals"].values())))
    yield "Accounts"
    yield from table(("", *part["totals"]), [(n, *(t[n] for t in part["totals"].values())) for n in names])
    words = ", ".join(f"{k.replace('_', ' ')} {v}" for k, v in part["said"].items())
    yield from ("", f"Told complaints and observations said: {words}", "")
    yield from families(part["families"])
    yield from ("", "Calibration: shares by band, and how many of those families were accepted")
    bands = [(f"{b['from']:.2f}-{b['to']:.2f}", b["families"], b["mean_share"], b["accepted"]) for b in part["calibration"]]
    yield from table(("share", "families", "mean", "accepted"), bands)
    yield from ("", "Misses (no accepted family leads; * among the first three)")
    yield from (miss(name, one) for name, one in part["each"].items() if not one["first"])
    yield ""


def miss(name: str, one: Mapping[str, Any]) -> str:
    """Return what was believed where something else was accepted."""
    sure = " SURE AND WRONG" if one["sure_wrong"] else ""
    unseen = " ISOLATED UNSEEN" if one["isolated_unseen"] else ""
    mark = "*" if one["three"] else " "
    return f"{mark}{name} {one['standing']:<4} {' '.join(one['accepted'])}: {_told(one)}{sure}{unseen}"


def _told(one: Mapping[str, Any]) -> str:
    return ", ".join(f"{f} {share:.2f}" for f, share in list(one["families"].items())[:3]) or one["state"]


def families(rows: Mapping[str, Mapping[str, float]]) -> Iterator[str]:
    """Yield family totals, largest gap first."""
    order = sorted(rows, key=lambda f: (-abs(rows[f]["expected"] - rows[f]["bet"]), f))
    columns = [c for c in ("expected", "actual", "bet") if any(r[c] for r in rows.values())]
    yield from table(("Family totals", *columns), [(f, *(rows[f][c] for c in columns)) for f in order])


def made_up(part: Mapping[str, Any]) -> Iterator[str]:
    """Yield agreement on the made-up troubles and where it is missing."""
    yield "Made-up troubles"
    yield from table(("", ""), list(part["totals"].items()))
    yield from ("", "Disagreements (first suspicion; next step)")
    for name, one in part["each"].items():
        if not one["suspicion"]:
            yield f" {name} {' '.join(one['suspects'])}: {_told(one)}"
        if not one["step"]:
            yield f" {name} next {' '.join(one['steps'])}: {one['next']}"
    yield ""


def differentials(part: Mapping[str, Any]) -> Iterator[str]:
    """Yield how the program stands to the bets; of those set aside the totals alone."""
    for name, one in part["totals"].items():
        if not one["presentations"]:
            continue
        figures = {k: v for k, v in one.items() if k != "families"}
        yield f"Differentials, {name}: " + ", ".join(f"{k.replace('_', ' ')} {v}" for k, v in figures.items())
        if one["bets"]:
            yield from families(one["families"])
    for name, one in part["each"].items():
        if not one["suspicion"]:
            yield f" {name} bet {one['bet']}: {_told(one)}"
    yield ""


def in_full(entry: Entry, notes: Mapping[str, str], told: Mapping[str, Any], why: Mapping[str, list[str]]) -> Iterator[str]:
    """Yield one entry in full: result lines, belief, what each result did to the leaders, and what is noted of it."""
    yield f"{entry.id} on {entry.layout}"
    yield f"complaint: {' '.join(entry.complaint) or '(the abnormal squawks)'}"
    yield f"results: {' '.join(entry.results)}"
    yield f"state: {told['state']}{'' if told['exact'] else ', not exact'}; next: {told['next']}"
    yield from table(("family", "share"), list(told["families"].items())[:8])
    for cause, results in why.items():
        yield f"{cause} {told['causes'].get(cause, 0.0):.3f}: {', '.join(results)}"
    yield from (f"{key}: {value}" for key, value in notes.items() if value)


def observations(account: Account) -> Iterator[str]:
    """Yield what was told and met in an account, without the lines it was entered as."""
    yield f"{account.entry.id}: {account.told}"
    if account.engine:
        yield "  engine: " + ", ".join(f"{k.replace('_', ' ')} {v}" for k, v in account.engine.items())
    yield from (f"  {n}. {o.what}: {o.value} ({o.when})" for n, o in enumerate(account.observations, 1))


def changes(before: Mapping[str, Any], run: Mapping[str, Any]) -> Iterator[str]:
    """Yield totals that differ from an earlier run, and accounts whose leading family, state or accepted share moved."""
    for part in ("accounts", "made_up", "differentials"):
        if part in before and part in run:
            yield from _totals_changed(part, before[part]["totals"], run[part]["totals"])
            yield from _entries_changed(before[part]["each"], run[part]["each"])


def _totals_changed(part: str, before: Mapping[str, Any], now: Mapping[str, Any], where: str = "") -> Iterator[str]:
    for key, value in now.items():
        old = before.get(key)
        if isinstance(value, dict):
            yield from _totals_changed(part, old if isinstance(old, dict) else {}, value, f"{where}{key} ")
        elif old != value:
            yield f"{part} {where}{key}: {old} -> {value}"


def _entries_changed(before: Mapping[str, Any], now: Mapping[str, Any]) -> Iterator[str]:
    for name, one in now.items():
        old = before.get(name)
        if old is None:
            yield f" {name}: new"
        elif _moved(old, one):
            shares = f", accepted {old['share']:.3f} -> {one['share']:.3f}" if "share" in one else ""
            yield f" {name}: {_told(old)} ({old['state']}) -> {_told(one)} ({one['state']}){shares}"
    yield from (f" {name}: gone" for name in before if name not in now)


def _moved(old: Mapping[str, Any], now: Mapping[str, Any]) -> bool:
    lead = [next(iter(one["families"]), "") for one in (old, now)]
    return lead[0] != lead[1] or old["state"] != now["state"] or abs(old.get("share", 0.0) - now.get("share", 0.0)) >= MOVED
