"""Engines of which something is off, what would be read on them, and how many of their targets are out.

What is read comes of a solution that shares no code with the product; targets are counted by their own definition.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from linkmotion.engine import Engine, State, Targets
from linkmotion.events import DIRECTIONS
from linkmotion.gears.sensitivity import Key, marked, numbers
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.figure import BOTH_WAYS, Reading
from linkmotion.studies.setting.adjustments import Given, usual_adjustments
from linkmotion.studies.tolerances.tolerance import kind_of
from linkmotion.valve import ENDS
from tests.gears_at_hand import example, number_of, of_engine, plain_tables
from tests.independent.eccentric_events import eccentric_events
from tests.independent.port_events import EndEvents, port_events

PLANTED = "planted"
LEAD, PERCENT = 0.1, 0.4  # standard deviations of what is read, mm and percent of stroke
Faults = Mapping[str, Mapping[Key, float]]  # side → dimension → by how much it is off, mm or degrees


@cache
def drawn(name: str) -> tuple[SideEvents, ...]:
    """Both sides of an example as drawn."""
    return assess(example(name)).sides


@cache
def adjustable(name: str) -> dict[Key, Given]:
    """Its usual adjustments (the file's own are left aside)."""
    side = drawn(name)[0]
    return usual_adjustments(side.gear, side.settings[0], example(name).unit == "in")


def engine_with(name: str, planted: Faults, places: Mapping[str, float]) -> Engine:
    """An example, silent on its adjustments, with a state in which dimensions, and valves' places, are off."""
    own = replace(example(name), adjustments={})
    layers: dict[str, dict[str, dict[str, Any]]] = {side: {} for side in own.sides}
    wear: dict[str, dict[str, Any]] = {side: {} for side in own.sides}
    gear = own.gear()
    given, slips = numbers(gear), marked(gear, "slips")
    for side, faults in planted.items():
        for key, by in faults.items():
            if key in slips:
                wear[side]["angle_slip"] = {slips[key]: by}
                continue
            table = layers[side].setdefault(key[0], {})
            *inner, last = key[1].split(".")
            for each in inner:
                table = table.setdefault(each, {})
            table[last] = given[key] + by
        if places.get(side):
            place = drawn(name)[own.sides.index(side)].central_at
            layers[side].setdefault("valve", {})["central_at"] = place + places[side]
    return replace(own, states={PLANTED: State(PLANTED, layers=layers, wear=wear)})


def faults(name: str, rng: np.random.Generator, most: int = 3) -> tuple[Faults, dict[str, float]]:
    """What is planted: one to ``most`` dimensions, half of them adjustable; and now and then a valve off its place."""
    gear, given = drawn(name)[0].gear, adjustable(name)
    slips = set(marked(gear, "slips"))
    others = [key for key in numbers(gear) if key not in given and key not in slips and bears_on_events(key)]
    own = [key for key in given if key != CENTRAL and key in numbers(gear)]
    sides = example(name).sides
    planted: dict[str, dict[Key, float]] = {side: {} for side in sides}
    for _ in range(int(rng.integers(1, most + 1))):
        side = str(rng.choice(sides))
        sign = float(rng.choice((-1.0, 1.0)))
        if rng.random() < 0.6:
            key = own[int(rng.integers(len(own)))]
            reach = given[key].most
            size = rng.uniform(1.1, 1.8) * reach if rng.random() < 0.2 else rng.uniform(1.5 * given[key].step, reach)
        else:
            key = others[int(rng.integers(len(others)))]
            size = rng.uniform(0.3, 1.0) if kind_of(gear, key) == "angle" else rng.uniform(0.5, 4.0)
        planted[side][key] = sign * float(size)
    places = {side: float(rng.uniform(-1.5, 1.5)) for side in sides if rng.random() < 0.25}
    return planted, places


def bears_on_events(key: Key) -> bool:
    """Whether a dimension bears on the events at all, and is not the ports' own."""
    return key[0] not in ("cylinder", "connecting_rod") and key[1] not in (
        "central_at", "slot_top", "slot_bottom", "port_width", "exhaust_lap", "steam_lap",
    )  # fmt: skip


def taken(name: str, engine: Engine, side: str, rng: np.random.Generator) -> Iterator[Reading]:
    """Leads in every notch, and cutoffs as it drives, by the independent solution, each with its error."""
    central = assess(engine, PLANTED, (side,)).sides[0].central_at
    tables = plain_tables(engine, PLANTED, side)
    tables["valve"] = {key: own for key, own in tables["valve"].items() if key not in ("set_by", "set_in")}
    tables["valve"]["central_at"] = central
    if "rocker" in tables["valve"]:
        tables["valve"]["rocker"] = {"angle": 0.0} | tables["valve"]["rocker"]
    if "reversing" in tables:
        tables["reversing"] = {"suspension": "lifting link"} | tables["reversing"]
    kind, own = str(engine.gear_type.name).removeprefix("plain "), of_engine(engine, PLANTED, side)
    for i, (notch, setting) in enumerate(own.settings.items()):
        for way in drawn(name)[0].driven(i):
            place = number_of(setting)
            found = (
                port_events(tables, place, way, ("cutoff",))
                if kind == "walschaerts"
                else eccentric_events(tables, place, way, kind, ("cutoff",))
            )
            yield from _of_ends(side, notch, way, found, rng)


def _of_ends(
    side: str, notch: str, way: str, found: Mapping[str, EndEvents], rng: np.random.Generator
) -> Iterator[Reading]:
    for end in ENDS:
        lead = Reading(
            side=side, kind="lead", notch=notch, end=end, sigma=LEAD, value=found[end].lead, turned=BOTH_WAYS
        )
        cutoffs = found[end].found["cutoff"]
        yield replace(lead, value=lead.value + LEAD * rng.standard_normal())
        if len(cutoffs) == 1:
            value = cutoffs[0].percent + PERCENT * rng.standard_normal()
            yield replace(lead, kind="cutoff", direction=way, unit="percent", sigma=PERCENT, value=value)


def targets_out(sides: Sequence[SideEvents], name: str, targets: Targets, at: Sequence[SideEvents]) -> int:
    """How many targets are out, by their own definition; those looked at are those that ``at`` has."""
    own, sound, base = (_differences([_held(each, at) for each in group]) for group in (sides, drawn(name), at))
    count = 0
    for key, now in own.items():
        what, between, _where, ways, _more = key
        if not np.isfinite(base[key]):
            continue
        limit = targets.apart(what, between, "both" if ways == 2 else "")
        limit = max(limit, abs(sound[key]))
        count += not abs(now) <= limit * (1 + 1e-6)
    return count


def _held(side: SideEvents, at: Sequence[SideEvents]) -> dict[tuple[str, str, str, int, str], float]:
    """Lead and cutoff by what, notch, direction, how many directions are looked at there, and end."""
    found = {}
    for i, notch in enumerate(side.notches):
        ways = [way for way in DIRECTIONS if all(way in each.driven(i) for each in at)]
        for way in ways:
            for end in ENDS:
                own = side.events[way][end]
                found["lead", notch, way, len(ways), end] = float(own.lead[i])
                found["cutoff", notch, way, len(ways), end] = float(own.percent["cutoff"][i])
    return found


def _differences(sides: list[dict[tuple[str, str, str, int, str], float]]) -> dict[tuple[Any, ...], float]:
    """Between the ends of each side, and between the sides."""
    found: dict[tuple[Any, ...], float] = {}
    for what, notch, way, ways, end in sides[0]:
        for number, own in enumerate(sides):
            front, back = (own[what, notch, way, ways, each] for each in ENDS)
            found[what, "ends", (notch, way), ways, number] = front - back
        if len(sides) == 2:
            one, two = (own[what, notch, way, ways, end] for own in sides)
            found[what, "sides", (notch, way), ways, end] = one - two
    return found
