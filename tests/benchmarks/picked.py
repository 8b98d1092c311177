"""Do the doubts of figures scaled off an image hold the truth 19 times in 20? By a hand that picks.

    OMP_NUM_THREADS=1 python -m tests.benchmarks.picked --cases 10

Three examples, each drawn on paper that is sheared by half a hundredth and photographed in perspective, at both dead
centres (``tests/pictured_engines.py``); the drawing from which the search starts is a near relation's.
"""

from __future__ import annotations

import argparse
from collections import defaultdict

import numpy as np

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.scaled_off import scaled_off
from tests.pictured_engines import CAMERA, PAPER, by_hand, drawn_on_paper, photographed, pictured, relation

ENGINES = ("dock_shunter.toml", "stephenson_goods.toml", "metre_gauge.toml")


def held(name: str, kind: str, cases: int, seed: int) -> dict[Key, list[float]]:
    """Of each figure that was told: by how many of its doubts it missed the truth, case by case."""
    rng = np.random.default_rng(seed)
    found: dict[Key, list[float]] = defaultdict(list)
    for case in range(cases):
        own = pictured(name, case // 2 % 2, ("front", "back")[case % 2])
        matrix = drawn_on_paper(rng, 0.6) if kind == PAPER else photographed(rng, 0.6, 800 + 200j)
        told = scaled_off(relation(name, case % 4), by_hand(own, matrix, rng, kind))
        for figure in told.figures:
            found[figure.key].append((figure.value - own.truth.get(figure.key, 0.0)) / figure.doubt)
    return found


def main() -> None:
    """Print how often doubts held the truth, by engine and kind of image, and by figure."""
    asked = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    asked.add_argument("--cases", type=int, default=10)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--kind", choices=(PAPER, CAMERA), default="", help="only this kind of image")
    asked.add_argument("--figures", action="store_true", help="figure by figure")
    wish = asked.parse_args()
    every: list[float] = []
    for name in ENGINES:
        for kind in (wish.kind,) if wish.kind else (PAPER, CAMERA):
            found = held(name, kind, wish.cases, wish.seed)
            own = [off for offs in found.values() for off in offs]
            every += own
            print(f"{name}, {kind}: {told_of(own)}")
            for key, offs in found.items() if wish.figures else ():
                print(f"   {'.'.join(key):34s} {len(offs):3d} {100 * np.mean(np.abs(offs) <= 1):5.1f} %")
    print(f"all: {told_of(every)} (19 in 20 is 95 %)")


def told_of(off: list[float]) -> str:
    """How many, how often the truth was held, and how far they scatter of what is stated."""
    spread = 1.959964 * np.sqrt(np.mean(np.square(off)))
    return f"{len(off)} figures, {100 * np.mean(np.abs(off) <= 1):.1f} % within their doubt, scatter {spread:.3f}"


if __name__ == "__main__":
    main()
