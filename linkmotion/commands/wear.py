"""``linkmotion wear``: which wear matters."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from linkmotion.commands.chosen import engine_with, told
from linkmotion.engine import DRAWING
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import UNITS
from linkmotion.studies.assess import NotchError
from linkmotion.studies.which_wear import WhichWear, which_wear
from linkmotion.wear.running import Load

_LEGEND = (
    "Weight: greatest change alone, as a multiple of the target it offends. Gain: what renewing it takes off the "
    "weight of everything together. The valve is left where the drawing set it."
)


@dataclass(frozen=True)
class WearRequest:
    """What the user asked for."""

    engine: Path
    state: str
    sides: tuple[str, ...] = ("left", "right")
    notches: tuple[str, ...] = ()
    load: Load = Load()  # noqa: RUF009 - frozen
    picture: Path | None = None
    json: bool = False


def run_wear(request: WearRequest) -> int:
    """Weigh what differs from the drawing; 1 when anything alone passes a target, else 0."""
    if request.state == DRAWING:
        raise FileError("--state", "the drawing is what the wear is compared with", "give a state of the file")
    engine = engine_with(request.engine, [request.state], request.notches)
    try:
        results = [
            which_wear(engine, request.state, side, request.notches or None, request.load) for side in request.sides
        ]
    except NotchError as error:
        raise told(engine, request.engine, error) from None
    if request.picture is not None:
        _draw(results, request.picture)
    if request.json:
        found = [asdict(result) for result in results]
        print(json.dumps({"engine": engine.name, "lengths": "mm", "sides": found}, indent=1, ensure_ascii=False))
    else:
        _print(results, engine.unit)
    return int(any(result.together.weight > 1 for result in results))


def _print(results: list[WhichWear], unit: str) -> None:
    from linkmotion.views.tables import CAUTION, Shown, wide_console
    from linkmotion.views.wear_view import sentence, wear_table

    assert unit in UNITS
    console, shown = wide_console(124), Shown(unit)
    for result in results:
        if not result.items:
            console.print(f"{result.state}, {result.side} side: nothing differs from the drawing.", markup=False)
            continue
        console.print(wear_table(result, shown))
        for item in result.items:
            console.print(f" · {sentence(item, shown)}", markup=False, soft_wrap=True)
    console.print(_LEGEND, markup=False)
    console.print(CAUTION, style="dim", markup=False)


def _draw(results: list[WhichWear], path: Path) -> None:
    """Draw every side's plot into one SVG."""
    import numpy as np

    from linkmotion.files.results import write_whole
    from linkmotion.views.style import as_svg
    from linkmotion.views.wear_view import plot_which_wear

    def draw(axes: Any) -> None:
        for ax, result in zip(np.atleast_1d(axes), results, strict=True):
            plot_which_wear(result, ax).set_title(f"{result.state}, {result.side} side")

    heights = [len(result.items) + 3 for result in results]
    write_whole(path, as_svg(draw, (10, 1.2 + 0.32 * sum(heights)), (len(results), 1), heights=heights))
