"""Gears with planted faults, and what would be read on them."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np

from linkmotion.engine import Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.gears.sensitivity import Key
from linkmotion.linkage import LinkageError
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.diagnosis.priors import Priors, priors_of
from linkmotion.studies.figures.disturbances import Method
from linkmotion.studies.figures.figure import BOTH_WAYS, Reading
from linkmotion.studies.setting.basis import believed
from linkmotion.studies.tolerances.given import tolerances_from

EXAMPLES = Path(__file__).parent.parent / "examples"
NAMES = ("dock_shunter", "metre_gauge", "stephenson_goods", "donkey_eccentric", "gooch_tank", "allan_saddle_tank")


EXACT = Method(dict.fromkeys(("front", "back"), 0.01))
"""Dead centres found as near as can be, for readings that are exact."""


@cache
def engine(name: str) -> Engine:
    """An example engine."""
    return read_engine(EXAMPLES / f"{name}.toml")


@cache
def as_drawn(name: str, side: str = "left") -> SideEvents:
    """A side of its drawing, every notch."""
    return assess_side(engine(name).side_state("drawing", side))


@cache
def priors(name: str) -> Priors:
    """General workshop tolerances."""
    side = as_drawn(name)
    return priors_of(side, tolerances_from({}, side.gear, side.settings[0]))


def faulty(name: str, rng: np.random.Generator, faults: int) -> tuple[SideEvents, dict[Key, float]]:
    """A gear within its tolerances but for so many faults, and its departures."""
    own = priors(name)
    while True:
        departures = rng.normal(0, 1, len(own.keys)) * own.sound
        at = rng.choice(len(own.keys), faults, replace=False)
        departures[at] += rng.normal(0, 1, faults) * own.wrong[at]
        found = dict(zip(own.keys, departures.tolist(), strict=True))
        try:
            return believed(as_drawn(name), found), found
        except LinkageError:  # no such gear could be put together
            continue


def readings(side: SideEvents, noise: float = 0.0, rng: np.random.Generator | None = None) -> Iterator[Reading]:
    """Leads in every notch, and cutoffs where a notch drives; noise in mm, and five times as many percent."""
    rng = rng or np.random.default_rng(0)
    for i, notch in enumerate(side.notches):
        for end in ("front", "back"):
            lead = float(side.events["forward"][end].lead[i]) + noise * rng.normal()
            yield Reading(
                side=side.side, kind="lead", notch=notch, end=end, value=lead, sigma=max(noise, 0.01), turned=BOTH_WAYS
            )
            for way in side.driven(i):
                cutoff = float(side.events[way][end].percent["cutoff"][i]) + 5 * noise * rng.normal()
                if np.isfinite(cutoff):
                    yield Reading(
                        side=side.side, kind="cutoff", notch=notch, end=end, direction=way, unit="percent",
                        value=cutoff, sigma=max(5 * noise, 0.05), turned=BOTH_WAYS,
                    )  # fmt: skip
