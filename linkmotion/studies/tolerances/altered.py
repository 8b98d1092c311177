"""What the work on an adjustment does to a gear's own dimensions."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from linkmotion.gears import Gear
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.studies.setting.adjustments import Adjustment

Array = NDArray[np.float64]
_NEWTON, _NEAR = 6, 1e-3  # steps; mm and degrees either way, for a slope


def altered(gear: Gear, key: Key, by: float) -> dict[Key, float]:
    """By how much a gear's own dimensions change, mm and degrees, when one is altered as it is set.

    A return crank that the file gives by the circle of its pin keeps its length when it is turned on the crank pin: the
    circle and the angle both change.
    """
    own = {name: value for name, value in numbers(gear).items() if name[0] == key[0]}
    wanted = {name: value for name, value in numbers(gear.as_set()).items() if name[0] == key[0]}
    if own.keys() == wanted.keys():
        return {key: by}
    wanted[key] += by
    start = place = np.array(list(own.values()))

    def off(values: Array) -> Array:
        found = numbers(with_numbers(gear, dict(zip(own, values.tolist(), strict=True))).as_set())
        return np.array([found[name] - value for name, value in wanted.items()])

    for _ in range(_NEWTON):
        sides = [(off(place + row) - off(place - row)) / (2 * _NEAR) for row in _NEAR * np.eye(place.size)]
        place = place - np.linalg.solve(np.transpose(sides), off(place))
    return dict(zip(own, (place - start).tolist(), strict=True))


def paths(gear: Gear, adjustments: Sequence[Adjustment]) -> tuple[tuple[Key, ...], Array, Array]:
    """Dimensions that A adjustments change, and by how much for n steps: ``n * first + n**2 * second``, each (A, K).

    Read off at the ends of each adjustment's range; what is left of the third order is as nothing.
    """
    ends = [max(each.most, -each.least) for each in adjustments]
    found = [
        [altered(gear, each.key, sign * end * each.per_step) for sign in (1, -1)]
        for each, end in zip(adjustments, ends, strict=True)
    ]
    keys = tuple(dict.fromkeys(key for pair in found for key in pair[0]))
    more, less = (
        np.array([[pair[which].get(key, 0.0) for key in keys] for pair in found]).reshape(-1, len(keys))
        for which in (0, 1)
    )
    count = np.array(ends, float)[:, None]
    return keys, (more - less) / (2 * count), (more + less) / (2 * count**2)
