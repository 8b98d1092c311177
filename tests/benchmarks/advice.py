"""Is the setting advice safe to follow? Planted states and readings by the hundred, over every gear.

    OMP_NUM_THREADS=1 python -m tests.benchmarks.advice --cases 150 --readings 60

Every case is an engine of which one to three dimensions of either side are off, within what an adjustment can put back,
beyond it, or where none reaches; or a valve off its place. The works advised are then done on the planted engine, and
its targets counted again, by their own definition. Readings are those of the planted engine by a solution that shares
no code with the product, each with an error of its own.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from linkmotion.engine import DRAWING, SIDES, Engine, State, Targets
from linkmotion.events import DIRECTIONS
from linkmotion.face.advice import EngineAdvice, advised
from linkmotion.files.readings_file import Readings
from linkmotion.gears.sensitivity import Key, marked, numbers
from linkmotion.linkage import LinkageError
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.setting.adjustments import Given, usual_adjustments
from linkmotion.studies.setting.basis import believed
from linkmotion.studies.setting.choices import CHOICES
from linkmotion.studies.setting.side import as_it_stands
from linkmotion.studies.tolerances.tolerance import kind_of
from linkmotion.valve import ENDS
from tests.gears_at_hand import example, number_of, of_engine, plain_tables
from tests.independent.eccentric_events import eccentric_events
from tests.independent.port_events import EndEvents, port_events

NAMES = ("dock_shunter", "metre_gauge", "stephenson_goods", "donkey_eccentric", "gooch_tank", "allan_saddle_tank")
PLANTED = "planted"
Faults = Mapping[str, Mapping[Key, float]]  # side → dimension → by how much it is off, mm or degrees


@dataclass(frozen=True, eq=False)
class Case:
    """A planted engine, what was advised, and what comes of each choice.

    Attributes
    ----------
    planted : dict
        By side.
    out : dict
        Choice → targets out before and after on the planted engine.
    undone : bool or None
        Whether the first work puts back the one planted fault; None where there is no such.
    sound_moved : list of str
        Parts at their figure that are to be moved.
    measured_first : list of str
        Parts at their figure that are to be moved if they are found off: the readings cannot tell them from what is.
    seconds : float
        Of one processor.
    """

    name: str
    planted: Faults
    advice: EngineAdvice
    out: dict[str, tuple[int, int]]
    undone: bool | None
    sound_moved: list[str]
    measured_first: list[str]
    seconds: float


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
    layers: dict[str, dict[str, dict[str, Any]]] = {side: {} for side in SIDES}
    wear: dict[str, dict[str, Any]] = {side: {} for side in SIDES}
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
            place = drawn(name)[SIDES.index(side)].central_at
            layers[side].setdefault("valve", {})["central_at"] = place + places[side]
    return replace(own, states={PLANTED: State(PLANTED, layers=layers, wear=wear)})


def faults(name: str, rng: np.random.Generator, most: int = 3) -> tuple[Faults, dict[str, float]]:
    """What is planted: one to ``most`` dimensions, half of them adjustable; and now and then a valve off its place."""
    gear, given = drawn(name)[0].gear, adjustable(name)
    slips = set(marked(gear, "slips"))
    others = [key for key in numbers(gear) if key not in given and key not in slips and _felt(key)]
    own = [key for key in given if key != CENTRAL and key in numbers(gear)]
    planted: dict[str, dict[Key, float]] = {side: {} for side in SIDES}
    for _ in range(int(rng.integers(1, most + 1))):
        side = str(rng.choice(SIDES))
        sign = float(rng.choice((-1.0, 1.0)))
        if rng.random() < 0.6:
            key = own[int(rng.integers(len(own)))]
            reach = given[key].most
            size = rng.uniform(1.1, 1.8) * reach if rng.random() < 0.2 else rng.uniform(1.5 * given[key].step, reach)
        else:
            key = others[int(rng.integers(len(others)))]
            size = rng.uniform(0.3, 1.0) if kind_of(gear, key) == "angle" else rng.uniform(0.5, 4.0)
        planted[side][key] = sign * float(size)
    places = {side: float(rng.uniform(-1.5, 1.5)) for side in SIDES if rng.random() < 0.25}
    return planted, places


def _felt(key: Key) -> bool:
    """Whether a dimension bears on the events at all, and is not the ports' own."""
    return key[0] not in ("cylinder", "connecting_rod") and key[1] not in (
        "central_at", "slot_top", "slot_bottom", "port_width", "exhaust_lap", "steam_lap",
    )  # fmt: skip


def targets_out(sides: Sequence[SideEvents], name: str, targets: Targets, at: Sequence[SideEvents]) -> int:
    """How many targets are out, by their own definition; those looked at are those that ``at`` has."""
    own, sound, base = ([_held(each, at) for each in group] for group in (sides, drawn(name), at))
    count = 0
    for key, now in _differences(own).items():
        what, between, _where, ways, _more = key
        if not np.isfinite(_differences(base)[key]):
            continue
        limit = targets.apart(what, between, "both" if ways == 2 else "")
        limit = max(limit, abs(_differences(sound)[key]))
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


def done(case: EngineAdvice, choice: str, sides: Sequence[SideEvents]) -> list[SideEvents]:
    """The planted sides with the works of a choice done."""
    works = case.found[choice].works
    return [
        believed(
            as_it_stands(side),
            {w.adjustment.key: w.steps * w.adjustment.per_step for w in works if w.adjustment.on(side.side)},
        )
        for side in sides
    ]


def seen(name: str, planted: Faults, places: Mapping[str, float], readings: Readings | None = None) -> Case:
    """Advice for a planted engine, and what comes of it there."""
    engine = engine_with(name, planted, places)
    truth = assess(engine, PLANTED, SIDES if readings is None else readings.sides).sides
    start = time.process_time()
    state = PLANTED if readings is None else DRAWING
    found = advised(engine, state, [side.side for side in truth], readings, "diagnosis")
    seconds = time.process_time() - start
    out = {}
    for choice in CHOICES:
        after = done(found, choice, truth)
        out[choice] = (targets_out(truth, name, engine.targets, truth), targets_out(after, name, engine.targets, truth))
    works = found.advice.works
    moved: tuple[list[str], list[str]] = ([], [])
    for w in works:
        if w.adjustment.key != CENTRAL and not any(_touched(planted, w.adjustment.side, w.adjustment.key)):
            to_measure = w.undoes is not None and any(k in w.undoes.alike for own in planted.values() for k in own)
            moved[to_measure].append(f"{w.adjustment.side} {'.'.join(w.adjustment.key)}")
    undone = _undone(name, planted, works, 0.0 if readings is None else 0.4)  # mm: so near readings tell
    return Case(name, planted, found, out, undone, *moved, seconds)


def _touched(planted: Faults, side: str, key: Key) -> Iterator[bool]:
    """Whether a part is off on each side that an adjustment alters."""
    for name in SIDES if side == "both" else (side,):
        yield key in planted.get(name, {})


def _undone(name: str, planted: Faults, works: Sequence[Any], within: float) -> bool | None:
    """Whether the first work undoes the one planted fault to ``within``; None where that is not possible."""
    single = [(side, key, by) for side, own in planted.items() for key, by in own.items()]
    given = adjustable(name)
    if len(single) != 1 or single[0][1] not in given:
        return None
    side, key, by = single[0]
    if key[0] == "return_crank":
        by = _about_the_axle(name, by)
    half = given[key].step / 2
    if not given[key].least - half <= -by <= given[key].most + half:
        return None
    if not works:
        return False
    first = works[0]
    left = by + first.steps * first.adjustment.per_step
    return bool((first.adjustment.side, first.adjustment.key) == (side, key) and abs(left) <= half + within + 1e-9)


def _about_the_axle(name: str, slip: float) -> float:
    """How much further ahead a return-crank pin stands, seen from the axle, once it has slipped about the crank pin."""
    tables = plain_tables(example(name))
    crank, pin = tables["cylinder"]["crank_radius"], tables["return_crank"]["pin_radius"]
    angle = np.radians(-tables["return_crank"]["angle"])
    moved = crank + (pin * np.exp(1j * angle) - crank) * np.exp(-1j * np.radians(slip))
    return float(-np.degrees(np.angle(moved) - angle))


def planted_states(count: int, seed: int, most: int = 3) -> Iterator[Case]:
    """Cases without readings, gear after gear."""
    rng = np.random.default_rng(seed)
    while count:
        name = NAMES[count % len(NAMES)]
        planted, places = faults(name, rng, most)
        try:
            yield seen(name, planted, places)
        except LinkageError:  # no such gear can be turned
            continue
        count -= 1


# ---- readings -------------------------------------------------------------------------------------------------------

LEAD, PERCENT = 0.1, 0.4  # standard deviations of what is read, mm and percent of stroke


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
            found = port_events(tables, place, way) if kind == "walschaerts" else eccentric_events(
                tables, place, way, kind
            )  # fmt: skip
            yield from _of_ends(side, notch, way, found, rng)


def _of_ends(
    side: str, notch: str, way: str, found: Mapping[str, EndEvents], rng: np.random.Generator
) -> Iterator[Reading]:
    for end in ENDS:
        lead = Reading(side=side, kind="lead", notch=notch, end=end, sigma=LEAD, value=found[end].lead)
        cutoffs = found[end].found["cutoff"]
        yield replace(lead, value=lead.value + LEAD * rng.standard_normal())
        if len(cutoffs) == 1:
            value = cutoffs[0].percent + PERCENT * rng.standard_normal()
            yield replace(lead, kind="cutoff", direction=way, unit="percent", sigma=PERCENT, value=value)


def planted_readings(count: int, seed: int) -> Iterator[Case]:
    """Cases by readings: one adjustable part of a side off, a fixed one (each fourth), or none (each seventh)."""
    rng = np.random.default_rng(seed)
    while count:
        name = NAMES[count % len(NAMES)]
        side, given = str(rng.choice(SIDES)), adjustable(name)
        slips = marked(drawn(name)[0].gear, "slips")
        own = [key for key in given if key != CENTRAL and key in numbers(drawn(name)[0].gear) and key not in slips]
        key = own[int(rng.integers(len(own)))]
        size = float(rng.choice((-1.0, 1.0)) * rng.uniform(0.5, 1.0) * given[key].most)
        if not count % 4:
            gear = drawn(name)[0].gear
            fixed = [k for k in numbers(gear) if k not in given and _felt(k) and kind_of(gear, k) == "length"]
            key = fixed[int(rng.integers(len(fixed)))]
        planted: Faults = {side: {key: size} if count % 7 else {}}
        engine = engine_with(name, planted, {})
        try:
            readings = Readings(f"{name}, planted", DRAWING, "mm", "", tuple(taken(name, engine, side, rng)))
            yield seen(name, planted, {}, readings)
        except (LinkageError, ValueError):  # no such gear can be turned
            continue
        count -= 1


# ---- scores ---------------------------------------------------------------------------------------------------------


def told(title: str, cases: Sequence[Case]) -> Iterator[str]:
    """What came out, line by line."""
    worse = [case for case in cases if any(after > before for before, after in case.out.values())]
    undone = [case for case in cases if case.undone is not None]
    kept = [case for case in cases if not case.sound_moved]
    seconds = [case.seconds for case in cases]
    yield f"{title}: {len(cases)} cases"
    if not cases:
        return
    yield f"  more targets out after any choice: {len(worse)}"
    yield f"  fault within the adjustments: {len(undone)}, of which the first work puts it back: " + str(
        sum(bool(case.undone) for case in undone)
    )
    yield f"  no part at its figure moved: {len(kept)} ({100 * len(kept) / len(cases):.1f} %)"
    yield f"  of these to be measured first, and then found at its figure: {sum(bool(c.measured_first) for c in cases)}"
    yield f"  processor seconds: mean {np.mean(seconds):.2f}, most {np.max(seconds):.2f}"
    for case in [*worse, *(c for c in undone if not c.undone), *(c for c in cases if c.sound_moved)]:
        yield f"    {case.name} {dict(case.planted)} {case.out} {case.sound_moved} {case.advice.sentences()}"


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=150)
    parser.add_argument("--readings", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    print("\n".join(told("states", list(planted_states(given.cases, given.seed)))))
    print("\n".join(told("states, one fault", list(planted_states(given.cases // 3, given.seed + 1, 1)))))
    print("\n".join(told("readings", list(planted_readings(given.readings, given.seed)))))


if __name__ == "__main__":
    main()
