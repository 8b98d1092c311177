"""Are stated doubts right 19 times in 20? Measurings simulated by the hundred, every reading with an error of its own.

    OMP_NUM_THREADS=1 python -m tests.benchmarks.doubts --cases 500

The engine is that of ``examples/dock_sister.toml`` with its readings exact. Every case is its file as another shop
would have written it: each reading with ± is off by an error of that size, takings scatter as they do in the file, and
their gauge is off alike in all of them. The figures of the true engine are then looked for within what the file's
doubts say.
"""

from __future__ import annotations

import argparse
import re
from collections import defaultdict
from collections.abc import Callable

import numpy as np

from linkmotion.files.engine_file import parse_engine
from linkmotion.files.lengths import parse_length
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.doubts.event_doubts import event_doubts
from linkmotion.studies.figures.figure import as_assessed, figures_of
from tests.bad_engines.changed import EXAMPLES

TEXT = (EXAMPLES / "dock_sister.toml").read_text(encoding="utf-8")
_READING = re.compile(r"""(?P<size>-?[0-9][0-9 /.'\\"-]*?) ± (?P<doubt>[0-9/. ]*[0-9])(?P<unit> in)?""")
_TAKINGS = re.compile(r"""(?P<head>takings|diameter|port_width|"full forward") = \[(?P<list>[^]]+)\]""")
_GAUGE = re.compile(r'], doubt = "(?P<doubt>[0-9.]+) in"')
_ONE_SIGMA = 1.959964
Errors = Callable[[], float]  # standard normal


def written(error: Errors) -> str:
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
    return _TAKINGS.sub(takings, _READING.sub(reading, body))


def _number(text: str, unit: str | None) -> float:
    return float(text) if unit is None else parse_length(text.replace("\\", "").removesuffix(" in") + (
        "" if "'" in text or '"' in text else " in"), "in") / 25.4  # fmt: skip


def _looked_at(text: str) -> tuple[SideEvents, dict[str, float]]:
    side = assess(parse_engine(text)).sides[0]
    return side, {str(figure): as_assessed(side, figure) for figure in figures_of(side)}


def coverage(cases: int, seed: int = 1) -> dict[str, list[bool]]:
    """Of every figure: in which cases its doubt held the true engine's."""
    rng = np.random.default_rng(seed)
    held: dict[str, list[bool]] = defaultdict(list)
    true = _looked_at(written(lambda: 0.0))[1]
    for _ in range(cases):
        text = written(lambda: float(rng.standard_normal()))
        side, found = _looked_at(text)
        doubts = event_doubts(parse_engine(text), side)
        assert doubts is not None
        for figure in doubts.model.figures:
            held[str(figure)].append(abs(found[str(figure)] - true[str(figure)]) <= doubts.doubt(figure))
    return dict(held)


def main() -> None:
    """Print how often doubts held, over all figures and of the worst."""
    asked = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    asked.add_argument("--cases", type=int, default=500)
    asked.add_argument("--seed", type=int, default=1)
    wish = asked.parse_args()
    held = {name: np.mean(own) for name, own in coverage(wish.cases, wish.seed).items()}
    print(f"{wish.cases} measurings of {len(held)} figures: doubts held in {100 * np.mean(list(held.values())):.1f} %")
    for name in sorted(held, key=lambda name: held[name]):
        print(f"  {100 * held[name]:5.1f} %  {name}")


if __name__ == "__main__":
    main()
