"""The figures of a bench as text."""

from __future__ import annotations

STAGES = {"complaint": "complaint alone", "ten_minutes": "first ten minutes", "end": "end of the plan"}
LINES = ("family_first", "family_in_three", "cause_first", "cause_in_three", "nobody_half", "sure", "sure_and_wrong", "group_right")


def percent(found):
    """Return a share in words: `62 % (60 to 64)`."""
    return "-" if found is None else f"{100 * found['share']:.0f} % ({100 * found['low']:.0f} to {100 * found['high']:.0f})"


def shown(found):
    """Return all figures as text."""
    out = [f"{found['layout']}, {found['troubles']} troubles, set {found['set']}, seed {found['seed']}", ""]
    for name, stage in found["stages"].items():
        out.append(f"{STAGES[name]}: {stage['troubles']} troubles, {stage['refused']} refused")
        out += [f"  {line.replace('_', ' '):18} {percent(stage[line])}" for line in LINES if line in stage]
        for score in ("brier_leading_family", "brier_families"):
            if stage[score]:
                out.append(f"  {score.replace('_', ' '):20} {stage[score]['mean']:.3f} +- {stage[score]['half_width_95']:.3f}")
        for table in ("leading_family", "families", "leading_group"):
            if table in stage:
                out.append(f"  calibration, {table.replace('_', ' ')}: said, true (interval), of")
                out += [_tenth(row) for row in stage[table]]
    for stage, held in found.get("outside", {}).items():
        out.append(f"outside, {STAGES[stage]}: held {percent(held['held'])}, sure and wrong {percent(held['sure_and_wrong'])}")
        out.append("  " + ", ".join(f"{kind} {a}/{b}" for kind, (a, b) in held["by_kind"].items()))
    for name, value in found.get("work", {}).items():
        out.append(f"{name.replace('_', ' ')}: {_worded(value)}")
    out.append(
        "by family (troubles, first, in three): "
        + ", ".join(f"{f} {v['of']}/{v['first']}/{v['in_three']}" for f, v in found["by_family"].items())
    )
    return "\n".join(out)


def _tenth(row):
    mark = {None: "", True: "holds", False: "OFF"}[row["holds"]]
    return f"    {row['said']:.2f}  {row['share']:.2f} ({row['low']:.2f} to {row['high']:.2f})  {row['of']:5}  {mark}"


def _worded(value):
    if not isinstance(value, dict):
        return value
    return percent(value) if "share" in value else f"{value['mean']:.1f} +- {value['half_width_95']:.1f}"
