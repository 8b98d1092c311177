"""Are stated doubts right 19 times in 20? Measurings simulated by the hundred, every reading with an error of its own.

    OMP_NUM_THREADS=1 python -m tests.benchmarks.doubts --cases 500
    OMP_NUM_THREADS=1 python -m tests.benchmarks.doubts --cases 500 --wear
    OMP_NUM_THREADS=1 python -m tests.benchmarks.doubts --cases 128 --spread

The engine is that of ``examples/dock_sister.toml`` with its readings exact. Every case is its file as another shop
would have written it: each reading with ± is off by an error of that size, takings scatter as they do in the file, and
their gauge is off alike in all of them. The figures of the true engine are then looked for within what the file's
doubts say.
"""

from __future__ import annotations

import argparse
import re
from collections import defaultdict
from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats.qmc import Sobol

from linkmotion.engine import DRAWING
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.lengths import parse_length
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.doubts.event_doubts import event_doubts
from linkmotion.studies.figures.figure import Figure, as_assessed, figures_of
from linkmotion.studies.figures.play import GREATEST
from tests.bad_engines.changed import EXAMPLES

WEAR = """
[state."as found".left.wear]
bow = { "eccentric rod" = "0.31 ± 0.02 in" }
bent = { foot = { ahead = "0.03 ± 0.01 in" } }
axle_height = "0.10 ± 0.03 in"
die_clearance = "0.010 ± 0.002 in"
die_length = "3 in"
slot = [
  { at = 4, front = "0.010 ± 0.003 in", back = "0.004 ± 0.002 in" },
  { at = -4, front = "0.012 ± 0.003 in", back = "0.008 ± 0.002 in" },
  { at = 0, front = "0.030 ± 0.004 in", back = "0.015 ± 0.003 in" },
]

[state."as found".left.wear.clearance]
"die pin" = { bush = "1.7635 ± 0.002 in", pin = "1.749 ± 0.0015 in" }
foot = { bush = "1.765 ± 0.002 in", pin = "1.7515 ± 0.0015 in" }
"lever pin" = "0.012 ± 0.004 in"
"""
"""What the gauge found in a state of its own, every figure with its doubt; the slot's readings not in order."""
TEXT = (EXAMPLES / "dock_sister.toml").read_text(encoding="utf-8")
_READING = re.compile(r"""(?P<size>-?[0-9][0-9 /.'\\"-]*?) ± (?P<doubt>[0-9/. ]*[0-9])(?P<unit> in)?""")
_TAKINGS = re.compile(r"""(?P<head>takings|diameter|port_width|"full forward") = \[(?P<list>[^]]+)\]""")
_GAUGE = re.compile(r'], doubt = "(?P<doubt>[0-9.]+) in"')
_ONE_SIGMA = 1.959964
Errors = Callable[[], float]  # standard normal
Array = NDArray[np.float64]


def written(error: Errors, wear: str = "") -> str:
    """The file with errors drawn; with none, the true engine's."""

    def reading(match: re.Match[str]) -> str:
        size, doubt = (_number(match[name], match["unit"]) for name in ("size", "doubt"))
        return f"{size + doubt / _ONE_SIGMA * error():.7f} ± {doubt:.7f}{match['unit'] or ''}"

    def takings(match: re.Match[str]) -> str:
        unit = None if match["head"].startswith('"') else " in"
        own = np.array([_number(one.strip().strip('"'), unit) for one in match["list"].split(",")])
        gauge = _GAUGE.search(TEXT) if match["head"] == "takings" else None
        shared = float(gauge["doubt"]) / _ONE_SIGMA * error() if gauge else 0.0
        drawn = [own.mean() + shared + own.std(ddof=1) * error() for _ in own]
        return f"{match['head']} = [{', '.join(f'{one:.7f}' for one in drawn)}]"

    body = TEXT.split("\n# What pins")[0]
    return _TAKINGS.sub(takings, _READING.sub(reading, body + wear))


def _number(text: str, unit: str | None) -> float:
    return float(text) if unit is None else parse_length(text.replace("\\", "").removesuffix(" in") + (
        "" if "'" in text or '"' in text else " in"), "in") / 25.4  # fmt: skip


def looked_at(text: str, state: str = DRAWING) -> tuple[SideEvents, dict[Figure, float]]:
    """Its left side, and every figure of it; the lost motion too, where there is any."""
    side = assess(parse_engine(text), state, ("left",)).sides[0]
    found = {figure: as_assessed(side, figure) for figure in figures_of(side)}
    if side.has_play:
        found |= {Figure(kind=GREATEST, notch=notch): float(side.lost[i].max()) for i, notch in enumerate(side.notches)}
    return side, found


def coverage(cases: int, seed: int = 1, wear: str = "") -> dict[str, list[bool]]:
    """Of every figure: in which cases its doubt held the true engine's; in the state as found, where wear is given."""
    rng = np.random.default_rng(seed)
    held: dict[str, list[bool]] = defaultdict(list)
    state = "as found" if wear else DRAWING
    true = {str(figure): value for figure, value in looked_at(written(lambda: 0.0, wear), state)[1].items()}
    for _ in range(cases):
        text = written(lambda: float(rng.standard_normal()), wear)
        side, found = looked_at(text, state)
        doubts = event_doubts(parse_engine(text), side)
        assert doubts is not None
        for figure in doubts.model.figures:
            held[str(figure)].append(abs(found[figure] - true[str(figure)]) <= doubts.doubt(figure))
    return dict(held)


def spread(cases: int, seed: int = 1) -> dict[str, tuple[float, float]]:
    """Of every figure in the state as found: its doubt, and what engines drawn within the doubts of their wear have.

    The drawing stays as it is. A figure's doubt is by slopes or by gears drawn by the study; here every engine is read
    and assessed from its file anew, with errors from a sequence that fills the room evenly (scipy.stats.qmc.Sobol). The
    bare scatter of 256 of them is out by up to 5 % by chance; so their figures are fitted by least squares to the
    errors drawn, whose spread is known, and what the fit leaves over is added.
    """
    base = written(lambda: 0.0)
    drawing = re.sub(r'(?<= ± )[0-9./]+|(?<=], doubt = ")[0-9.]+', "0.0000001", base)
    side, found = looked_at(drawing + WEAR, "as found")
    doubts = event_doubts(parse_engine(drawing + WEAR), side)
    assert doubts is not None
    own = len(_READING.findall(WEAR))
    normal = ndtri(np.clip(Sobol(own, rng=seed).random(cases), 1e-9, 1 - 1e-9))
    drawn = defaultdict(list)
    for row in normal.tolist():
        errors = iter(row)

        def reading(match: re.Match[str], errors: Iterator[float] = errors) -> str:
            size, doubt = (_number(match[name], match["unit"]) for name in ("size", "doubt"))
            return f"{size + doubt / _ONE_SIGMA * next(errors):.7f}{match['unit'] or ''}"

        for figure, value in looked_at(drawing + _READING.sub(reading, WEAR), "as found")[1].items():
            drawn[str(figure)].append(value)
    known = np.column_stack([normal, np.ones(cases)])
    return {str(figure): (doubts.doubt(figure), _spread(known, np.array(drawn[str(figure)]))) for figure in found}


def _spread(known: Array, drawn: Array) -> float:
    slopes = np.linalg.lstsq(known, drawn, rcond=None)[0]
    left = np.sum((drawn - known @ slopes) ** 2) / (len(drawn) - known.shape[1])
    return _ONE_SIGMA * float(np.sqrt(np.sum(slopes[:-1] ** 2) + left))


def main() -> None:
    """Print how often doubts held, over all figures and of the worst."""
    asked = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    asked.add_argument("--cases", type=int, default=500)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--wear", action="store_true", help="in a state with worn pins, slot and rods")
    asked.add_argument("--spread", action="store_true", help="the doubts of wear alone against engines drawn")
    wish = asked.parse_args()
    if wish.spread:
        for name, (doubt, drawn) in spread(wish.cases, wish.seed).items():
            print(f"  {doubt:8.4f} {drawn:8.4f} {100 * (doubt / drawn - 1) if drawn else 0.0:+6.1f} %  {name}")
        return
    found = coverage(wish.cases, wish.seed, WEAR if wish.wear else "")
    held = {name: np.mean(own) for name, own in found.items()}
    print(f"{wish.cases} measurings of {len(held)} figures: doubts held in {100 * np.mean(list(held.values())):.1f} %")
    for name in sorted(held, key=lambda name: held[name]):
        print(f"  {100 * held[name]:5.1f} %  {name}")


if __name__ == "__main__":
    main()
