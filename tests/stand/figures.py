"""Figures of many simulated troubles: shares with intervals, calibration by tenths, Brier score, per family."""

from __future__ import annotations

from collections import defaultdict
from math import sqrt
from statistics import fmean, stdev

LEAST = 50  # forecasts in a tenth from which it is judged
POINTS = 0.05  # said and true may lie so far apart
SURE = 0.9


def share(flags):
    """Return a share with its 95 % interval (Wilson), `of` how many; None where there is nothing."""
    n, hits = len(flags), sum(map(bool, flags))
    if not n:
        return None
    low, high = wilson(hits, n)
    return {"share": round(hits / n, 3), "low": round(low, 3), "high": round(high, 3), "of": n}


def wilson(hits, n, z=1.96):
    """Return the 95 % interval of a share after Wilson (1927)."""
    p, square = hits / n, z * z
    middle, half = (p + square / (2 * n)) / (1 + square / n), z * sqrt(p * (1 - p) / n + square / (4 * n * n)) / (1 + square / n)
    return max(0.0, middle - half), min(1.0, middle + half)


def mean(values):
    """Return a mean with the half width of its 95 % interval (normal)."""
    values = list(values)
    if not values:
        return None
    half = 1.96 * stdev(values) / sqrt(len(values)) if len(values) > 1 else 0.0
    return {"mean": round(fmean(values), 3), "half_width_95": round(half, 3), "of": len(values)}


def brier(pairs):
    """Return the mean square of said less true, with its interval."""
    return mean((said - right) ** 2 for said, right in pairs)


def tenths(pairs):
    """Return calibration by tenths of what was said; `holds` says whether said and true are within 5 points where enough were said."""
    rows = []
    for tenth in range(10):
        mine = [(s, r) for s, r in pairs if min(9, int(s * 10)) == tenth]
        if mine:
            true = share([r for _, r in mine])
            said = fmean(s for s, _ in mine)
            holds = None if len(mine) < LEAST else abs(said - true["share"]) <= POINTS
            rows.append({"from": tenth / 10, "said": round(said, 3), **true, "holds": holds})
    return rows


def staged(records, name):
    """Return the figures of one stage: first and in three, calibration, Brier."""
    rows = [r["stages"][name] for r in records if name in r["stages"]]
    told = [row for row in rows if "refused" not in row]
    leading = [(row["family_share"], row["family_rank"] == 1) for row in told]
    every = [(said, right) for row in told for said, right in row["forecasts"]]
    found = {
        "troubles": len(rows),
        "refused": len(rows) - len(told),
        "family_first": share([row["family_rank"] == 1 for row in told]),
        "family_in_three": share([0 < row["family_rank"] <= 3 for row in told]),
        "cause_first": share([row["cause_rank"] == 1 for row in told]),
        "cause_in_three": share([0 < row["cause_rank"] <= 3 for row in told]),
        "nobody_half": share([row["nobody"] >= 0.5 for row in told]),
        "sure": share([row["cause_share"] >= SURE for row in told]),
        "sure_and_wrong": share([row["cause_share"] >= SURE and row["cause_rank"] != 1 for row in told]),
        "brier_leading_family": brier(leading),
        "brier_families": brier(every),
        "leading_family": tenths(leading),
        "families": tenths(every),
    }
    if told and "group_share" in told[0]:
        found["group_right"] = share([row["group_right"] for row in told])
        found["leading_group"] = tenths([(row["group_share"], row["group_right"]) for row in told])
        found["states"] = {state: sum(row["state"] == state for row in told) for state in sorted({row["state"] for row in told})}
    return found


def outside_held(records, name):
    """Return how many faults outside the rule base ended "unexplained" or with half for something else, and how many surely wrong."""
    rows = [r["stages"][name] for r in records if name in r["stages"]]
    held = [bool(row.get("refused")) or row["nobody"] >= 0.5 or row.get("state") == "unexplained" for row in rows]
    sure = [not h and max(row.get("cause_share", 0), row.get("group_share", 0)) >= SURE for h, row in zip(held, rows, strict=True)]
    kinds = defaultdict(list)
    for record, one in zip([r for r in records if name in r["stages"]], held, strict=True):
        kinds[record["kinds"][0]].append(one)
    return {"held": share(held), "sure_and_wrong": share(sure), "by_kind": {k: [sum(v), len(v)] for k, v in sorted(kinds.items())}}


def by_family(records, name):
    """Return family -> troubles, family first and in three, of the first fault's families."""
    found = defaultdict(list)
    for record in records:
        row = record["stages"].get(name, {})
        if "family_rank" in row and record["families"] and record["families"][0]:
            found[record["families"][0][0]].append(row["family_rank"])
    return {f: {"of": len(r), "first": sum(x == 1 for x in r), "in_three": sum(0 < x <= 3 for x in r)} for f, r in sorted(found.items())}


def summary(records):
    """Return every figure of a set of troubles."""
    stages = [s for s in ("complaint", "ten_minutes", "end") if any(s in r["stages"] for r in records)]
    found = {"troubles": len(records), "stages": {s: staged(records, s) for s in stages}, "by_family": by_family(records, stages[-1])}
    worked = [r for r in records if "repairs" in r]
    if worked:
        found["work"] = {
            "minutes_of_checks": mean(r["minutes"] for r in worked),
            "checks": mean(len(r["checks"]) for r in worked),
            "engine_runs": mean(r["runs"] for r in worked),
            "repairs": mean(r["repairs"] for r in worked),
            "part_changes": mean(r["parts"] for r in worked),
            "false_removals": mean(r["wrong_parts"] for r in worked),
            "complaint_gone": share([r["gone"] for r in worked]),
            "answers_unknown": round(sum(r["unknown"] for r in worked) / max(1, sum(r["asked"] for r in worked)), 3),
        }
    if records and not any(f for r in records for f in r["families"]):
        found["outside"] = {s: outside_held(records, s) for s in stages}
    found["nobody_would_notice"] = mean(r["unnoticed"] for r in records)
    return found
