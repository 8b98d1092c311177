"""What would be read on many gears at once, each with dimensions of its own.

All notches of all gears are turned together: a row for each, notch by notch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS
from linkmotion.gears import Gear, Walschaerts
from linkmotion.gears.frame import VALVE_GUIDE
from linkmotion.gears.reverser import Stop, figure
from linkmotion.gears.sensitivity import numbers, with_numbers
from linkmotion.linkage import Harmonics, Solution, Wheel
from linkmotion.linkage.order import orders_to_try
from linkmotion.linkage.solve import NODES
from linkmotion.revolution import MOST_NODES
from linkmotion.studies.assembling import turned_as_can_be
from linkmotion.studies.event_figures import REVERSER
from linkmotion.studies.readings.law import Moments, value
from linkmotion.studies.variants import MOST_POSITIONS, ROUGH
from linkmotion.valve import Ports

if TYPE_CHECKING:
    from linkmotion.studies.readings.model import ReadingModel

Array = NDArray[Any]
_ATTEMPTS = 3  # from the sketch; followed round the wheel; in another order of solution


def predicted(model: ReadingModel, departures: Array) -> Array:
    """Readings of S gears, shape (S, R); see :meth:`ReadingModel.predict`."""
    names, count = list(model.settings), len(departures)
    most = max(MOST_POSITIONS // (NODES * max(len(names), 1)), 1)
    if count > most:
        return np.concatenate([predicted(model, departures[i : i + most]) for i in range(0, count, most)])
    rows = np.tile(departures, (len(names), 1))
    settings = np.concatenate([settings_of(model, name, departures) for name in names])
    paths = _paths(model, rows, settings, any(reading.kind == "die height" for reading in model.readings))
    known = ~np.any(np.isnan(paths[0].real), axis=-1)
    paths = np.where(known[:, None], paths, 1.0 + 0j)  # what cannot turn is looked at no further
    spindle = Harmonics(_with_wear(model, paths[0], count))
    flat, tiled = departed(model, departures), departed(model, rows)
    ports, moments = Ports.of(flat.valve), Moments(spindle, tiled, Ports.of(tiled.valve))
    found = np.full((count, len(model.readings)), np.nan)
    rows_of = np.array([names.index(reading.notch) for reading in model.readings])[:, None] * count + np.arange(count)
    angles = _angles(model, moments, rows_of)
    for i, reading in enumerate(model.readings):
        if reading.kind == "lost motion":
            found[:, i] = lost(model, i)
            continue
        own = slice(rows_of[i, 0], rows_of[i, -1] + 1)
        path = Harmonics(paths[1])[own] if reading.kind == "die height" else spindle[own]
        with np.errstate(invalid="ignore"):
            found[:, i] = np.where(known[own], value(reading, angles[i], path(angles[i]), flat, ports), np.nan)
    return found


def _angles(model: ReadingModel, moments: Moments, rows: NDArray[np.intp]) -> Array:
    """Forward crank angle of each reading on each gear, shape (R, S); many gears' events from those at the figures."""
    found = np.empty(rows.shape)
    near = np.full(len(rows), np.nan)
    if rows.shape[1] > 1:
        near = np.where([reading.kind in EVENTS for reading in model.readings], model.angles, np.nan)
    apart = ~np.isnan(near)
    if np.any(apart):
        events = [reading for reading, own in zip(model.readings, apart, strict=True) if own]
        found[apart] = moments.followed(events, rows[apart], near[apart])
    for i in np.flatnonzero(~apart):
        found[i] = moments.of(model.readings[i])[rows[i]]
    return found


def lost(model: ReadingModel, index: int) -> float:
    """Lost motion at a reading's crank angle, mm: by the clearances, whatever the dimensions (their part is small)."""
    reading = model.readings[index]
    free = model.free[reading.notch]
    turned = (reading.forward * (reading.at or 0.0)) % 360.0 / 360.0 * free.size
    return float(np.interp(turned, np.arange(free.size + 1), np.append(free, free[0])))


def departed(model: ReadingModel, departures: Array, tall: bool = False) -> Gear:
    """The gear with dimensions of shape (S,), or (S, 1) to be turned."""
    given = numbers(model.gear)
    varied = {key: given[key] + own for key, own in zip(model.keys, departures.T, strict=True) if key in given}
    return with_numbers(model.gear, {key: own[:, None] for key, own in varied.items()} if tall else varied)


def settings_of(model: ReadingModel, notch: str, departures: Array) -> Array:
    """The figure of the reverser in a notch on each of S gears, shape (S,)."""
    setting = model.settings[notch]
    if isinstance(setting, Stop):  # the stop is a dimension's
        own = figure(departed(model, departures).notches[notch])
        return np.broadcast_to(own, len(departures))
    key = REVERSER[type(setting)]
    more = departures[:, model.keys.index(key)] if key in model.keys else np.zeros(len(departures))
    return np.asarray(np.ravel(figure(setting))[0] + more)


def _paths(
    model: ReadingModel, rows: Array, settings: Array, with_die: bool, nodes: int = NODES, attempt: int = 0
) -> Array:
    """Series of the spindle pin (and of the die), shape (1 or 2, rows, K); NaN for what cannot turn.

    Rows that cannot be turned from the sketch are followed round the wheel, then tried in another order of
    solution; those whose motion wants more crank positions get them.
    """
    kind = type(next(iter(model.settings.values())))
    tall, wheel = departed(model, rows, tall=True), Wheel.revolution(nodes)
    linkage = tall.declare(kind(settings[:, None]))
    order = model.orders[-1] if attempt > 1 else next(orders_to_try(linkage))
    solution, told = turned_as_can_be(linkage, order, wheel, len(rows), follow=attempt > 0)
    with np.errstate(invalid="ignore"):
        samples = [solution.along(VALVE_GUIDE), *([die_height(tall, solution)] if with_die else [])]
        c = Harmonics.through(np.stack([np.broadcast_to(own, (len(rows), nodes)) for own in samples])).c
        rough = np.max(np.abs(c[0, :, -3:]), axis=-1) > ROUGH
    c[:, told != ""] = np.nan
    again = [(told != "", nodes, attempt + 1), (rough & (told == ""), 2 * nodes, attempt)]
    for which, more, tries in again:
        if not np.any(which):
            continue
        if tries == _ATTEMPTS or more > MOST_NODES:
            c[:, which] = np.nan
            continue
        own = _paths(model, rows[which], settings[which], with_die, more, tries)
        longest = max(own.shape[-1], c.shape[-1])
        c = _padded(c, longest)
        c[:, which] = _padded(own, longest)
    return c


def _padded(c: Array, longest: int) -> Array:
    return np.pad(c, ((0, 0), (0, 0), (0, longest - c.shape[-1])))


def _with_wear(model: ReadingModel, c: Array, count: int) -> Array:
    """Spindle series with what a worn slot adds in each notch."""
    if not model.worn:
        return c
    more = np.stack([model.worn[notch].c for notch in model.settings])
    longest = max(more.shape[-1], c.shape[-1])
    return np.asarray(_padded(c[None], longest)[0] + np.repeat(_padded(more[None], longest)[0], count, axis=0))


def die_height(gear: Gear, solution: Solution) -> Any:
    """Die above the trunnion; in a gear with eccentrics along the slot from mid link; mm."""
    if isinstance(gear, Walschaerts):
        return np.imag(solution["die pin"] - solution["trunnion"])
    if gear.slot is None:
        raise ValueError(f"a {gear.name} gear has no die")
    return gear.slot.die_place(solution)
