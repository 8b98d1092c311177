"""What the steam does, in a table and in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from linkmotion.engine import Engine
from linkmotion.files.quantities import HORSEPOWER, POUND_FOOT, format_pressure, usual_pressure
from linkmotion.studies.steam.cylinder_work import CylinderWork
from linkmotion.studies.steam.indicator import ATMOSPHERE, LIMITS
from linkmotion.views.beats_table import assumed_words
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import Answer
from linkmotion.views.tables import PLACE


def verdict(found: Sequence[CylinderWork], engine: Engine) -> Answer:
    """How hard and how evenly the steam turns the wheel, in one sentence: where the effort swings most."""
    pressure = usual_pressure(engine.unit)
    pulling = [work for work in found if work.work > 0]
    if not pulling:
        return Answer("The steam turns the wheel in none of these notches.")
    worst = max(pulling, key=lambda work: (np.nan_to_num(apart(work)), work.mean))
    place = ", ".join((*([worst.state] if _states(found) > 1 else []), worst.notch, f"running {worst.direction}"))
    return Answer(
        f"The ends are at most {_percent(apart(worst), 1)} % apart in their work, in {place}, where the steam "
        f"presses with {format_pressure(worst.mean, pressure)} {pressure} in the mean and the effort swings by "
        f"{_percent(worst.effort.fluctuation, 0)} %."
    )


def _states(found: Sequence[CylinderWork]) -> int:
    return len({work.state for work in found})


def work_table(found: Sequence[CylinderWork], engine: Engine, revolutions: float | None) -> Grid:
    """Mean effective pressures and turning effort: a line to a state, notch and direction.

    Parameters
    ----------
    found, engine : sequence of CylinderWork, Engine
        Of one engine, whose unit says in which units the rest is told.
    revolutions : float or None
        Of the wheel per minute; without them no power is told.
    """
    pressure, metric = usual_pressure(engine.unit), engine.unit == "mm"
    sized, several = found[0].bore is not None, _states(found) > 1
    columns = [*PLACE[:2], *([Column("state", key=True)] if several else [])]
    columns += [Column(end.end, over=end.side) for end in found[0].ends]
    columns += [Column("all\nends"), Column("apart\n%"), Column("of unit\nsteam")]
    columns += [Column("mean\nN m" if metric else "mean\nlbf ft", over="effort")] if sized else []
    columns += [Column(head, over="effort") for head in ("least\n%", "most\n%", "swing\n%")]
    columns += [Column(f"power\n{'kW' if metric else 'hp'}")] if sized and revolutions else []
    table = Grid(f"Mean effective pressure of each end, {pressure}; effort on the wheel, % of its mean", columns)
    order = list(dict.fromkeys((work.notch, work.direction) for work in found))
    for work in sorted(found, key=lambda work: order.index((work.notch, work.direction))):
        table.row(*_row(work, pressure, metric, several, revolutions))
    return table


def _row(work: CylinderWork, pressure: str, metric: bool, several: bool, revolutions: float | None) -> list[str]:
    effort = work.effort
    row = [work.notch, work.direction, *([work.state] if several else [])]
    row += [format_pressure(end.mean, pressure) if end.diagram else "–" for end in work.ends]
    row += [format_pressure(work.mean, pressure), _percent(apart(work), 1), _plain(work.of_unit_steam)]
    if work.bore is not None:
        row.append(f"{effort.mean / (1 if metric else POUND_FOOT):.0f}")
    row += [_percent(part, 0) for part in (effort.least, effort.greatest, effort.fluctuation)]
    if work.bore is not None and revolutions:
        row.append(f"{work.power(revolutions) / (1000 if metric else HORSEPOWER):.0f}")
    return row


def _percent(part: float, digits: int) -> str:
    return "–" if np.isnan(part) else f"{100 * part:.{digits}f}"


def _plain(value: float) -> str:
    return "–" if np.isnan(value) else f"{value:.2f}"


def apart(work: CylinderWork) -> float:
    """Most less least work of an end, over the mean of the ends; NaN where no work is done.

    Parameters
    ----------
    work : CylinderWork
        In one notch and direction.
    """
    return max(work.shares) - min(work.shares)


def remarks(found: Sequence[CylinderWork]) -> Iterator[str]:
    """What a state costs in pull and in even pulling, and what is unusual in a diagram."""
    for work in found:
        first = next(each for each in found if (each.notch, each.direction) == (work.notch, work.direction))
        if work is not first and work.work > 0 and first.work > 0 and _matters(work, first):
            yield _cost(work, first)
    for work in found:
        told: dict[str, list[str]] = {}
        for end in work.ends:
            if end.told:
                told.setdefault(end.told, []).append(f"{end.side} {end.end}")
        for words, ends in told.items():
            yield f"{work.state}, {work.notch}, running {work.direction}, {' and '.join(ends)}: {words}."


def _matters(work: CylinderWork, first: CylinderWork) -> bool:
    swing = abs(work.effort.fluctuation - first.effort.fluctuation)
    return abs(work.work / first.work - 1) > 0.005 or abs(apart(work) - apart(first)) > 0.01 or swing > 0.02


def _cost(work: CylinderWork, first: CylinderWork) -> str:
    taken = f", steam {100 * (work.steam_taken / first.steam_taken - 1):+.1f} %" if first.steam_taken > 0 else ""
    return (
        f"{work.notch}, running {work.direction}, {work.state} against {first.state}: "
        f"work {100 * (work.work / first.work - 1):+.1f} %{taken}; "
        f"ends {100 * apart(work):.1f} % apart (were {100 * apart(first):.1f} %); "
        f"swing {100 * work.effort.fluctuation:.0f} % (was {100 * first.effort.fluctuation:.0f} %)."
    )


def legend(found: Sequence[CylinderWork], engine: Engine) -> Iterator[str]:
    """Steam as taken, what was assumed, and the limits of the model."""
    steam, unit = found[0].steam, usual_pressure(engine.unit)
    gauge = [format_pressure(bar - ATMOSPHERE, unit) for bar in (steam.pressure, steam.back)]
    yield (
        f"Steam {gauge[0]} {unit}, back pressure {gauge[1]} {unit} by the gauge; "
        f"clearance {100 * steam.clearance:g} %; p V^{steam.exponent:g} constant; blow-down {steam.blow_down}."
    )
    if steam.assumed:
        yield f"Assumed, not given: {assumed_words(steam.assumed, engine.unit)}; give yours by options or in [steam]."
    if found[0].bore is None:
        yield "No bore given (--bore): turning effort only in parts of its mean."
    yield (
        "Apart: most less least work of an end, over their mean. Of unit steam: work of the steam let in, over its "
        "work without expansion. Swing: greatest less least effort on the wheel, over its mean."
    )
    wheels = engine.wheels
    if len(found[0].ahead) > 1:
        yield f"The {wheels.leads} crank leads by {wheels.lead_angle:g}° running forward."
    yield LIMITS
