"""Distances and places measured on a gear put together, in a readings file.

::

    [[left.distance]]
    from = "die pin"                 # pins by their names
    to = "trunnion"
    notch = "full forward"
    at = "front dead centre"         # or "back dead centre", or a crank angle in degrees with a direction
    is = "4 5/16 in ± 1/32 in"       # as every length that is taken: sums, takings, over and between pins

    [[left.place]]
    pin = "spindle pin"
    along = "guide"                  # "x" (forward), "y" (up), the valve's "guide", or the cylinder's "line"
    from = "axle"                    # any pin, or the "rail"; or mark = "chest face": anything that stays where it is
    notch = "full forward"
    at = "front dead centre"
    is = "-3 1/2 in ± 1/32 in"       # minus where the pin is behind, or below

Between pins that no notch and no turn of the wheel moves, notch and at can be left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from linkmotion.engine import Engine
from linkmotion.events import BACKWARD, FORWARD
from linkmotion.files.faults import nearest
from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.length_forms import PLAIN
from linkmotion.files.readings_source import ReadingsSource
from linkmotion.files.readings_units import read_within
from linkmotion.files.record_keys import record_out
from linkmotion.files.source import Where, shown
from linkmotion.files.taken_forms import Taking
from linkmotion.linkage.parts import Fixed
from linkmotion.measuring.distances import above_axle
from linkmotion.measuring.taken import NORMAL, Taken, worked
from linkmotion.record import Record
from linkmotion.studies.assess import assess
from linkmotion.studies.figures.figure import DISTANCE, MM, PLACE, SPOTTED, Reading
from linkmotion.studies.figures.spots import ALONG, AXLE, UP, Spot, pins_to_measure
from linkmotion.valve import ENDS

RAIL, MARK = "rail", "mark"
_TURN = ("notch", "at", "direction", "is", "within")
_KEYS = {DISTANCE: ("from", "to", *_TURN), PLACE: ("pin", "along", "from", MARK, *_TURN)}
_CENTRES = {f"{end} dead centre": end for end in ENDS}
_AT = 'write at = "front dead centre", "back dead centre", or a crank angle from 0 to 360 degrees with its direction'
_IS = 'write is = "4 5/16 in ± 1/32 in", as any length that is taken'


class SpotRows:
    """Distances and places of one side of a readings file.

    Parameters
    ----------
    source : ReadingsSource
        The file.
    engine : Engine
        On which they were measured.
    state, side, unit : str
        As the file's head has them; which side.
    head : dict
        Its head.
    records : dict
        Into which the records of its rows go.
    """

    def __init__(
        self, source: ReadingsSource, engine: Engine, state: str, side: str, unit: str, head: Mapping[str, Any],
        records: dict[Where, Record],
    ) -> None:  # fmt: skip
        self.records = records
        self.source, self.engine, self.side, self.unit, self.head = source, engine, side, unit, head
        assessed = assess(engine, state, (side,)).sides[0]
        self.notches = list(assessed.notches)
        linkages = [assessed.gear.declare(setting) for setting in assessed.settings]
        self.pins = pins_to_measure(linkages[0])
        names = list(linkages[0].names)
        places = [{names[p.pin]: (p.x, p.y) for p in own.parts if isinstance(p, Fixed)} for own in linkages]
        self.still = {pin for pin, place in places[0].items() if all(own.get(pin) == place for own in places)}

    def readings(self, table: Mapping[str, Any]) -> Iterator[Reading]:
        """What the side's table has of them.

        Parameters
        ----------
        table : dict
            ``[left]`` or ``[right]``.
        """
        for kind in SPOTTED:
            rows = table.get(kind, [])
            where: Where = (self.side, kind)
            if not isinstance(rows, list):
                raise self.source.fault(
                    where, "one table, wanted a list of them", f"head it [[{self.side}.{kind}]], in double brackets"
                )
            for number, row in enumerate(rows):
                own = (*where, str(number))
                if not isinstance(row, dict):
                    raise self.source.fault(own, f"read {shown(row)}", f"head each with [[{self.side}.{kind}]]")
                row = record_out(row, own, self.source, self.records)
                self.source.known(row, own, list(_KEYS[kind]))
                yield self._reading(kind, row, own)

    def _reading(self, kind: str, row: Mapping[str, Any], where: Where) -> Reading:
        spot = self._distance(row, where) if kind == DISTANCE else self._place(row, where)
        apart = {spot.pin, spot.since} if not spot.mark else {spot.pin}
        anywhere = apart <= self.still and "notch" not in row and "at" not in row
        notch = self.notches[0] if anywhere else self._notch(row, where)
        end, at, direction = ("front", None, "") if anywhere else self._moment(row, where)
        taken = self._is(kind, row, where, spot)
        if row.get("from") == RAIL:
            taken = self._above_axle(taken, where)
        return Reading(
            side=self.side, kind=kind, notch=notch, end=end, direction=direction, at=at, spot=spot, unit=MM,
            value=taken.value, sigma=taken.doubt / NORMAL, line=self.source.line((*where, "is")) or 0,
        )  # fmt: skip

    def _distance(self, row: Mapping[str, Any], where: Where) -> Spot:
        first, second = (self._pin(row, key, where) for key in ("from", "to"))
        if first == second:
            raise self.source.fault((*where, "to"), f"from {row['from']} to {row['to']} is nothing", "name another pin")
        return Spot(first, second)

    def _place(self, row: Mapping[str, Any], where: Where) -> Spot:
        pin = self._pin(row, "pin", where)
        along = self._word(row, "along", where, list(ALONG))
        if MARK in row and "from" in row:
            raise self.source.fault((*where, MARK), "from a pin and from a mark too", "keep from, or mark")
        if MARK in row:
            self.source.words(row[MARK], (*where, MARK))
            if row[MARK].strip().lower() in {*self.pins, RAIL}:
                told = f"{row[MARK]} is no mark: the file knows where it is"
                raise self.source.fault((*where, MARK), told, f'write from = "{row[MARK].strip().lower()}" instead')
            return Spot(pin, along=along, mark=row[MARK])
        if row.get("from") == RAIL:
            if along != UP:
                raise self.source.fault(
                    (*where, "along"), f"the rail is not measured from along {along}", 'write along = "y"'
                )
            return Spot(pin, along=along)
        if "from" not in row:
            remedy = f'give from = "{AXLE}", "{RAIL}" or another pin; or mark = "…" for a face or mark of your own'
            raise self.source.fault((*where, "from"), "missing", remedy)
        since = self._pin(row, "from", where, (RAIL,))
        if since == pin:
            raise self.source.fault((*where, "from"), f"{row['from']} is the pin itself", "name another pin")
        return Spot(pin, since, along)

    def _pin(self, row: Mapping[str, Any], key: str, where: Where, more: tuple[str, ...] = ()) -> str:
        return self.pins[self._word(row, key, where, list(self.pins), more)]

    def _word(
        self, row: Mapping[str, Any], key: str, where: Where, known: list[str], more: tuple[str, ...] = ()
    ) -> str:
        own = (*where, key)
        if key not in row:
            raise self.source.fault(own, "missing", f"give {key}: {', '.join((*known, *more))}")
        self.source.words(row[key], own)
        if row[key] not in known:
            raise self.source.fault(own, f"read {shown(row[key])}", nearest(row[key], [*known, *more]))
        return str(row[key])

    def _notch(self, row: Mapping[str, Any], where: Where) -> str:
        return self._word(row, "notch", where, self.notches)

    def _moment(self, row: Mapping[str, Any], where: Where) -> tuple[str, float | None, str]:
        """End of a dead centre, or crank angle and direction."""
        own = (*where, "at")
        if "at" not in row:
            raise self.source.fault(own, "missing: how did the wheel stand?", _AT)
        at = row["at"]
        if isinstance(at, str) and at in _CENTRES:
            if "direction" in row:
                raise self.source.fault((*where, "direction"), "a dead centre has no direction", "leave it out")
            return _CENTRES[at], None, ""
        if isinstance(at, bool) or not isinstance(at, int | float) or not 0 <= at <= 360:
            raise self.source.fault(own, f"read {shown(at)}", _AT)
        return "", float(at), self._word(row, "direction", where, [FORWARD, BACKWARD])

    def _is(self, kind: str, row: Mapping[str, Any], where: Where, spot: Spot) -> Taken:
        own = (*where, "is")
        if "is" not in row:
            raise self.source.fault(own, f"missing: what was the {kind}?", _IS)
        try:
            found = Taking(self.unit, PLAIN).figure(row["is"], "is")
        except FigureFault as fault:
            raise self.source.fault((*where, *(fault.inner or ("is",))), fault.problem, fault.remedy) from None
        if kind == DISTANCE and not found.exact > 0:
            raise self.source.fault(
                own, f"{shown(row['is'])} is no distance", "give what was measured, more than nothing"
            )
        if found.parts:
            if "within" in row:
                raise self.source.fault((*where, "within"), "how near it is stands in is already", "leave it out")
            return found
        return Taken.within(found.exact, Fraction(self._within(row, where)), where)

    def _within(self, row: Mapping[str, Any], where: Where) -> float:
        written, path = (
            (row["within"], (*where, "within"))
            if "within" in row
            else (self.head.get("within"), ("readings", "within"))
        )
        if written is None:
            remedy = "give is with its ±, or within here or in [readings]: 19 in 20 lie as near as that"
            raise self.source.fault((*where, "is"), "how near was it measured?", remedy)
        try:
            return read_within(written, MM, self.unit)
        except ValueError as error:
            raise self.source.fault(path, str(error), "give how far it may be out either way") from None

    def _above_axle(self, taken: Taken, where: Where) -> Taken:
        diameter = self.engine.wheels.diameter
        if diameter is None:
            remedy = "give [wheels] diameter in the engine file, over the tread as it is worn"
            raise self.source.fault((*where, "from"), "the axle's height above the rail is not known", remedy)
        known = self.engine.taken.get(("wheels", "diameter"), Taken(Fraction(diameter)))
        return worked(above_axle, [taken, known])
