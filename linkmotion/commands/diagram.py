"""``linkmotion diagram``: what the steam does in the cylinders, and how evenly it turns the wheel."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from linkmotion.commands.input import telling
from linkmotion.commands.steam_options import Given, cases, engine_given, revolutions
from linkmotion.engine import Engine
from linkmotion.files.outputs import PICTURE, OutputFile, Outputs
from linkmotion.studies.steam.cylinder_work import CylinderWork, cylinder_work
from linkmotion.studies.steam.indicator import LIMITS
from linkmotion.views.printout import Aside, Block, Heading, Point, print_json, show
from linkmotion.views.request import Request
from linkmotion.wear.running import Load


@dataclass(frozen=True)
class DiagramRequest:
    """What the user asked for."""

    request: Request
    steam: Given = field(default_factory=dict)
    wheels: Given = field(default_factory=dict)
    speed: str | None = None
    load: Load = Load()  # noqa: RUF009 - frozen
    picture: Path | None = None
    json: bool = False
    replace: bool = False


def run_diagram(wish: DiagramRequest) -> int:
    """Work out, print and draw the diagrams; always 0: there is no target for them."""
    drawn = Outputs((wish.request.engine,), wish.replace).file(wish.picture, PICTURE)
    engine = engine_given(wish.request, wish.steam, wish.wheels)
    rate = revolutions(wish.speed, engine) if wish.speed is not None else None
    load = replace(wish.load, revolutions=rate or 0.0)
    with telling(engine, wish.request.engine):
        found = [cylinder_work(c.assessment, c.notch, c.direction) for c in cases(engine, wish.request, load)]
    if drawn is not None:
        _draw(engine, found, wish.request.notches, drawn)
    if wish.json:
        print_json("diagram", engine.unit, _data(engine, found, rate))
    else:
        show(_blocks(engine, found, rate))
    return 0


def _data(engine: Engine, found: Sequence[CylinderWork], rate: float | None) -> dict[str, Any]:
    steam = found[0].steam
    return {
        "engine": engine.name,
        "limits": LIMITS,
        "steam": {
            "pressure_bar_absolute": steam.pressure,
            "back_pressure_bar_absolute": steam.back,
            "clearance_percent": 100 * steam.clearance,
            "exponent": steam.exponent,
            "blow_down": steam.blow_down,
            "assumed": list(steam.assumed),
        },
        "revolutions_a_minute": rate,
        "cases": [_case(each, rate) for each in found],
    }


def _case(work: CylinderWork, rate: float | None) -> dict[str, Any]:
    effort, sized = work.effort, work.bore is not None
    ends = [
        {
            "side": end.side,
            "end": end.end,
            "mean_effective_pressure_bar": end.mean if end.diagram else None,
            "share_of_work": share,
            "released_bar_absolute": end.diagram.released if end.diagram else None,
            "compressed_bar_absolute": end.diagram.compressed if end.diagram else None,
            "told": end.told,
        }
        for end, share in zip(work.ends, work.shares, strict=True)
    ]
    return {
        "state": work.state,
        "notch": work.notch,
        "direction": work.direction,
        "mean_effective_pressure_bar": work.mean,
        "work_of_unit_steam": work.of_unit_steam,
        "ends": ends,
        "turning_effort": {
            "mean_newton_metres": effort.mean if sized else None,
            "least_of_mean": effort.least,
            "greatest_of_mean": effort.greatest,
            "swing_of_mean": effort.fluctuation,
        },
        "work_joules_a_turn": work.work if sized else None,
        "power_watts": work.power(rate) if sized and rate else None,
    }


def _blocks(engine: Engine, found: Sequence[CylinderWork], rate: float | None) -> Iterator[Block]:
    from linkmotion.views.cylinder_table import legend, remarks, verdict, work_table
    from linkmotion.views.tables import CAUTION

    yield verdict(found, engine)
    yield Heading(f"{engine.name}: theoretical work of the steam")
    yield work_table(found, engine, rate)
    yield from map(Point, remarks(found))
    yield from map(Aside, legend(found, engine))
    yield Aside(CAUTION)


def _draw(engine: Engine, found: Sequence[CylinderWork], notches: tuple[str, ...], into: OutputFile) -> None:
    """One notch (the first named, else the middle one of those that drive) in all states."""
    from linkmotion.studies.assess import assess
    from linkmotion.views.cylinder_plots import work_svg
    from linkmotion.views.pictures import featured

    names = {work.notch for work in found}
    if notches:
        notch = notches[0]
    else:
        side = assess(engine, found[0].state, (found[0].ends[0].side,)).sides[0]
        notch = side.notches[featured(side)[-1]]
    assert notch in names
    direction = next(work.direction for work in found if work.notch == notch)
    shown = [work for work in found if (work.notch, work.direction) == (notch, direction)]
    into.write(work_svg(shown, engine.unit, engine.name))
