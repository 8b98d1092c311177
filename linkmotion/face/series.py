"""Series of a side over crank angles, for plots and sums of one's own."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linkmotion.events import DIRECTIONS, FORWARD
from linkmotion.face.names import known
from linkmotion.files.lengths import UNITS
from linkmotion.valve import ENDS

if TYPE_CHECKING:
    from linkmotion.studies.assess import SideEvents

FLOWS = ("steam", "exhaust")
Floats = NDArray[np.float64]


class SideSeries:
    """Valve, piston, ports, link and pins of a side at any crank angles.

    Crank angles are degrees from front dead centre in the direction of running, of any shape; what is given back has
    that shape. Lengths are in the engine file's unit; ``direction`` is as the notch drives unless given. A wrong
    notch, direction, end, flow or pin raises :class:`linkmotion.UnknownName`.

    Examples
    --------
    >>> import linkmotion as lm
    >>> left = lm.read_engine("examples/dock_shunter.toml")["drawing"].left
    >>> ahead = left.valve_path("full forward", [0, 90, 180])
    >>> [f"{place:+.2f} in" for place in ahead]
    ['-0.94 in', '-1.48 in', '+0.94 in']
    >>> [f"{gone:.1f} %" for gone in left.piston_path([0, 90, 180])]
    ['0.0 %', '54.4 %', '100.0 %']
    """

    if TYPE_CHECKING:

        @property
        def unit(self) -> str:
            """Of every length."""

        @property
        def assessed(self) -> SideEvents:
            """The side in motion in every notch."""

        def _at(self, notch: str, direction: str | None) -> tuple[SideEvents, int, str]: ...

    def valve_path(self, notch: str, crank_angles: ArrayLike, direction: str | None = None) -> Floats:
        """Valve from central, + forward, its play in motion."""
        side, number, way = self._at(notch, direction)
        return np.asarray(side.valve_at(number, np.radians(np.asarray(crank_angles, float)), way) / self._scale)

    def piston_path(self, crank_angles: ArrayLike, direction: str = FORWARD) -> Floats:
        """Piston from its front dead centre, percent of the stroke."""
        way = known("direction", direction, DIRECTIONS)
        return np.asarray(100.0 * self.assessed.gear.crank.fraction(_forward(crank_angles, way)))

    def opening_path(
        self, notch: str, end: str, crank_angles: ArrayLike, flow: str = "steam", direction: str | None = None
    ) -> Floats:
        """Opening of an end's port to ``flow`` ("steam" or "exhaust"); negative is overlap, no port's width ends it."""
        return self.port_opening(end, self.valve_path(notch, crank_angles, direction), flow)

    def port_opening(self, end: str, displacement: ArrayLike, flow: str = "steam") -> Floats:
        """Opening of an end's port with the valve so far from central (+ forward); negative is overlap."""
        edge = self.assessed.ports.edge(known("flow", flow, FLOWS), known("end", end, ENDS))
        return np.asarray(edge.opening(np.asarray(displacement, float) * self._scale) / self._scale)

    def link_path(self, notch: str, crank_angles: ArrayLike, direction: str | None = None) -> Floats:
        """Link from upright, degrees, + anticlockwise; :class:`LinkageError` where there is no link."""
        side, number, way = self._at(notch, direction)
        return np.asarray(_row(side.motion.swing, number)(_forward(crank_angles, way)))

    def die_path(self, notch: str, crank_angles: ArrayLike, direction: str | None = None) -> Floats:
        """Die along the slot from its middle, + up; :class:`LinkageError` where there is no link."""
        side, number, way = self._at(notch, direction)
        return np.asarray(_row(side.motion.die, number)(_forward(crank_angles, way)) / self._scale)

    def pin_path(
        self, pin: str, notch: str, crank_angles: ArrayLike, direction: str | None = None
    ) -> NDArray[np.complex128]:
        """A pin of the gear, by the name that the pictures give it: x + iy from the axle, x forward and y up."""
        from linkmotion.linkage import Harmonics

        side, number, way = self._at(notch, direction)
        solution = side.motion.solution
        place = np.atleast_2d(solution[known("pin", pin, solution.linkage.names)])
        own, turn = place[number if len(place) > 1 else 0], _forward(crank_angles, way)
        x, y = (Harmonics.through(part)(turn) for part in (own.real, own.imag))
        return np.asarray((x + 1j * y) / self._scale)

    def cylinder_holds(self, notch: str, end: str, crank_angle: float, direction: str | None = None) -> str:
        """What an end of the cylinder holds: "live steam", "exhaust", "shut in, expanding", "shut in, compressing"."""
        from linkmotion.elevation.valve_shape import space_of

        side, number, way = self._at(notch, direction)
        gone = self.piston_path([crank_angle, crank_angle + 1e-4], way)
        to_front = gone[1] < gone[0]
        place = float(side.valve_at(number, np.radians(crank_angle), way))
        return space_of(side.ports, known("end", end, ENDS), place, (end == "front") == to_front)

    @property
    def back_dead_centre(self) -> float:
        """Crank angle of back dead centre in forward running, degrees: 180 only with the cylinder line on the axle."""
        return float(np.degrees(self.assessed.gear.crank.back_crank_angle))

    @property
    def stroke(self) -> float:
        """Of the piston: not quite twice the crank where the cylinder line is off the axle."""
        front, back = self.assessed.gear.crank.limits
        return float(front - back) / self._scale

    @property
    def central_at(self) -> float:
        """Place of the spindle pin along its guide with the valve central, as ``valve.central_at`` takes it."""
        return float(self.assessed.central_at) / self._scale

    @property
    def _scale(self) -> float:
        return float(UNITS[self.unit])


def _forward(crank_angles: ArrayLike, direction: str) -> Any:
    """Crank angles of forward running, radians."""
    turn = np.radians(np.asarray(crank_angles, float))
    return turn if direction == FORWARD else -turn


def _row(series: Any, number: int) -> Any:
    """A notch's own series (one for all notches where the reverser does not move it)."""
    return series[number if len(series.c) > 1 else 0]
