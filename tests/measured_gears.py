"""Engines measured as in a shop, part by part and by trammel on the gear put together, by the independent solvers.

Nothing here is the model that inverts them. The true gear is drawn about its drawing; parts are measured with errors of
their own; distances are those of pins as ``tests/independent`` places them, the axle standing anywhere on its springs,
the wheel a little off its dead centre, every rod longer or shorter by how its pins lie in their holes.
"""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations
from typing import Any

import numpy as np

from linkmotion.engine import DRAWING
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.tolerances_read import read_tolerances
from linkmotion.gears.sensitivity import Key, marked, numbers
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.diagnosis.priors import Priors, priors_of
from linkmotion.studies.figures.dimensions import CENTRAL, by_end
from linkmotion.studies.figures.disturbances import Method, axle_moves
from linkmotion.studies.figures.figure import DISTANCE, Reading
from linkmotion.studies.figures.spots import Spot
from linkmotion.studies.reconciling.one_estimate import reconcile
from linkmotion.studies.reconciling.reconciled import Reconciliation
from linkmotion.studies.tolerances.tolerance import kind_of
from tests.bad_engines.changed import EXAMPLES
from tests.gears_at_hand import number_of
from tests.independent import eccentric_gears
from tests.independent.assembly import first_solution
from tests.independent.drawing import Dims, read_drawing
from tests.independent.eccentric_assembly import first_solution as first_eccentric
from tests.independent.eccentric_loops import EccentricGear
from tests.independent.joint_angles import AngleGear
from tests.taken_readings import _departed, _raised

ONE_SIGMA = 1.959964
OFF, LOOSE, MARK = 0.05, 0.15, 0.05  # of parts; mm of clearance; degrees of the wheel
_WALSCHAERTS = {
    "crank_pin": "crank pin", "return_crank_pin": "return-crank pin", "crosshead_pin": "crosshead pin", "foot": "foot",
    "crosshead_arm_pin": "crosshead-arm pin", "die": "die pin", "lever_pin": "lever pin", "arm_end": "arm pin",
    "union_pin": "union pin", "valve_pin": "valve pin", "lift_pin": "lift pin",
}  # fmt: skip
Pins = dict[str, complex]


@dataclass(frozen=True)
class Measured:
    """One engine as it is and as it was measured.

    Attributes
    ----------
    truth : dict
        True figures of the dimensions, by key; mm and degrees.
    parts : dict of (float, float)
        Parts as measured, and their doubts.
    readings : tuple of Reading
        Distances.
    wrong : int or None
        Which of the takings was made wrong: the parts in the order of the file, then the readings.
    """

    truth: dict[Key, float]
    parts: dict[Key, tuple[float, float]]
    readings: tuple[Reading, ...]
    wrong: int | None = None


class Shop:
    """One side of an example, ready to be altered and measured."""

    def __init__(self, name: str) -> None:
        self.name, self.text = name, (EXAMPLES / name).read_text(encoding="utf-8")
        self.engine = read_engine(EXAMPLES / name)
        self.side: SideEvents = assess(self.engine, DRAWING, ("left",)).sides[0]
        self.kind = self.side.gear.name
        self.tolerances = read_tolerances(self.engine, self.side)
        self.priors: Priors = priors_of(self.side, self.tolerances)
        self.tables = copy.deepcopy(self.engine.tables(DRAWING, "left"))
        self.tables["reversing"] = {"suspension": "lifting link"} | self.tables["reversing"]
        if "rocker" in self.tables["valve"]:
            self.tables["valve"]["rocker"] = {"angle": 0.0} | self.tables["valve"]["rocker"]
        self.drawn = numbers(by_end(self.side.gear, self.priors.keys))
        self.rods = [key for key in marked(self.side.gear, "rod") if key in self.priors.keys]
        self.notches = (self.side.notches[0], self.side.notches[-1])
        self.settings = {n: number_of(self.side.settings[self.side.notches.index(n)]) for n in self.notches}
        self.starts = {n: self._followed(self.tables, self.settings[n]) for n in self.notches}
        self.moves = axle_moves(self.side)

    def _gear(self, tables: Dims, setting: float) -> Any:
        if self.kind == "walschaerts":
            return AngleGear(read_drawing(tables), setting)
        return EccentricGear(tables, self.kind, setting)

    def _followed(self, tables: Dims, setting: float) -> dict[str, Any]:
        """Solutions of the drawn gear at both dead centres."""
        gear = self._gear(tables, setting)
        front, back = self._centres(gear)
        if self.kind == "walschaerts":
            x = gear.close(first_solution(gear), front)
            return {"front": x, "back": gear.follow(x, front, back)}
        x = first_eccentric(gear)
        return {"front": x, "back": eccentric_gears.follow(gear, x, front, back)}

    def _centres(self, gear: Any) -> tuple[float, float]:
        own = gear.drawing if self.kind == "walschaerts" else gear
        return own.front_dead_centre, own.back_dead_centre - 2 * math.pi * (
            own.back_dead_centre > own.front_dead_centre
        )

    def pins(self, tables: Dims, notch: str, end: str, arm: float, beyond: float = 0.0) -> Pins:
        """Every pin at a dead centre, or so many degrees beyond it; mm."""
        gear = self._gear(tables, self.settings[notch] + arm)
        crank = self._centres(gear)[("front", "back").index(end)] - math.radians(beyond)
        start = self.starts[notch][end]
        frame = {"axle": 0j, "weighshaft": complex(tables["reversing"]["shaft_x"], tables["reversing"]["shaft_y"])}
        if self.kind == "walschaerts":
            x = gear.close(start, crank)
            assert gear.keeps_assembly(x, crank)
            link = tables["expansion_link"]
            frame["trunnion"] = complex(link["trunnion_x"], link["trunnion_y"])
            return frame | {_WALSCHAERTS.get(k, k): pin for k, pin in gear.place_points(x, crank).items()}
        return frame | eccentric_gears.place_pins(gear, eccentric_gears.polish(gear, start, crank), crank)

    def spots(self, known: set[str]) -> list[tuple[Spot, str, str]]:
        """Distances that can be measured: between pins that both solvers name, at both dead centres of two notches."""
        names = [pin for pin in self.side.gear.declare(self.side.settings[0]).names if pin in known]
        return [
            (Spot(a, b), notch, end)
            for a, b in combinations(names, 2) for notch in self.notches for end in ("front", "back")
        ]  # fmt: skip

    def measured(self, rng: np.random.Generator, parts: float = 0.6, distances: int = 12) -> Measured:
        """An engine drawn at random, and measured.

        Parameters
        ----------
        rng : Generator
        parts : float
            What share of the parts is measured by itself.
        distances : int
            How many distances.
        """
        departures = self._departures(rng)
        arm = departures.get(("reversing", "arm angle"), 0.0)
        tables = _departed(self.tables, departures)
        truth = {key: self.drawn.get(key, 0.0) + by for key, by in departures.items()}
        own = {}
        for key in self.priors.keys:
            front = ("valve", key[1].replace("_back", "_front"))
            wanted = front in own if key[1].endswith("_back") else bool(rng.random() < parts)  # of a valve both or none
            if key[0] != "cylinder" and key in self.drawn and key != CENTRAL and wanted:
                doubt = float(rng.choice([0.1, 0.25, 0.5])) * (0.4 if self._angle(key) else 1.0)
                own[key] = (truth[key] + doubt / ONE_SIGMA * float(rng.standard_normal()), doubt)
        return Measured(truth, own, tuple(self._distances(tables, arm, distances, rng)))

    def _angle(self, key: Key) -> bool:
        return kind_of(self.side.gear, key) == "angle"

    def _departures(self, rng: np.random.Generator) -> dict[Key, float]:
        found = {}
        for key, sound in zip(self.priors.keys, self.priors.sound, strict=True):
            if key == CENTRAL:
                continue
            found[key] = float(sound * rng.standard_normal())
            if rng.random() < OFF and key[0] != "cylinder":
                found[key] += float(rng.choice([-1.0, 1.0]) * rng.uniform(0.5, 5.0)) * (
                    0.4 if self._angle(key) else 1.0
                )
        return found

    def _distances(self, tables: Any, arm: float, count: int, rng: np.random.Generator) -> list[Reading]:
        rise = float(3.0 * rng.standard_normal())
        off = {end: MARK * float(rng.standard_normal()) for end in ("front", "back")}
        base = copy.deepcopy(tables)
        slope = base["valve"].get("guide_inclination", 0.0) - self.tables["valve"].get("guide_inclination", 0.0)
        base["valve"]["guide_height"] -= self.side.central_at * math.radians(slope)  # it turns in mid travel
        _raised(base, rise)
        known = set(self.pins(self.tables, self.notches[0], "front", 0.0))
        listed = self.spots(known)
        found = []
        for pick in rng.permutation(len(listed))[:count].tolist():
            spot, notch, end = listed[pick]
            shaken = self._shaken(base, rng)
            pins = self.pins(shaken, notch, end, arm, off[end])
            doubt = float(rng.choice([0.25, 0.4, 0.8]))
            value = abs(pins[spot.pin] - pins[spot.since]) + doubt / ONE_SIGMA * float(rng.standard_normal())
            found.append(
                Reading(
                    side="left", kind=DISTANCE, notch=notch, end=end, spot=spot, value=value, sigma=doubt / ONE_SIGMA
                )
            )
        return found

    def _shaken(self, tables: Any, rng: np.random.Generator) -> Any:
        """Every rod as its pins lie in their holes at one reading: both ends somewhere in their clearance."""
        found = copy.deepcopy(tables)
        for table, key in self.rods:
            lie = LOOSE / 2 * np.cos(rng.uniform(0.0, 2 * math.pi, 2)) * rng.uniform(0.0, 1.0, 2)
            found[table][key] += float(np.sum(lie))
        return found

    def reconciled(self, case: Measured) -> Reconciliation:
        """What the study makes of it, through an engine file's text."""
        lines = []
        for (table, key), (value, doubt) in case.parts.items():
            unit = "" if self._angle((table, key)) else " mm"
            *inner, last = key.split(".")
            path = ".".join(['state."as measured".left', table, *inner])
            lines.append(f'[{path}]\n{last} = "{value:.5f} ± {doubt:g}{unit}"')
        grouped: dict[str, list[str]] = {}
        for line in lines:
            head, body = line.split("\n")
            grouped.setdefault(head, []).append(body)
        own = "\n".join(f"{head}\n" + "\n".join(bodies) for head, bodies in grouped.items())
        engine = parse_engine(f"{self.text}\n{own}\n")
        method = Method(dict.fromkeys(("front", "back"), 2 * MARK))
        return reconcile(engine, "as measured" if lines else DRAWING, "left", case.readings, self.tolerances, method)

    def with_one_wrong(self, case: Measured, which: int, by: float) -> Measured:
        """The same with one taking wrong by so much, mm."""
        keys = list(case.parts)
        if which < len(keys):
            value, doubt = case.parts[keys[which]]
            return replace(case, parts=case.parts | {keys[which]: (value + by, doubt)}, wrong=which)
        own = list(case.readings)
        row = which - len(keys)
        own[row] = replace(own[row], value=own[row].value + by)
        return replace(case, readings=tuple(own), wrong=which)


@cache
def shop(name: str) -> Shop:
    """One side of an example."""
    return Shop(name)
