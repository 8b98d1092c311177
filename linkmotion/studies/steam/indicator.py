"""The theoretical indicator diagram of one end of a cylinder, from its four valve events.

Steam stands at chest pressure p₁ from admission to cutoff, expands with p Vⁿ constant to release, stands at
back pressure p₂ from release to compression, and is compressed with p Vⁿ constant to admission. V is the
piston's way from the end's dead centre and the clearance, in parts of the volume swept. The mean effective
pressure is the closed-form area of this loop:

``p₁(V_cutoff − V_admission) + E(p₁; V_cutoff → V_release) + p₂(V_compression − V_release)
+ E(p₂; V_compression → V_admission)`` with ``E(p; V → W) = p V (1 − (V/W)ⁿ⁻¹)/(n − 1)``, or p V ln(W/V) for n = 1.

With p₂ = 0, release at the end of the stroke and admission at its beginning this is the mean pressure of the
old tables, ``p₁ (k + (k + c) ln((1 + c)/(k + c)))`` with cutoff k and clearance c.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from linkmotion.events import EVENTS, FORWARD
from linkmotion.gears.steam import Steam
from linkmotion.piston import Piston, dead_centre, part_from

ATMOSPHERE = 1.01325  # bar
ASSUMED = Steam(pressure=10.0, back_pressure=0.2, clearance=8.0, exponent=1.0, blow_down="at release")
LIMITS = (
    "Theoretical: no throttling at the ports (wire-drawing), no condensation or leakage, no inertia of the moving "
    "parts, no friction. It compares settings; it does not foretell the pull."
)
_TURN = 2 * np.pi
_PROPERTIES = ("pressure", "back_pressure", "clearance", "exponent", "blow_down")


@dataclass(frozen=True)
class Conditions:
    """Steam in the cylinder; pressures in bar absolute, clearance as a part of the volume swept.

    Attributes
    ----------
    assumed : tuple of str
        Keys of the [steam] table that were not given.
    """

    pressure: float
    back: float
    clearance: float
    exponent: float = 1.0
    blow_down: str = "at release"
    assumed: tuple[str, ...] = ()

    @classmethod
    def of(cls, steam: Steam) -> Conditions:
        """From an engine's [steam] table; what is not given is assumed (:data:`ASSUMED`).

        Parameters
        ----------
        steam : Steam
            Pressures in bar above the atmosphere, clearance in percent of the volume swept.
        """
        given = {key: getattr(steam, key) for key in _PROPERTIES}
        lacking = tuple(key for key, value in given.items() if value is None)
        own = {key: getattr(ASSUMED, key) if value is None else value for key, value in given.items()}
        return cls(
            own["pressure"] + ATMOSPHERE,
            own["back_pressure"] + ATMOSPHERE,
            own["clearance"] / 100,
            own["exponent"],
            own["blow_down"],
            lacking,
        )


@dataclass(frozen=True, eq=False)
class EndDiagram:
    """Diagram of one end in one notch and direction of running.

    Attributes
    ----------
    end, direction : str
        "front" or "back"; "forward" or "backward".
    piston : Piston
        Crank and piston (or any other motion of the piston).
    angle : dict
        Event → radians from the end's dead centre in the direction of running.
    steam : Conditions
        Pressures and clearance.
    """

    end: str
    direction: str
    piston: Piston
    angle: Mapping[str, float]
    steam: Conditions

    def way(self, angle: Any) -> Any:
        """Piston from the end's dead centre, in parts of the stroke.

        Parameters
        ----------
        angle : float or array
            From that dead centre in the direction of running, radians; real, or with a complex step.
        """
        turned = self.dead + angle
        return part_from(self.piston, self.end, turned if self.direction == FORWARD else -turned)

    def way_rate(self, angle: Any) -> Any:
        """Derivative of :meth:`way` to the angle, per radian, by a complex step (exact to rounding).

        Parameters
        ----------
        angle : float or array
            As for :meth:`way`, real.
        """
        return np.imag(self.way(np.asarray(angle) + 1e-30j)) * 1e30

    @property
    def dead(self) -> float:
        """The end's dead centre from front dead centre in the direction of running, radians."""
        return float(dead_centre(self.piston, self.end, self.direction == FORWARD))

    @cached_property
    def volume(self) -> dict[str, float]:
        """Volume at each event, clearance included, in parts of the volume swept."""
        return {event: float(self.steam.clearance + self.way(self.angle[event])) for event in EVENTS}

    @cached_property
    def released(self) -> float:
        """Pressure just before release, bar absolute."""
        return float(self._law(self.steam.pressure, self.volume["cutoff"], self.volume["release"]))

    @cached_property
    def compressed(self) -> float:
        """Greatest pressure of compression, bar absolute."""
        late = self.angle["admission"] < np.pi  # blind at the dead centre: the piston passes it before steam comes
        least = self.steam.clearance if late else self.volume["admission"]
        return float(self._law(self.steam.back, self.volume["compression"], least))

    @cached_property
    def mean(self) -> float:
        """Mean effective pressure, bar."""
        v, steam = self.volume, self.steam
        work = steam.pressure * (v["cutoff"] - v["admission"])
        work += self.expanded
        work += steam.back * (v["compression"] - v["release"])
        work += self._expanded(steam.back, v["compression"], v["admission"])
        if self._falls:
            work += (self.released - steam.back) * (1.0 + steam.clearance - v["release"]) / 2
        return float(work)

    @property
    def taken(self) -> float:
        """Steam let in, as pressure times volume, bar in parts of the volume swept: p₁V_cutoff − p₂V_compression."""
        return self.steam.pressure * self.volume["cutoff"] - self.steam.back * self.volume["compression"]

    @property
    def expanded(self) -> float:
        """Work of expansion alone, bar in parts of the volume swept."""
        return self._expanded(self.steam.pressure, self.volume["cutoff"], self.volume["release"])

    def pressure(self, angle: Any) -> Any:
        """Pressure in the cylinder's end, bar absolute.

        Parameters
        ----------
        angle : float or array
            From the end's dead centre in the direction of running, radians.
        """
        steam, volume = self.steam, self.steam.clearance + self.way(angle)
        gone = self._since(angle)
        expanding = self._law(steam.pressure, self.volume["cutoff"], volume)
        squeezed = self._law(steam.back, self.volume["compression"], volume)
        exhaust = np.full(np.shape(volume), steam.back)
        if self._falls:
            far = 1.0 + steam.clearance
            left = (far - volume) / (far - self.volume["release"])
            falling = steam.back + (self.released - steam.back) * left
            exhaust = np.where(gone < self._since(self._other), falling, exhaust)
        stages = [gone < self._since(self.angle[event]) for event in EVENTS[1:]]
        return np.select(stages, [np.full(np.shape(volume), steam.pressure), expanding, exhaust], squeezed)

    @property
    def remarks(self) -> tuple[str, ...]:
        """What is unusual about it, in words."""
        told = []
        if self.released < self.steam.back:
            told.append("the steam expands below the back pressure, and the piston has to drag it")
        if self.compressed > self.steam.pressure:
            told.append("compression rises above the chest pressure (a slide valve would lift off its face)")
        return tuple(told)

    @property
    def _other(self) -> float:
        """The other end's dead centre from this one, radians in the direction of running."""
        other = dead_centre(self.piston, "back" if self.end == "front" else "front", self.direction == FORWARD)
        return float((other - self.dead) % _TURN)

    @property
    def _falls(self) -> bool:
        """Whether the pressure falls in a line from release to the dead centre."""
        return self.steam.blow_down == "by dead centre" and self.angle["release"] < self._other

    def _since(self, angle: Any) -> Any:
        return (angle - self.angle["admission"]) % _TURN

    def _law(self, pressure: float, start: float, volume: Any) -> Any:
        return pressure * (start / volume) ** self.steam.exponent

    def _expanded(self, pressure: float, start: float, end: float) -> float:
        """Work of p Vⁿ constant between two volumes (see the head of this module)."""
        if pressure * start == 0.0:
            return 0.0
        more, log = self.steam.exponent - 1.0, np.log(end / start)
        return float(pressure * start * (-np.expm1(-more * log) / more if more else log))


def fault_of(angle: Mapping[str, float]) -> str:
    """Why events make no diagram; "" when they do.

    Parameters
    ----------
    angle : dict
        Event to crank angle from the end's dead centre, radians; NaN where it does not happen.

    Examples
    --------
    >>> fault_of({"admission": 6.2, "cutoff": 2.0, "release": float("nan"), "compression": 4.4})
    'no release'
    """
    lacking = [event for event in EVENTS if np.isnan(angle[event])]
    if lacking:
        return f"no {' and no '.join(lacking)}"
    since = [(angle[event] - angle["admission"]) % _TURN for event in EVENTS[1:]]
    return "" if since == sorted(since) else "steam and exhaust are open together: steam blows through"
