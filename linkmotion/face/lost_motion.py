"""Lost motion round the wheel, joint by joint."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from linkmotion.face.tables import Table, one_line, table
from linkmotion.files.lengths import UNITS
from linkmotion.studies.assess import SideEvents
from linkmotion.wear.lost_motion import lost_motion


@dataclass(frozen=True, eq=False, repr=False)
class LostMotion:
    """How far the valve can be pushed and pulled with the wheel held; lengths in the engine file's unit.

    Attributes
    ----------
    notch : str
        Which.
    crank_angle : float array, shape (N,)
        From front dead centre in forward running, degrees.
    joints : dict of float arrays, shape (N,)
        Free movement from each joint alone, by pin (and "die in the slot").
    unit : str
        Of its lengths.

    Examples
    --------
    >>> import linkmotion as lm
    >>> lost = lm.read_engine("examples/dock_shunter.toml")["as found"].left.lost_motion("full forward")
    >>> f"{lost.greatest:.3f} in", lost.rows()[0]["joint"]
    ('0.061 in', 'die pin')
    """

    notch: str
    crank_angle: NDArray[np.float64]
    joints: Mapping[str, NDArray[np.float64]]
    unit: str

    @property
    def total(self) -> NDArray[np.float64]:
        """Sum over the joints, shape (N,): what a dial gauge on the spindle reads there."""
        return np.asarray(sum(self.joints.values(), np.zeros(len(self.crank_angle))))

    @property
    def greatest(self) -> float:
        """Greatest of the total round the wheel."""
        return float(self.total.max())

    def table(self) -> Table:
        """One row for a joint, the greatest first: least and greatest free movement round the wheel."""
        rows = [{"joint": name, "least": own.min(), "greatest": own.max()} for name, own in self.joints.items()]
        rows.sort(key=lambda row: -row["greatest"])
        headings = {"joint": "", "least": self.unit, "greatest": self.unit}
        return table(f"{self.notch}: lost motion at the spindle, wheel held", headings, rows)

    def rows(self) -> list[dict[str, Any]]:
        """The joints, a dict each."""
        return self.table().rows()

    def to_frame(self) -> Any:
        """The joints as a pandas DataFrame."""
        return self.table().to_frame()

    def plot(self, ax: Any = None) -> Any:
        """Every joint's share round the wheel, one upon the other.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.style import axes_or_new, notch_colour

        ax = axes_or_new(ax)
        colours = [notch_colour(number, len(self.joints)) for number in range(len(self.joints))]
        ax.stackplot(self.crank_angle, list(self.joints.values()), labels=list(self.joints), colors=colours)
        ax.set(xlabel="crank angle from front dead centre, degrees", xlim=(0, 360))
        ax.set(ylabel=f"lost motion at the spindle, {self.unit}", title=f"{self.notch}: lost motion, wheel held")
        if self.joints:
            ax.legend(loc="center left", bbox_to_anchor=(1, 0.5), reverse=True)
        return ax

    def __repr__(self) -> str:
        """In one line."""
        told = f"{self.greatest:.4g} {self.unit} at most, of {len(self.joints)} joints"
        return one_line("LostMotion", self.notch, [told])

    def _repr_html_(self) -> str:
        return self.table()._repr_html_()


def lost_motion_of(side: SideEvents, number: int, unit: str) -> LostMotion:
    """Lost motion in one notch of a side, at 96 places round the wheel.

    Parameters
    ----------
    side : SideEvents
        As assessed.
    number : int
        Of the notch.
    unit : str
        Of the lengths in the result.
    """
    found, scale = lost_motion(side.gear, side.settings[number], side.condition), float(UNITS[unit])
    angle = np.asarray(found.crank_angle, float)
    joints = {name: np.broadcast_to(free, angle.shape) / scale for name, free in found.joints.items()}
    return LostMotion(side.notches[number], angle, joints, unit)
