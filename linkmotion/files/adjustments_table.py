"""The [adjustments] of an engine file: what this engine has to set its valves by, with least steps and limits.

Laid out like the drawing's tables::

    [adjustments.valve]
    central_at = { pitch = "1/16 in", turn = "1/6", most = "1/8 in" }   # the spindle's length: a flat of the nut
    [adjustments.eccentric_rod]
    length = { step = "1/64 in", most = "1/8 in", cost = 3 }            # hours
    [adjustments.expansion_link]
    trunnion_x = { step = "1/64 in", least = 0, most = "1/16 in" }      # packing can only be added
    [adjustments.reversing]
    arm_angle = { step = 0.25, most = 1 }                               # the reach rod, by the arm's angle

``most`` holds either way unless ``least`` is given. Angles are degrees. ``cost`` is the hours that the work takes,
whatever the amount; where it is not given, what is usual for such work is assumed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from linkmotion.engine import Engine
from linkmotion.files.faults import nearest
from linkmotion.files.lengths import LengthError, parse_length
from linkmotion.files.source import Source, Where, shown
from linkmotion.gears import Gear, ReverserPosition
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.setting.adjustments import (
    Adjustment,
    Given,
    adjustable_keys,
    adjustments_of,
    usual_adjustments,
)
from linkmotion.studies.tolerances.tolerance import kind_of

_KEYS = ["step", "pitch", "turn", "most", "least", "cost"]
_MOST_STEPS = 400
_MOST_HOURS = 1000.0


def adjustments_given(
    engine: Engine, file: str, gear: Gear, setting: ReverserPosition
) -> tuple[dict[Key, Given], bool]:
    """What the engine file says of its adjustments, or else what gears of this kind usually have.

    Parameters
    ----------
    engine : Engine
        As read.
    file : str
        Its name, for messages.
    gear, setting
        One side of it: whose dimensions can be altered.

    Returns
    -------
    adjustments : dict
        By (table, key).
    assumed : bool
        True where the file says nothing.

    Raises
    ------
    FileError
        With file, line, key and remedy.
    """
    if not engine.adjustments:
        return usual_adjustments(gear, setting, engine.unit in ("in", "ft", "thou")), True
    reader = _Reader(Source(engine.text, file), engine.unit)
    keys = {(key[0], key[1].replace(" ", "_")): key for key in adjustable_keys(gear, setting)}
    found = {}
    for path, value in _leaves(engine.adjustments):
        where = ("adjustments", *path)
        spelt = (path[0], ".".join(path[1:]))
        if spelt not in keys:
            remedy = nearest(".".join(spelt), [".".join(each) for each in keys])
            raise reader.source.fault(where, "this gear has no such length or angle", remedy)
        key = keys[spelt]
        found[key] = reader.given(reader.source.table(value, where), where, kind_of(gear, key) == "angle")
    return found, False


def adjustments_of_file(engine: Engine, file: str, gear: Gear, setting: ReverserPosition) -> tuple[Adjustment, ...]:
    """What an engine file gives to set both sides by, in the order of work; nothing where it says nothing."""
    given, assumed = adjustments_given(engine, file, gear, setting)
    return () if assumed else adjustments_of(gear, given)


def _leaves(tables: Mapping[str, Any]) -> Iterator[tuple[Where, Any]]:
    """Paths of what stands at the end: a table with a step, or anything that is no table."""

    def below(path: Where, value: Any) -> Iterator[tuple[Where, Any]]:
        if len(path) > 1 and not (isinstance(value, dict) and any(isinstance(each, dict) for each in value.values())):
            yield path, value
        elif isinstance(value, dict):
            for name, each in value.items():
                yield from below((*path, name), each)
        else:
            yield (*path, ""), value

    for name, value in tables.items():
        yield from below((name,), value)


class _Reader:
    def __init__(self, source: Source, unit: str) -> None:
        self.source, self.unit = source, unit

    def given(self, own: dict[str, Any], where: Where, angle: bool) -> Given:
        """One adjustment."""
        self.source.known(own, where, _KEYS)
        if ("step" in own) == ("pitch" in own):
            raise self.source.fault(
                where, "step or pitch", 'give one: step = "1/64 in", or pitch = "1/16 in" of a thread',
                "give the least step or the pitch of a thread: one of the two",
            )  # fmt: skip
        if "most" not in own:
            raise self.source.fault(where, "most is missing", 'say how far it goes either way: most = "1/8 in"',
                                    "say how far it goes either way, such as 1/8 in")  # fmt: skip
        if "turn" in own and "pitch" not in own:
            raise self.source.fault(
                (*where, "turn"), "a part of a turn of what thread?", "give its pitch instead of step"
            )
        turn = self._turn(own, where) if "pitch" in own else 0.0
        step = self._size(own, "pitch" if turn else "step", where, angle) * (turn or 1.0)
        most = self._size(own, "most", where, angle)
        least = self._size(own, "least", where, angle) if "least" in own else -abs(most)
        if not step > 0:
            raise self.source.fault(where, "a step of nothing", "more than nothing is wanted")
        if most < 0 or least > 0 or max(most, -least) < step * (1 - 1e-9):
            plain = "no step fits between these limits: 0 or more one way, 0 or less the other"
            raise self.source.fault(
                where, "no step fits between these limits", "least is 0 or less, most 0 or more", plain
            )
        if (most - least) / step > _MOST_STEPS:
            raise self.source.fault(where, f"{(most - least) / step:.0f} steps", "is the unit right?")
        return Given(step, least, most, turn, self._hours(own, where))

    def _hours(self, own: dict[str, Any], where: Where) -> float | None:
        hours = own.get("cost")
        if hours is not None and (
            isinstance(hours, bool) or not isinstance(hours, int | float) or not 0 <= hours <= _MOST_HOURS
        ):
            raise self.source.fault(
                (*where, "cost"), f"read {shown(hours)}", "a plain number of hours is wanted, such as 2.5"
            )
        return None if hours is None else float(hours)

    def _turn(self, own: dict[str, Any], where: Where) -> float:
        read = own.get("turn", "1/6")
        try:
            if isinstance(read, bool):
                raise ValueError
            turn = float(Fraction(read) if isinstance(read, str) else read)
        except (ValueError, TypeError, ZeroDivisionError):
            turn = -1.0
        if not 0 < turn <= 10:
            raise self.source.fault(
                (*where, "turn"), f"read {shown(read)}", 'a part of a turn is wanted: "1/6" is a flat'
            )
        return turn

    def _size(self, own: dict[str, Any], key: str, where: Where, angle: bool) -> float:
        value = own[key]
        if angle:
            if isinstance(value, bool) or not isinstance(value, int | float) or not -90 <= value <= 90:
                raise self.source.fault((*where, key), f"read {shown(value)}", "an angle is a plain number of degrees")
            return float(value)
        try:
            mm = parse_length(value, self.unit)
        except LengthError as error:
            raise self.source.fault((*where, key), str(error), "correct this figure") from None
        if abs(mm) > 500:
            raise self.source.fault(
                (*where, key), f"read {shown(value)}", "half a metre is no setting; is the unit right?"
            )
        return mm
