"""Is the setting advice safe to follow? Planted states and readings by the hundred, over every gear.

    OMP_NUM_THREADS=1 python -m tests.benchmarks.advice --cases 150 --readings 60

Every case is an engine of which one to three dimensions of either side are off, within what an adjustment can put back,
beyond it, or where none reaches; or a valve off its place. The works advised are then done on the planted engine, and
its targets counted again, by their own definition. Readings are those of the planted engine by a solution that shares
no code with the product, each with an error of its own. Of faults that an adjustment puts back those are counted that
the readings tell, by three of their uncertainties, from all that is no more work (:mod:`tests.told_apart`): the rod of
a plain eccentric is to every reading what the valve is elsewhere on its spindle. Of the others it is counted whether
the words name them among what is not told apart.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.engine import DRAWING
from linkmotion.face.advice import advised
from linkmotion.face.engine_advice import EngineAdvice
from linkmotion.files.readings_file import Readings
from linkmotion.gears.sensitivity import Key, marked, numbers
from linkmotion.linkage import LinkageError
from linkmotion.sides import PAIR, side_words, sides_meant
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.setting.basis import believed
from linkmotion.studies.setting.choices import CHOICES
from linkmotion.studies.setting.side import as_it_stands
from linkmotion.studies.tolerances.tolerance import kind_of
from linkmotion.views.diagnosis_view import named
from tests.gears_at_hand import example, plain_tables
from tests.planted import EXACT
from tests.planted_engines import (
    PLANTED,
    Faults,
    adjustable,
    bears_on_events,
    drawn,
    engine_with,
    faults,
    taken,
    targets_out,
)
from tests.told_apart import APART, told_apart

NAMES = ("dock_shunter", "metre_gauge", "stephenson_goods", "donkey_eccentric", "gooch_tank", "allan_saddle_tank")


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
        Whether the first work puts back the one planted fault; None where there is no such, or where readings do not
        tell it from what is no more work.
    alike : bool or None
        Whether a fault that readings do not so tell is put back, or named in words among what they do not tell apart.
    apart : float
        Uncertainties by which they tell it (:mod:`tests.told_apart`); infinite without readings.
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
    alike: bool | None
    apart: float
    sound_moved: list[str]
    measured_first: list[str]
    seconds: float


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
    truth = assess(engine, PLANTED, None if readings is None else readings.sides).sides
    start = time.process_time()
    state = PLANTED if readings is None else DRAWING
    found = advised(engine, state, [side.side for side in truth], readings, "diagnosis")
    seconds = time.process_time() - start
    before = targets_out(truth, name, engine.targets, truth)
    out = {choice: (before, targets_out(done(found, choice, truth), name, engine.targets, truth)) for choice in CHOICES}
    works = found.advice.works
    moved: tuple[list[str], list[str]] = ([], [])
    for w in works:
        if w.adjustment.key != CENTRAL and not any(_touched(planted, w.adjustment.side, w.adjustment.key)):
            to_measure = w.undoes is not None and any(k in w.undoes.alike for own in planted.values() for k in own)
            moved[to_measure].append(f"{w.adjustment.side} {'.'.join(w.adjustment.key)}")
    undone, alike, apart = _undone(name, planted, works, 0.0 if readings is None else 0.4), None, np.inf  # mm
    if undone is not None and readings is not None:
        ((side, own),) = planted.items()
        ((key, by),) = own.items()
        apart = told_apart(name, side, key, by)
        if apart < APART:
            undone, alike = None, undone or _named(found, side, key)
    return Case(name, planted, found, out, undone, alike, apart, *moved, seconds)


def _named(found: EngineAdvice, side: str, key: Key) -> bool:
    """Whether the words have a part among those that the readings do not tell from what is done."""
    told = [
        sentence for sentence in found.words().sentences(found.foreseen) if sentence.startswith(f"{side_words(side)}: ")
    ]
    return any(named(key) in sentence and "easure th" in sentence for sentence in told)


def _touched(planted: Faults, side: str, key: Key) -> Iterator[bool]:
    """Whether a part is off on each side that an adjustment alters."""
    for name in sides_meant(side, PAIR):
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


def planted_readings(count: int, seed: int) -> Iterator[Case]:
    """Cases by readings: one adjustable part of a side off, a fixed one (each fourth), or none (each seventh)."""
    rng = np.random.default_rng(seed)
    while count:
        name = NAMES[count % len(NAMES)]
        side, given = str(rng.choice(example(name).sides)), adjustable(name)
        slips = marked(drawn(name)[0].gear, "slips")
        own = [key for key in given if key != CENTRAL and key in numbers(drawn(name)[0].gear) and key not in slips]
        key = own[int(rng.integers(len(own)))]
        size = float(rng.choice((-1.0, 1.0)) * rng.uniform(0.5, 1.0) * given[key].most)
        if not count % 4:
            gear = drawn(name)[0].gear
            fixed = [k for k in numbers(gear) if k not in given and bears_on_events(k) and kind_of(gear, k) == "length"]
            key = fixed[int(rng.integers(len(fixed)))]
        planted: Faults = {side: {key: size} if count % 7 else {}}
        engine = engine_with(name, planted, {})
        try:
            readings = Readings(
                f"{name}, planted", DRAWING, "mm", "", tuple(taken(name, engine, side, rng)), {side: EXACT}
            )
            yield seen(name, planted, {}, readings)
        except (LinkageError, ValueError):  # no such gear can be turned
            continue
        count -= 1


# ---- scores ---------------------------------------------------------------------------------------------------------


def told(title: str, cases: Sequence[Case]) -> Iterator[str]:
    """What came out, line by line."""
    worse = [case for case in cases if any(after > before for before, after in case.out.values())]
    undone = [case for case in cases if case.undone is not None]
    alike = [case for case in cases if case.alike is not None]
    kept = [case for case in cases if not case.sound_moved]
    seconds = [case.seconds for case in cases]
    yield f"{title}: {len(cases)} cases"
    if not cases:
        return
    yield f"  more targets out after any choice: {len(worse)}"
    yield f"  fault within the adjustments: {len(undone)}, of which the first work puts it back: " + str(
        sum(bool(case.undone) for case in undone)
    )
    if alike:
        yield f"  within them, but alike to what is no more work (nearer than {APART:g} uncertainties): {len(alike)}"
        yield f"    of which it is put back or named in words: {sum(bool(case.alike) for case in alike)}"
    yield f"  no part at its figure moved: {len(kept)} ({100 * len(kept) / len(cases):.1f} %)"
    yield f"  of these to be measured first, and then found at its figure: {sum(bool(c.measured_first) for c in cases)}"
    yield f"  processor seconds: mean {np.mean(seconds):.2f}, most {np.max(seconds):.2f}"
    missed = [case for case in (*undone, *alike) if not (case.undone or case.alike)]
    for case in [*worse, *missed, *(case for case in cases if case.sound_moved)]:
        what = f"{case.name} {dict(case.planted)} apart {case.apart:.1f} {case.out}"
        yield f"    {what} {case.sound_moved} {case.advice.sentences()}"


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
