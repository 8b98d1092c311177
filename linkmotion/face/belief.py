"""How each side of an engine is believed to stand before advice is given: by its file, its readings, a diagnosis."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from linkmotion.engine import DRAWING, IN_SERVICE
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.diagnosis import diagnosed
from linkmotion.files.readings_file import Readings
from linkmotion.gears.sensitivity import Key
from linkmotion.linkage import LinkageError
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.diagnosis.result import Diagnosis, TooFewReadings
from linkmotion.studies.diagnosis.worn_place import WORN_SLOT
from linkmotion.studies.figures.figure import figures_of
from linkmotion.studies.setting.basis import believed, drawn_figures, shift_to, spread_of
from linkmotion.studies.setting.foreseen import DIAGNOSIS, STATE
from linkmotion.studies.setting.foreseen import DRAWING as AS_READ
from linkmotion.studies.setting.known import Repair, accused, off_drawing, sound_drawing, together, undecided
from linkmotion.studies.setting.side import SideEstimate, as_it_stands


@dataclass(frozen=True, eq=False)
class Belief:
    """A side as it is believed to stand, on what basis, what is to be said of that, and the diagnosis it rests on."""

    estimate: SideEstimate
    basis: str
    note: str = ""
    found: Diagnosis | None = None

    def with_accused(self, hours: Mapping[Key, float]) -> Belief:
        """With what its diagnosis names, added to what the file has off.

        Parameters
        ----------
        hours : dict
            By (table, key): what an adjustment alters on this side, and what it costs.
        """
        if self.found is None:
            return self
        named = [own for own in accused(self.found, hours) if own.key[0] != WORN_SLOT]  # the slot is taken to stay so
        off = together(self.estimate.off, named)
        as_valve = tuple(own.key for own in self.found.as_valve if own.key in hours)
        maybe = undecided(self.found)
        return replace(self, estimate=replace(self.estimate, off=off, as_valve=as_valve, undecided=maybe))

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


def beliefs(
    engine: EngineAsRead, state: str, sides: Sequence[str], readings: Readings | None, basis: str, file: str = ""
) -> tuple[Belief, ...]:
    """How some sides are believed to stand; where both were read, one diagnosis has what they share as one unknown.

    Parameters
    ----------
    engine, state, sides
        Which sides, in which state of the file.
    readings : Readings or None
        Taken on them.
    basis : str
        "diagnosis", or "drawing": what was read laid over the gear as the file has it.
    file : str
        Named in messages on its tables.
    """
    found: dict[str, Diagnosis | str] = dict.fromkeys(sides, "as was asked")
    if readings is not None and basis == DIAGNOSIS:
        found = _diagnoses(engine, readings, sides, file)
    return tuple(_belief(engine, state, side, readings, found[side]) for side in sides)


def _diagnoses(engine: EngineAsRead, readings: Readings, sides: Sequence[str], file: str) -> dict[str, Diagnosis | str]:
    """The diagnosis of each side, or why there is none: of too few readings of a side none is made of that one."""
    try:
        return {own.found.side: own.found for own in diagnosed(engine, readings, sides, file=file)}
    except (TooFewReadings, LinkageError) as error:
        if len(sides) == 1:
            return {sides[0]: f"no diagnosis: {str(error).splitlines()[0]}"}
    return {side: own for each in sides for side, own in _diagnoses(engine, readings, (each,), file).items()}


def _belief(engine: EngineAsRead, state: str, name: str, readings: Readings | None, found: Diagnosis | str) -> Belief:
    """How one side is believed to stand by its diagnosis; by the file, or what was read laid over it, where none is."""
    cold, warm = assess(engine, state, (name,)).sides[0], None
    if any(engine.condition(state, name).heat.values()):
        warm = assess(engine, state, (name,), standing=IN_SERVICE).sides[0]
    own = _estimate(engine, state, cold, warm)
    if readings is None:
        return Belief(own, STATE)
    note = found if isinstance(found, str) else ""
    if isinstance(found, Diagnosis) and found.fits:
        departures = dict(zip(found.keys, found.departures.tolist(), strict=True))
        try:
            sides = [None if side is None else believed(found.as_worn(side), departures) for side in (cold, warm)]
        except LinkageError as error:
            note = f"no diagnosis: {str(error).splitlines()[0]}"
        else:
            return Belief(_diagnosed(own, found, *sides), DIAGNOSIS, found=found)
    elif isinstance(found, Diagnosis):
        own = replace(own, off=(), fits=False)
        note = (
            "no diagnosis: the readings do not fit this gear (see linkmotion diagnose); take them again first, and "
            "until then move nothing but the valve on its spindle"
        )
    shift = shift_to(cold, readings.of(name), figures_of(own.side))
    return Belief(replace(own, shift=shift), AS_READ, f"{note}; only targets whose figures were read are looked at")


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
