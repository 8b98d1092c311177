"""Are reconciled dimensions right 19 times in 20, and is a wrong measurement named? By measurings simulated.

    OMP_NUM_THREADS=1 python -m tests.benchmarks.reconciling --cases 250
    OMP_NUM_THREADS=1 python -m tests.benchmarks.reconciling --cases 80 --parts 1 --distances 40

Beside each share of doubts that held stands between which chance alone would leave it, 19 times in 20, were it 95 %: of
dimensions told as measured and inferred there is one in four engines, unless more is measured of each.
Every case is an engine of its own (``tests/measured_gears.py``): its parts and distances are measured with errors, and
reconciled. Then one taking of those that others check, by the program's own list, is made wrong by one to four times
what a slip usually comes to, and all is reconciled again.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
from scipy.stats import binom

from linkmotion.studies.reconciling.reconciled import Reconciliation
from linkmotion.studies.reconciling.taking import SLIP
from tests.measured_gears import Measured, shop

ENGINES = ("dock_shunter.toml", "stephenson_goods.toml")


@dataclass
class Tally:
    """What came of some cases.

    Attributes
    ----------
    held : dict of lists
        By where a dimension's figure comes from: whether the true one lay within its doubt.
    named, alone, only : list of bool
        Whether the wrong taking was in a group named; whether a right one was named alone, with nothing beside it; and
        whether a right one was the only taking of its group, be it beside a drawing that may not hold.
    falsely : list of bool
        Whether anything was named where nothing was wrong.
    """

    held: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))
    named: list[bool] = field(default_factory=list)
    alone: list[bool] = field(default_factory=list)
    only: list[bool] = field(default_factory=list)
    falsely: list[bool] = field(default_factory=list)

    def look(self, case: Measured, found: Reconciliation) -> None:
        """At a case with nothing wrong in it."""
        for own in found.dimensions:
            if own.key in case.truth:
                self.held[own.origin].append(abs(case.truth[own.key] - own.value) <= own.doubt)
        self.falsely.append(bool(found.contradictions))

    def look_at_wrong(self, case: Measured, found: Reconciliation) -> None:
        """At a case with one taking wrong."""
        groups = [[found.takings.index(own.taking) for own in told.group] for told in found.contradictions]
        others = [case.wrong not in group for group in groups]
        self.named.append(not all(others))
        both = list(zip(found.contradictions, others, strict=True))
        self.alone.append(any(told.alone and other for told, other in both))
        self.only.append(any(len(told.group) == 1 and other for told, other in both))


def tally(name: str, cases: int, seed: int = 1, parts: float = 0.6, distances: int = 12) -> Tally:
    """Of an example engine, of which a share of the parts and so many distances are measured."""
    own, rng, found = shop(name), np.random.default_rng(seed), Tally()
    for _ in range(cases):
        case = own.measured(rng, parts, distances)
        told = own.reconciled(case)
        found.look(case, told)
        unchecked = {id(each.taking) for each in told.unchecked}
        checked = [i for i, each in enumerate(told.takings) if id(each) not in unchecked]
        if checked:
            which = int(rng.choice(checked))
            by = float(rng.choice([-1.0, 1.0]) * rng.uniform(1.0, 4.0)) * SLIP[told.takings[which].unit]
            wrong = own.with_one_wrong(case, which, by)
            found.look_at_wrong(wrong, own.reconciled(wrong))
    return found


def main() -> None:
    """Print how often doubts held, and how often the wrong taking was named."""
    asked = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    asked.add_argument("--cases", type=int, default=250)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--engine", choices=ENGINES, default="", help="only this one")
    asked.add_argument("--parts", type=float, default=0.6, help="share of the parts measured by themselves")
    asked.add_argument("--distances", type=int, default=12)
    wish = asked.parse_args()
    for name in [wish.engine] if wish.engine else ENGINES:
        found = tally(name, wish.cases, wish.seed, wish.parts, wish.distances)
        every = [own for held in found.held.values() for own in held]
        print(
            f"{name}: {wish.cases} measurings of {len(every)} dimensions: doubts held in {100 * np.mean(every):.1f} %"
        )
        for origin, held in found.held.items():
            low, high = (100 * own / len(held) for own in binom.interval(0.95, len(held), 0.95))
            print(f"  {100 * np.mean(held):5.1f} %  of {len(held)} {origin} (by chance {low:.1f} to {high:.1f})")
        named, alone, only, falsely = (
            100 * np.mean(own) for own in (found.named, found.alone, found.only, found.falsely)
        )
        print(f"  one wrong, {len(found.named)} times: named {named:.1f} %, a right one alone {alone:.1f} %")
        print(f"    a right one the only taking of its group, beside a drawing or alone: {only:.1f} %")
        print(f"  none wrong: something named {falsely:.1f} %")


if __name__ == "__main__":
    main()
