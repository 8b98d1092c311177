"""Does the diagnosis keep its word? Planted faults by the hundred: coverage of its intervals, rank of the fault.

    OMP_NUM_THREADS=1 python -m tests.benchmarks.diagnosis examples/dock_shunter.toml --cases 500

Every case is a gear with all its dimensions within their tolerances (normal, half-width two standard deviations)
but one or two, which are wrong; its readings are predicted exactly, and each is given an error of its own.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from linkmotion.events import EVENTS
from linkmotion.files.engine_file import read_engine
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.diagnosis.priors import Priors, priors_of
from linkmotion.studies.diagnosis.result import FIRST, NOT_APART, NOT_SEEN
from linkmotion.studies.diagnosis.study import Diagnosis, diagnose
from linkmotion.studies.figures.figure import Reading
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.tolerances.tolerance import general_tolerances
from linkmotion.valve import ENDS

SIZES = ("plain", "any")


@dataclass(frozen=True, eq=False)
class Case:
    """A planted fault and what was made of it."""

    truth: Any
    planted: tuple[int, ...]
    found: Diagnosis
    seconds: float


def form(side: SideEvents, lead: float = 0.05, opening: float = 0.1, percent: float = 0.25) -> list[Reading]:
    """What a fitter reads: leads and openings in every notch, cutoff and compression as it drives, the die's height."""
    found = []
    for i, notch in enumerate(side.notches):
        for end in ENDS:
            at = Reading(side=side.side, kind="lead", notch=notch, end=end, value=0.0, sigma=lead)
            found += [at, replace(at, kind="opening", sigma=opening)]
            found += [
                replace(at, kind=kind, direction=direction, unit="percent", sigma=percent)
                for direction in side.driven(i)
                for kind in (EVENTS[1], EVENTS[3])
            ]
        if side.gear.slot is not None:
            found.append(Reading(side=side.side, kind="die height", notch=notch, value=0.0, sigma=0.25))
    happens = np.isfinite(GearModel.of(side, found).at_figures)
    return [reading for reading, own in zip(found, happens, strict=True) if own]


def cases(
    side: SideEvents, priors: Priors, readings: list[Reading], count: int, seed: int, sizes: str
) -> Iterator[Case]:
    """Cases one after another; ``sizes``: "plain" faults of 5 to 20 tolerances, or "any", as the priors have them."""
    model, rng = GearModel.of(side, readings, priors.keys), np.random.default_rng(seed)
    sigma, number = np.array([reading.sigma for reading in readings]), len(priors.keys)
    while count:
        planted = tuple(int(i) for i in rng.choice(number, rng.integers(1, 3), replace=False))
        truth = rng.standard_normal(number) * priors.sound
        for i in planted:
            wide = priors.wrong[i]
            plain = rng.choice((-1.0, 1.0)) * rng.uniform(0.5 * wide, 2.0 * wide)
            truth[i] = plain if sizes == "plain" else rng.standard_normal() * np.hypot(wide, priors.sound[i])
        read = model.predict(truth @ priors.moves)[0]
        if not np.all(np.isfinite(read)):
            continue  # no such gear can be turned, or it has not these events
        read = read + sigma * rng.standard_normal(len(read))
        taken = [replace(reading, value=float(value)) for reading, value in zip(readings, read, strict=True)]
        start = time.process_time()
        found = diagnose(side, taken, priors)
        yield Case(truth, planted, found, time.process_time() - start)
        count -= 1


@dataclass(frozen=True)
class Score:
    """How the diagnosis did, in percent but for ``named`` (dimensions) and times (seconds of one processor)."""

    cases: int
    inside: float
    inside_sound: float
    inside_planted: float
    seen: int
    first: float
    named: float
    how_many_named: float
    unseen: int
    unseen_told: float
    misfits: float
    mean_seconds: float
    most_seconds: float


def score(found: list[Case]) -> Score:
    """Sum the cases up."""
    inside, sound, planted, first, named, told, many = [], [], [], [], [], [], []
    for case in found:
        own, keys = case.found, case.found.keys
        held = (own.low <= case.truth) & (case.truth <= own.high)
        inside += held.tolist()
        sound += np.delete(held, case.planted).tolist()
        many.append(sum(suspect.standing in (FIRST, NOT_APART) for suspect in own.suspects))
        for i in case.planted:
            suspect = own.suspect(keys[i])
            planted.append(suspect.low <= case.truth[i] <= suspect.high)
            if suspect.seen < 3.0:
                told.append(suspect.standing in (FIRST, NOT_SEEN))
            else:
                first.append(suspect.standing == FIRST)
                named.append(suspect.standing in (FIRST, NOT_APART))

    def percent(of: list[bool]) -> float:
        return round(100.0 * float(np.mean(of)), 1) if of else np.nan

    seconds = [case.seconds for case in found]
    return Score(
        len(found), percent(inside), percent(sound), percent(planted), len(first), percent(first), percent(named),
        round(float(np.mean(many)), 1), len(told), percent(told), percent([not case.found.fits for case in found]),
        round(float(np.mean(seconds)), 3), round(float(np.max(seconds)), 3),
    )  # fmt: skip


def ready(path: str) -> tuple[SideEvents, Priors, list[Reading]]:
    """An example's left side as drawn, with the general tolerances, and the form to be read."""
    side = assess(read_engine(path), sides=("left",)).sides[0]
    return side, priors_of(side, general_tolerances(side.gear, side.settings[0])), form(side)


def main() -> None:
    """Run the study on engines and print the scores."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("engines", nargs="+")
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sizes", choices=SIZES, default="plain")
    given = parser.parse_args()
    for path in given.engines:
        side, priors, readings = ready(path)
        found = list(cases(side, priors, readings, given.cases, given.seed, given.sizes))
        print(
            f"{path}: {len(readings)} readings, {len(priors.keys)} dimensions, {given.sizes} faults, seed {given.seed}"
        )
        for name, value in vars(score(found)).items():
            print(f"  {name.replace('_', ' '):18} {value}")


if __name__ == "__main__":
    main()
