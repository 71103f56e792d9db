"""One engine on the stand: its parts, its seed, and the runs it has made. Checks and repairs take it as their first argument."""

from __future__ import annotations

from collections.abc import Callable

from diagnose.places import SIDES, Layout
from diagnose.problems import BadInput, did_you_mean
from diagnose.stand.build import Build, new_cylinder, new_drive, new_magneto, new_plug, sound_build
from diagnose.stand.conditions import RUN_UP, Settings, Weather
from diagnose.stand.deposits import Service, after_service, burn_off, nose_celsius
from diagnose.stand.parts import Lead
from diagnose.stand.run import Running, run, throttle_for
from diagnose.stand.scatter import Scatter, share
from diagnose.stand.sparks import Moment, spark


class Engine:
    """An engine of a layout; one seed gives one engine, the same at every question. Weather may be changed at any time."""

    def __init__(self, layout: Layout, seed: int, weather: Weather | None = None) -> None:
        self.layout = layout
        self.scatter = Scatter(seed)
        self.build: Build = sound_build(layout, self.scatter)
        self.weather = weather or Weather()
        self._runs = 0
        self._parts = 0

    def begin(self) -> Callable[[str, float], bool]:
        """Start a new run and return what decides which faults that come and go act in it."""
        self._runs += 1
        seed, number = self.scatter.seed, self._runs

        def acts(name: str, chance: float) -> bool:
            return chance >= 1.0 or (chance > 0.0 and share(seed, f"run {number} {name}") < chance)

        return acts

    def side(self, place: str) -> str:
        """Return a side by name. Raises BadInput."""
        return self._known("magneto", place, SIDES)

    def circuit(self, place: str) -> str:
        """Return a circuit by name. Raises BadInput."""
        return self._known("circuit", place, self.layout.circuits)

    def cylinder(self, place: str | int) -> int:
        """Return a cylinder by number or text. Raises BadInput."""
        return int(self._known("cylinder", str(place), self.layout.places("cylinder")))

    def _known(self, what: str, place: str, places: tuple[str, ...]) -> str:
        if place not in places:
            raise BadInput(f"{what} {place!r} is not on this engine; {did_you_mean(place, places)}")
        return place

    def _new_name(self, what: str) -> str:
        self._parts += 1
        return f"{what} part {self._parts}"

    def fit_new_plug(self, circuit: str) -> None:
        """Put a new plug at a circuit."""
        self.build.plugs[self.circuit(circuit)] = new_plug(self.scatter, self._new_name("plug"), hours=0.0)

    def fit_new_lead(self, circuit: str) -> None:
        """Put a new lead at a circuit."""
        self.build.leads[self.circuit(circuit)] = Lead()

    def fit_magneto(self, side: str) -> None:
        """Put a known good magneto on, timed to the engine; on a single drive both sides are changed together."""
        aid = self.layout.start_aid[self.side(side)]
        sides = SIDES if self.layout.drive == "single" else (side,)
        drive = new_drive(self.scatter, self._new_name("drive"), aid)
        for one in sides:
            ground = self.build.magnetos[one].p_lead
            new = new_magneto(self.scatter, self._new_name("magneto"), drive, self.layout.start_aid[one], hours=0.0)
            new.p_lead = ground
            self.build.magnetos[one] = new
            drive.late_deg -= (new.points.follower_worn_in + 0.018 - new.points.clearance_in) / 0.0012 / self.build.ratio(one) / len(sides)

    def fit_cylinder(self, number: str | int) -> None:
        """Put a sound cylinder on."""
        self.build.cylinders[self.cylinder(number)] = new_cylinder(self.scatter, self._new_name("cylinder"))
        self.build.around.weak.pop(self.cylinder(number), None)

    def throttle(self, settings: Settings, acts: Callable[[str, float], bool]) -> float | None:
        """Return the throttle opening for a setting; None for full throttle."""
        return throttle_for(self.build, self.weather, settings, acts)

    def run(self, settings: Settings, position: str, opening: float | None, acts: Callable[[str, float], bool]) -> Running:
        """Return a steady run."""
        return run(self.build, self.weather, settings, position, opening, acts)

    def service(self, hours: float, idle_share: float = 0.15, settings: Settings = RUN_UP) -> None:
        """Run the engine for some hours as it is, `idle_share` of them on the ground, and let its plugs show it."""
        acts = self.begin()
        steady = self.run(settings, "both", self.throttle(settings, acts), acts)
        for circuit, plug in self.build.plugs.items():
            number = int(circuit.split("-")[0])
            one = steady.sparks.get(circuit)
            first = circuit.split("-")[1] == self.layout.fouls_first
            oil = self.build.cylinders[number].oil
            fires = one.chance if one is not None else 0.0
            after_service(plug, Service(hours, idle_share, steady.phi.get(number, 1.2), fires, oil, first))
        for magneto in self.build.magnetos.values():
            magneto.hours += hours

    def clear_plugs(self, minutes: float = 0.5, rpm: float = 2000.0) -> None:
        """Run leaned at a higher speed to burn plugs clean; cylinders that do not fire stay cold."""
        acts, settings = self.begin(), Settings(rpm=rpm, lever="lean")
        steady = self.run(settings, "both", self.throttle(settings, acts), acts)
        for circuit, plug in self.build.plugs.items():
            number = int(circuit.split("-")[0])
            lit = steady.firings[number].lit if number in steady.firings else 0.0
            phi = steady.phi.get(number, 1.0)
            nose = nose_celsius(steady.manifold_bar, max(steady.rpm, 1.0), plug.heat_range, phi)
            burn_off(plug, 20 + (nose - 20) * lit, minutes)

    def voltages(self, circuit: str, settings: Settings = RUN_UP) -> tuple[float, float]:
        """Return (needed, available) kV at a circuit at a setting: for drills and tests, no check of the trade shows it."""
        acts = self.begin()
        steady = self.run(settings, "both", self.throttle(settings, acts), acts)
        moment = Moment(steady.rpm, steady.manifold_bar, steady.phi, self.weather, settings.heat, acts=acts)
        one = spark(self.build, self.circuit(circuit), moment)
        return one.need, one.available
