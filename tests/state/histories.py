"""Random histories of a case, and a plain second opinion on what they forbid: read off the entries, not off the program's own state."""

from __future__ import annotations

from random import Random

from diagnose.case.log import Event
from diagnose.case.standing import as_it_stands, corrections
from diagnose.places import SIDES
from diagnose.trouble.results import read_result

OFF_CAUTIONS = {"p_lead_off_live", "turn_lead_off"}
RUN_CAUTIONS = {"run_area", "cranking"}
HAND_CAUTIONS = {"turn_by_hand", "turn_lead_off", "timing_prop", "compression_air"}
RUN_ACCESS = {"engine_running", "engine_hot"}
LIVE = {"runs_in_off", "fires_past_off", "fires_when_turned", "p_lead_open"}
BROKEN = {"points_stand_still", "plug_metal", "impulse_cracked", "plug_fused", "valve_spring_broken", "lead_order_wrong"}
PLUG_OUT = {  # checks after which a plug of their place, or some of the engine, is out
    *("look_at_plug", "look_at_bottom_plugs", "all_plugs_inspection", "measure_plug_resistance", "bench_test_plug", "hot_compression"),
    *("compression_one_cylinder", "borescope_cylinder", "drain_test_low_cylinders"),
}
OFF_MAGNETO = {"bench_magneto", "look_at_drive_end", "open_impulse_coupling"}
DANGER = (
    *("runs_in_off.idle@engine=yes", "runs_in_off.idle@engine=no", "fires_when_turned@engine=yes", "kick_back.start@engine=yes"),
    *("p_lead_open@left=yes", "p_lead_open@right=yes", "p_lead_open@left=no", "points_stand_still@left=yes", "plug_metal@1-{p}=yes"),
    *("lead_order_wrong@2-{p}=yes", "lead_order_wrong@2-{p}=no", "struck_or_kicked_back@engine=yes", "struck_or_kicked_back@engine=no"),
)
KINDS = (*["check"] * 4, "danger", *["state"] * 2, *["good"] * 3, "repair", "close", "close", "correct", "correct", "access", "decline")
STATES = (
    *({f"P-lead {side}": now} for side in SIDES for now in ("on", "off", "unknown", "off at the magneto", "hm, see sheet")),
    *({f"magneto {side}": now} for side in SIDES for now in ("grounded", "not grounded")),
    *({"plugs": now} for now in ("in", "out of every cylinder", "out 1-top")),
    *({"parts off": now} for now in ("none", "left magneto")),
    {"plug 2": "out"},
    *({"inspection": now} for now in ("done", "due")),
    {"cowl": "off"},
    {"propeller": "tagged", "chocks": "out"},
    {"wheel": "flat"},
)


class Maker:
    """Makes the entries of one random history on one layout."""

    def __init__(self, network, seed: int) -> None:
        self.network, self.rng = network, Random(seed)
        base, layout = network.base, network.layout
        places = {c.id: [p for p in layout.places(c.at) if all(layout.has(p, n) for n in c.needs)] for c in base.checks.values()}
        self.checks = [(c, p) for c in base.checks.values() for p in places[c.id]]
        self.remedies = [
            (r, p) for r in base.remedies.values() for p in layout.places(r.at) if all(layout.has(p, need) for need in r.needs)
        ]
        self.position = layout.positions[0]
        self.wrong = 0

    def entries(self, length: int):
        """Return entries (kind, data), the complaint first; few abnormal results, so that belief stays quick."""
        rows = [
            (
                "result",
                {"result": self.rng.choice(("rough.runup@left=yes", "drop@left=excessive", "hard_start@engine=yes")), "complaint": True},
            )
        ]
        while len(rows) < length:
            kind = self.rng.choice(KINDS)
            rows += getattr(self, kind)(rows)
        return rows[:length]

    def check(self, rows):
        check, place = self.rng.choice(self.checks)
        told = []
        for ref in check.gives[:2]:
            symptom = self.network.base.symptoms[ref.symptom]
            spots = [
                s
                for s in self.network.layout.related(place, ref.relation)
                if f"{symptom.id}.{ref.regime or symptom.default}@{s}" in self.network.symptoms
            ]
            if spots:
                bad = self.wrong < 5 and self.rng.random() < 0.15
                self.wrong += bad
                grade = symptom.names[-1] if bad else self.rng.choice((symptom.names[0], symptom.names[0], "unknown", "cannot"))
                told.append(f"{symptom.id}.{ref.regime or symptom.default}@{spots[0]}={grade}")
        item = [("note", {"note": check.refit, "open": True, "refit": f"{check.id}@{place}"})] if check.refit else []
        named = self.rng.random() < 0.8
        return [
            *(("result", {"result": t, "check": f"{check.id}@{place}" if named else ""}) for t in told),
            *(item if named and told else []),
        ]

    def danger(self, rows):
        return [("result", {"result": self.rng.choice(DANGER).format(p=self.position)})]

    def state(self, rows):
        return [("state", {"state": dict(self.rng.choice(STATES))})]

    def good(self, rows):
        """What a careful person enters: leads on, parts back, a blow looked at, the OFF check passed."""
        told = {"P-lead left": "on", "P-lead right": "on", "parts off": "none", "inspection": "done"}
        return [("state", {"state": told}), ("result", {"result": "runs_in_off.idle@engine=no", "check": "off_check@engine"})]

    def repair(self, rows):
        remedy, place = self.rng.choice(self.remedies)
        return [("repair", {"remedy": f"{remedy.id}@{place}"})]

    def close(self, rows):
        items = [n for n, (kind, data) in enumerate(rows, 2) if kind == "note" and data.get("refit")]
        return [("note", {"note": "done", "closes": self.rng.choice(items)})] if items else []

    def correct(self, rows):
        able = [n for n, (kind, _) in enumerate(rows, 2) if kind in ("result", "repair", "state", "note")][1:]
        return [("correct", {"corrects": self.rng.choice(able), "withdrawn": True, "reason": "wrong"})] if able else []

    def access(self, rows):
        return [("access", {"now": self.rng.choice((["cowl_off"], ["cowl_off", "plugs_out"], ["engine_running"], []))})]

    def decline(self, rows):
        check, place = self.rng.choice(self.checks)
        return [("decline", {"check": f"{check.id}@{place}", "reason": "not here"})]


class Opinion:
    """What a history forbids, worked out entry by entry with the cautions of the rule base by name."""

    def __init__(self, network, events) -> None:
        self.network = network
        self.off, self.why, self.grounded = dict.fromkeys(SIDES, False), dict.fromkeys(SIDES, ""), dict.fromkeys(SIDES, False)
        self.live: dict[str, int] = {}  # located symptom: the entry that told of it
        self.broken: set[str] = set()
        self.blows: set[str] = set()
        self.parts = self.due = self.plugs_out = False
        self.part_of = ""
        self.apart: dict[str, set[str]] = {}  # a plug or lead that is off, or `plugs`, `leads`: the steps that left it so
        self.items: dict[int, str] = {}  # refit item: its step
        made = corrections(events)
        standing: list[Event] = []
        for event in events:
            stands = as_it_stands(event, made)
            if stands is not None:
                getattr(self, f"_{event.kind}", lambda *_: None)(stands, list(standing))
                standing.append(stands)
            elif event.kind == "result":
                self._taken_off(event)

    @property
    def no_power(self) -> bool:
        return any(self.off.values()) or bool(self.live) or bool(self.broken or self.blows) or self.parts

    @property
    def no_hand(self) -> bool:
        free = [s for s in SIDES if (self.off[s] or self.live or self.due) and not self.grounded[s]]
        return bool(free) and not self.plugs_out

    def forbids(self, entry) -> bool:
        """Return whether a check or remedy is forbidden."""
        runs = bool(RUN_ACCESS & set(entry.access) or RUN_CAUTIONS & set(entry.cautions))
        by_hand = bool(HAND_CAUTIONS & set(entry.cautions)) and "plugs_out" not in entry.access
        return (runs and self.no_power) or (by_hand and self.no_hand)

    def _step(self, entry, step) -> None:
        if RUN_ACCESS & set(entry.access) or RUN_CAUTIONS & set(entry.cautions):
            self.plugs_out, self.grounded = False, dict.fromkeys(SIDES, False)
        elif "plugs_out" in entry.access:
            self.plugs_out = True
        place = step.partition("@")[2]
        if entry.id in PLUG_OUT:
            self.apart.setdefault("plugs" if place == "engine" else f"plug {place}", set()).add(step)
        if entry.id in ("clean_plug", "replace_plug", "gap_plug", "refit_plug", "clean_plug_well"):
            self.apart.pop(f"plug {place}", None)
        if entry.id in ("change_cylinder_plugs", "clean_all_plugs", "replace_plug_set", "fit_right_plugs", "dry_plugs"):
            inside = [n for n in self.apart if n.startswith("plug") and (place == "engine" or n.split()[-1].split("-")[0] == place)]
            self.apart = {n: why for n, why in self.apart.items() if n not in inside}
        if OFF_CAUTIONS & set(entry.cautions):
            place = step.partition("@")[2]
            for side in (place,) if place in SIDES else SIDES:
                self.off[side], self.why[side] = True, step
        if entry.id in OFF_MAGNETO:
            self.parts, self.part_of = True, step
        if {*OFF_CAUTIONS, "switch_wires", "prove_off"} & set(entry.cautions):
            self.due = True

    def _taken_off(self, event) -> None:
        """What was taken off for a result withdrawn since is off; that makes nothing harmless."""
        name = str(event.data.get("check") or "")
        entry = self.network.base.checks.get(name.partition("@")[0])
        if entry is None or event.data["result"].endswith("=cannot"):
            return
        harmless, grounded, ran = self.plugs_out, self.grounded, RUN_ACCESS & set(entry.access) or RUN_CAUTIONS & set(entry.cautions)
        self._step(entry, name)
        self.grounded = grounded
        self.plugs_out = harmless and not (ran and "plugs_out" in entry.access)

    def _result(self, event, before) -> None:
        base = self.network.base
        name = str(event.data.get("check") or "")
        for result in read_result(event.data["result"], base, self.network.layout):
            entry = base.checks.get(name.partition("@")[0])
            if entry is not None and result.grade != "cannot":
                self._step(entry, name)
            elif entry is None and result.grade != "cannot" and not result.history and not event.data.get("complaint"):
                self._unnamed(result)
            if result.symptom in LIVE and result.abnormal:
                self.live[result.subject] = event.seq
            if result.symptom == "runs_in_off" and result.normal:
                self._off_passed(result, before)
            if result.symptom in BROKEN:
                (self.broken.add if result.abnormal else self.broken.discard)(result.subject)
            if result.symptom == "kick_back" and result.abnormal:
                self.blows.add("kicked")
            if result.symptom == "struck_or_kicked_back":
                (self.blows.add if result.grade == "yes" else self.blows.discard)("told of")

    def _unnamed(self, result) -> None:
        """A result by no check named: one of a running engine, or one that only shows with a P-lead off."""
        if "static" not in result.regimes:
            self.plugs_out, self.grounded = False, dict.fromkeys(SIDES, False)
        givers = [c for c in self.network.base.checks.values() if any(g.symptom == result.symptom for g in c.gives)]
        if givers and all(OFF_CAUTIONS & set(c.cautions) for c in givers):
            for side in SIDES if result.place not in SIDES else (result.place,):
                self.off[side], self.why[side] = True, ""

    def _off_passed(self, result, before) -> None:
        """An OFF check proves the grounding with both leads on, and ends an alarm only after a repair."""
        if not any(self.off.values()):
            self.due = False
        repaired = [e.seq for e in before if e.kind == "repair"]
        for subject, seq in list(self.live.items()):
            own = not subject.startswith("runs_in_off") or subject == result.subject
            if own and any(r > seq for r in repaired):
                del self.live[subject]

    def _repair(self, event, before) -> None:
        name, _, place = event.data["remedy"].partition("@")
        self._step(self.network.base.remedies[name], f"{name}@{place}")
        self.broken = set()  # a repair may have been the right one: only what no repair followed is surely broken

    def _state(self, event, before) -> None:
        for thing, now in event.data["state"].items():
            kind, _, side = thing.partition(" ")
            if kind == "P-lead":
                if self.off[side] and now == "on":
                    self.due = True
                self.off[side], self.why[side] = now != "on", ""
            elif kind == "magneto":
                self.grounded[side] = now == "grounded"
            elif thing == "plugs":
                self.plugs_out = now == "out of every cylinder"
                if now == "in":
                    self.apart = {n: why for n, why in self.apart.items() if not n.startswith("plug")}
                else:
                    self.apart.setdefault("plugs", set())
            elif kind == "plug":
                self.apart.setdefault(thing, set())
            elif thing == "parts off":
                self.parts, self.part_of = now != "none", ""
            elif thing == "inspection":
                self.blows = set() if now == "done" else self.blows

    def _note(self, event, before) -> None:
        if event.data.get("refit"):
            self.items[event.seq] = event.data["refit"]
        step = self.items.pop(event.data.get("closes"), "")
        self.apart = {n: why for n, why in self.apart.items() if not step or step not in why}
        for side in SIDES:
            if step and self.off[side] and self.why[side] == step:
                self.off[side], self.due = False, True
        if step and self.part_of == step:
            self.parts = False

    def _access(self, event, before) -> None:
        if "engine_running" in event.data["now"]:
            self.plugs_out, self.grounded = False, dict.fromkeys(SIDES, False)
        if "plugs_out" in event.data["now"]:
            self.plugs_out = True
