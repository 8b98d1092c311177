r"""What the fitter's method adds to readings: unknowns of every estimate, and no faults of the gear.

*Dead centre.* Each end's mark stands a small angle δ beyond the true dead centre, in forward running; it serves every
notch and both directions. A lead read there is out by δ dx/dθ (x the valve's place), an event in degrees by -δ.

*Play.* The valve hangs behind the gear by a part f w of the lost motion, by the way the wheel was turned to the reading
(:mod:`.valve_lag`). Of that a part λ is really so: joints that the weight of a part or a stiff gland holds to one side
do not follow the valve. What is not known is a_j = λ c_j (c_j the clearance of joint j), which is never negative and so
has a mean: a part common to the side, a part of each joint's own, and some scatter from reading to reading. Any figure
F moves with the valve's place as it does against the place that is central, so a valve f w behind adds f w
dF/d(central). Where the spindle was pushed one way with the wheel held, most of the play is taken up, how much being an
unknown of its own: it looks like the spindle's length, but for what the play differs by round the wheel.

*Valve's place on its spindle* and *axle height* are large enough to be predicted exactly with the gear's dimensions:
here stand only how far they may be out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from linkmotion.events import EVENTS
from linkmotion.gears.sensitivity import Key, marked
from linkmotion.linkage import Harmonics
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.figure import DEGREES, SPOTTED, Reading
from linkmotion.studies.figures.looseness import Loose
from linkmotion.studies.figures.measured import Measured
from linkmotion.studies.figures.model import GearModel
from linkmotion.studies.figures.predict import DIE, LOST
from linkmotion.studies.figures.slopes import measured_at
from linkmotion.studies.figures.valve_lag import BY_PUSH, BY_TURNING, NO_LAG, ValveLag
from linkmotion.valve import ENDS
from linkmotion.wear.lost_motion import DIE as DIE_JOINT

Array = NDArray[np.float64]
EYE, TRAMMEL = 0.5, 0.1  # degrees either way: a dead centre by eye, and by trammel from both sides
PLACE = 6.0  # mm either way: the valve on its spindle, set by who knows whom
MARK = 100.0  # mm: by how much a mark can stand elsewhere than the gear as figured has it: as good as not known
SPRINGS = 6.0  # mm either way at most: height of the axle when the readings were taken
# All of these are common practice, no source.
RISE = float(SPRINGS / np.sqrt(3))  # mm: standard deviation of a height that may be anywhere within a bound
# (JCGM 100:2008, 4.3.7); half of it, as if the bound held 19 in 20 of a normal law, is too little by a seventh.
_OWN = 0.4  # spread of a joint's own part, of the whole: joints are not all taken up alike
_SCATTER = 0.1  # of the play: from one reading to the next
_UNEQUAL = "valve's lag"
_AT_LEAST = {BY_PUSH: 0.5}  # part of the play that a push takes up at the least


@dataclass(frozen=True)
class Method:
    """How the readings of a side were taken.

    Attributes
    ----------
    dead_centres : dict
        How near each end's dead centre was found, degrees either way (19 in 20; by eye, at most); by eye where nothing
        is said.
    """

    dead_centres: Mapping[str, float] = field(default_factory=dict)

    def doubt(self, end: str) -> float:
        """How near an end's dead centre was found, degrees either way (19 in 20; by eye, at most).

        Parameters
        ----------
        end : str
            "front" or "back".
        """
        return self.dead_centres.get(end, EYE)

    def spread(self, end: str) -> float:
        """Standard deviation of an end's error, degrees: half of how near it was found.

        Of one found no nearer than by eye it is that of a bound, one place within it as likely as another, as of the
        axle's height (JCGM 100:2008, 4.3.7): half of it would be too little by a seventh.

        Parameters
        ----------
        end : str
            "front" or "back".
        """
        doubt = self.doubt(end)
        return doubt / 2 if doubt < EYE else float(doubt / np.sqrt(3))


def axle_moves(side: SideEvents) -> dict[Key, float]:
    """What a rise of the axle in its horns by 1 mm moves of the gear's dimensions: seen from it the frame goes down.

    Parameters
    ----------
    side : SideEvents
        Whose gear it is.

    Returns
    -------
    dict
        (table, key) of every height on the frame to mm per mm: −1, or −cos(inclination) square to the cylinder line.
    """
    slope = float(np.cos(np.radians(side.gear.cylinder.inclination)))
    heights = {key: along for key, along in marked(side.gear, "frame").items() if along != "x"}
    return {key: -slope if along == "line" else -1.0 for key, along in heights.items()}


class Disturbances:
    """Dead centres and play, as they move the readings of a side.

    Parameters
    ----------
    model : GearModel
        Of the readings, in their order.
    side : SideEvents
        As assessed.
    readings : sequence of R readings
        In any notches of the side.
    method : Method
        How near the dead centres were found.
    loose : Loose
        What is known of the play.

    Attributes
    ----------
    names : tuple of str
        K unknowns, of spread one each.
    scatter : float array, shape (R,)
        What the play adds from one reading to the next, in each reading's unit.
    """

    def __init__(self, model: GearModel, side: SideEvents, readings: Sequence[Reading], method: Method, loose: Loose):
        self.readings, self.method, self.loose = tuple(readings), method, loose
        lag = ValveLag(model, side, self.readings, loose)
        self.lags, self.groups = lag.by_joint, lag.groups
        self.marks = self._marked(model)
        joints = list(loose.clearances)
        self.names = (
            *(f"{end} dead centre" for end in ENDS),
            *(f"{_UNEQUAL}, {group}" if group else _UNEQUAL for group in dict.fromkeys(self.groups) if group != NO_LAG),
            *(f"{_UNEQUAL} at {joint}" for joint in joints),
            *(f"mark {mark}" for mark in self.marks),
        )
        scatter = np.hypot(_SCATTER * np.sqrt(3 * loose.square()) * np.sum(np.abs(self.lags), axis=1), lag.turning)
        self.scatter = np.hypot(scatter * np.abs(self._central(model)), self._near_the_ports_width(model))
        slack = 1.0 if loose.known else 1 / np.sqrt(3)  # of joints of which only the most is known
        loosened = self._spotted(model, lambda measured: slack * measured.loose(loose.clearances))
        self.scatter = np.hypot(self.scatter, loosened)

    def columns(self, model: GearModel) -> tuple[Array, Array]:
        """What the disturbances do to the readings about a gear.

        Parameters
        ----------
        model : GearModel
            Of the readings, about that gear.

        Returns
        -------
        columns : array, shape (R, K)
            By a spread of each unknown, in each reading's unit.
        means : array, shape (R,)
            By the play's mean, where it is known how the wheel was turned.
        """
        central = self._central(model)[:, None]
        lags = central * self.lags
        whole, common, mean = np.sum(lags, axis=1), [], np.zeros(len(self.readings))
        each = np.zeros(lags.shape)
        for group in dict.fromkeys(self.groups):
            if group == NO_LAG:
                continue
            own, least = np.array([one == group for one in self.groups]), _AT_LEAST.get(group, 0.0)
            root = float(np.sqrt(self.loose.square(least)))
            known = group in (BY_TURNING, BY_PUSH)  # which way the valve hangs back
            common.append(np.where(own, (self.loose.spread(least) if known else root) * whole, 0.0))
            mean += np.where(own & known, self.loose.mean(least) * whole, 0.0)
            each += _OWN * root * lags * own[:, None]
        marked = [np.array([-MARK * (_mark_of(one) == mark) for one in self.readings]) for mark in self.marks]
        mean -= [self.marks.get(_mark_of(one), 0.0) for one in self.readings]
        return np.column_stack([self._dead_centres(model), *common, each, *marked]), mean

    def _marked(self, model: GearModel) -> dict[str, float]:
        """Where each mark or face stands from which places were measured, about, mm: as the gear as figured has it."""
        own = [(i, _mark_of(one)) for i, one in enumerate(self.readings) if _mark_of(one)]
        off = {i: float(model.at_figures[i]) - self.readings[i].value for i, _mark in own}
        return {mark: float(np.mean([off[i] for i, named in own if named == mark])) for mark in dict(own).values()}

    def _spotted(self, model: GearModel, what: Callable[[Measured], Array]) -> Array:
        """Something of the distances and places among the readings; nothing of the others, shape (R,)."""
        found, own = np.zeros(len(self.readings)), [i for i, one in enumerate(self.readings) if one.kind in SPOTTED]
        if own:
            found[own] = what(measured_at(model.at, [self.readings[i] for i in own]))
        return found

    def die_lag(self, model: GearModel) -> tuple[Array, Array]:
        """What 1 mm of clearance of the die in its slot, taken up, does to readings about a gear, each of shape (R,).

        Of those of which it is known which way the valve hangs back; and of the others, as if turned forward.

        Parameters
        ----------
        model : GearModel
            Of the readings, about that gear.
        """
        amounts = list(self.loose.clearances.values())
        at = list(self.loose.clearances).index(DIE_JOINT) if DIE_JOINT in self.loose.clearances else -1
        if at < 0 or not amounts[at] > 0:
            return np.zeros(len(self.readings)), np.zeros(len(self.readings))
        lag = self._central(model) * self.lags[:, at] / amounts[at]
        known = np.isin(self.groups, (BY_TURNING, BY_PUSH))
        return np.where(known, lag, 0.0), np.where(known | np.isin(self.groups, NO_LAG), 0.0, lag)

    def _near_the_ports_width(self, model: GearModel) -> Array:
        """Where the port's width cuts a greatest opening off by less than the play: what of it may show, mm, (R,)."""
        found = np.zeros(len(self.readings))
        rows, width = model.at.rows_of(self.readings), float(model.gear.valve.port_width)
        for i, reading in enumerate(self.readings):
            if reading.kind == "opening":
                edge = model.at.ports.edge("steam", reading.end)
                beyond = float(edge.opening(model.at.moments.reached(edge.sign)[rows[i]] - model.at.central)) - width
                most = float(np.sqrt(3 * self.loose.square()) * np.sum(np.abs(self.lags[i])))
                found[i] = max(most - beyond, 0.0) / 3 if beyond > 0 else 0.0
        return found

    def _central(self, model: GearModel) -> Array:
        """Derivative of each reading to the place at which the valve is central."""
        return np.nan_to_num(model.slopes[:, model.keys.index(CENTRAL)])

    def _dead_centres(self, model: GearModel) -> Array:
        """What a spread of each dead centre's error does to the readings, shape (R, 2)."""
        found = np.zeros((len(self.readings), len(ENDS)))
        rows = model.at.rows_of(self.readings)
        angles, central = np.nan_to_num(model.angles), self._central(model)
        valve = model.at.spindle.rate()[rows](angles)
        dies = any(reading.kind == DIE for reading in self.readings)
        die = _die_rate(model)[rows](angles) if dies else np.zeros(rows.size)
        rates = self._spotted(model, lambda measured: measured.rates)
        for i, reading in enumerate(self.readings):
            end = ENDS.index(reading.end or "front")
            spread = self.method.spread(ENDS[end])
            if reading.kind == DIE:
                found[i, end] = np.radians(spread) * die[i]
            elif reading.kind in SPOTTED:
                found[i, end] = np.radians(spread) * rates[i]
            elif reading.kind not in (*EVENTS, "opening", DIE, LOST):  # where the valve stands then
                found[i, end] = -central[i] * np.radians(spread) * valve[i]
            elif reading.kind in EVENTS and reading.unit == DEGREES:
                found[i, end] = -reading.forward * spread
        return found


def _mark_of(reading: Reading) -> str:
    return f"{reading.spot.mark} ({reading.spot.along})" if reading.spot is not None and reading.spot.mark else ""


def _die_rate(model: GearModel) -> Harmonics:
    solution = model.at.solution
    rows = (len(model.moved.notches), solution.wheel.turn.size)
    return Harmonics.through(np.broadcast_to(model.gear.die_height(solution), rows)).rate()
