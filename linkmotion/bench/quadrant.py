"""The reverser's quadrant as it is drawn on the engine's side: its notches from backward, left, to forward, right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from linkmotion.events import BACKWARD, FORWARD
from linkmotion.gears.reverser import Stop, figure
from linkmotion.studies.assess import SideEvents

_WIDE, _HIGH = 1000.0, 100.0  # of the drawing, which is stretched to its place
_PIVOT, _RACK, _TOOTH = (500.0, 100.0), (440.0, 76.0), 10.0
_SWING = 100.0  # degrees from the one end of the rack to the other


@dataclass(frozen=True)
class Quadrant:
    """The notches in order, and the drawing of rack and lever under their names."""

    notches: tuple[str, ...]
    svg: Markup


def quadrant(side: SideEvents, chosen: str) -> Quadrant | None:
    """A side's quadrant with its lever in a notch; None where there is nothing to be reversed.

    Parameters
    ----------
    side, chosen : SideEvents, str
        As assessed; the notch.
    """
    if len(side.notches) < 2 or isinstance(side.settings[0], Stop):
        return None
    places = _places(side)
    order = sorted(side.notches, key=places.__getitem__)
    parts = Markup("").join(_drawn(order, places, chosen))
    head = f'<svg viewBox="0 0 {_WIDE:g} {_HIGH:g}" preserveAspectRatio="none" aria-hidden="true">'
    return Quadrant(tuple(order), Markup(head) + parts + Markup("</svg>"))


def _places(side: SideEvents) -> dict[str, float]:
    """Of each notch along the rack as the reverser really stands: 0 at its backward end, 1 at its forward."""
    at = {name: float(np.ravel(figure(own))[0]) for name, own in zip(side.notches, side.settings, strict=True)}
    least, most = min(at.values()), max(at.values())
    means = {
        way: np.mean(
            [at[name] for name, drives in zip(side.notches, side.drives, strict=True) if drives == way] or [np.nan]
        )
        for way in (FORWARD, BACKWARD)
    }
    turned = bool(means[FORWARD] < means[BACKWARD])
    spread = (most - least) or 1.0
    return {name: abs(turned - (own - least) / spread) for name, own in at.items()}


def _drawn(order: list[str], places: dict[str, float], chosen: str) -> Iterator[Markup]:
    """The rack, a tooth for each notch with the line that leads to its name, and the lever."""
    rack = " ".join(f"{x:.1f},{y:.1f}" for x, y in (_at(share) for share in np.linspace(0.0, 1.0, 41)))
    yield Markup('<polyline class="rack" points="{}"/>').format(rack)
    for number, name in enumerate(order, 1):
        x, y = _at(places[name])
        led = number / (len(order) + 1) * _WIDE
        kind = Markup(' class="led"') if name == chosen else Markup("")
        yield Markup('<path{} d="M{:.1f} {:.1f}v-{:g}L{:.1f} 0"/>').format(kind, x, y, _TOOTH, led)
    x, y = _at(places[chosen])
    yield Markup('<path class="lever" d="M{:.1f} {:.1f}L{:.1f} {:.1f}"/>').format(*_PIVOT, x, y)
    yield Markup('<path class="knob" d="M{:.1f} {:.1f}h.01"/>').format(x, y)


def _at(share: float) -> tuple[float, float]:
    turned = np.radians(90.0 + _SWING * (0.5 - share))
    across = np.cos(turned) / np.sin(np.radians(_SWING / 2))
    return float(_PIVOT[0] + _RACK[0] * across), float(_PIVOT[1] - _RACK[1] * np.sin(turned))
