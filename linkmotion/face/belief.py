"""How each side of an engine is believed to stand before advice is given: by its file, its readings, a diagnosis."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from linkmotion.engine import DRAWING, IN_SERVICE
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.diagnosis import diagnosed
from linkmotion.files.readings_file import Readings
from linkmotion.gears.sensitivity import Key
from linkmotion.linkage import LinkageError
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.diagnosis.result import Diagnosis, TooFewReadings
from linkmotion.studies.figures.figure import figures_of
from linkmotion.studies.setting.basis import believed, drawn_figures, shift_to, spread_of
from linkmotion.studies.setting.foreseen import DIAGNOSIS, STATE
from linkmotion.studies.setting.foreseen import DRAWING as AS_READ
from linkmotion.studies.setting.known import Repair, accused, off_drawing, sound_drawing, together
from linkmotion.studies.setting.side import SideEstimate, as_it_stands


@dataclass(frozen=True, eq=False)
class Belief:
    """A side as it is believed to stand, on what basis, what is to be said of that, and the diagnosis it rests on."""

    estimate: SideEstimate
    basis: str
    note: str = ""
    found: Diagnosis | None = None

    def with_accused(self, adjustable: Collection[Key]) -> Belief:
        """With what its diagnosis names, added to what the file has off.

        Parameters
        ----------
        adjustable : collection of (table, key)
            Dimensions that an adjustment alters on this side.
        """
        if self.found is None:
            return self
        off = together(self.estimate.off, accused(self.found, adjustable))
        return replace(self, estimate=replace(self.estimate, off=off))

    def with_mended(self, repairs: Iterable[Repair]) -> Belief:
        """As it would stand once what no adjustment puts back is mended, its valve left where it is.

        Parameters
        ----------
        repairs : iterable of Repair
            Of both sides; this side's are undone.
        """
        own = {each.off.key: each.off.by for each in repairs if each.side == self.estimate.side.side}
        undone: Mapping[Key, float] = {key: -by for key, by in own.items()}
        left = tuple(replace(off, by=off.by - own.get(off.key, 0.0)) for off in self.estimate.off)
        cold = None if self.estimate.read_cold is None else believed(as_it_stands(self.estimate.read_cold), undone)
        side = believed(as_it_stands(self.estimate.side), undone)
        return replace(self, estimate=replace(self.estimate, side=side, read_cold=cold, off=left))


def belief(
    engine: EngineAsRead, state: str, name: str, readings: Readings | None, basis: str, file: str = ""
) -> Belief:
    """How a side is believed to stand.

    Parameters
    ----------
    engine, state, name
        Which side, in which state of the file.
    readings : Readings or None
        Taken on it.
    basis : str
        "diagnosis", or "drawing": what was read laid over the gear as the file has it.
    file : str
        Named in messages on its tables.
    """
    cold, warm = assess(engine, state, (name,)).sides[0], None
    if any(engine.condition(state, name).heat.values()):
        warm = assess(engine, state, (name,), standing=IN_SERVICE).sides[0]
    own = _estimate(engine, state, cold, warm)
    if readings is None:
        return Belief(own, STATE)
    taken, note = readings.of(name), "as was asked"
    if basis == DIAGNOSIS:
        try:
            found = diagnosed(engine, readings, (name,), file=file)[name].found
            departures = dict(zip(found.keys, found.departures.tolist(), strict=True))
            sides = [None if side is None else believed(side, departures) for side in (cold, warm)]
        except (TooFewReadings, LinkageError) as error:
            note = f"no diagnosis: {str(error).splitlines()[0]}"
        else:
            if found.fits:
                return Belief(_diagnosed(own, found, *sides), DIAGNOSIS, found=found)
            own = replace(own, off=(), fits=False)
            note = (
                "no diagnosis: the readings do not fit this gear (see linkmotion diagnose); take them again first, and "
                "until then move nothing but the valve on its spindle"
            )
    shift = shift_to(cold, taken, figures_of(own.side))
    note = f"{note}; only targets whose figures were read are looked at"
    return Belief(replace(own, shift=shift), AS_READ, note)


def _estimate(engine: EngineAsRead, state: str, cold: SideEvents, warm: SideEvents | None) -> SideEstimate:
    """The side as its file has it."""
    drawn = sound_drawing(engine, cold.side, cold.notches)
    return SideEstimate(
        cold if warm is None else warm,
        drawn=drawn_figures(drawn),
        off=off_drawing(engine, state, cold),
        read_cold=None if warm is None else cold,
        valve_rule=engine.gear(DRAWING, cold.side).valve.set_by or "",
    )


def _diagnosed(own: SideEstimate, found: Diagnosis, cold: SideEvents | None, warm: SideEvents | None) -> SideEstimate:
    """The side as estimated from its readings."""
    assert cold is not None
    side = cold if warm is None else warm
    spread = spread_of(side, found.keys, found.covariance)
    return replace(own, side=side, read_cold=None if warm is None else cold, spread=spread)
