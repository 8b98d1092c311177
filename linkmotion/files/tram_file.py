"""Marks taken with a tram (TOML): the tyre, how near the marks are, and the pairs.

::

    [tram]
    tyre_diameter = "54 in"       # where the marks are made
    mark = "0.010 in"             # a mark is right within this (95 %); assumed 0.25 mm unless given
    crosshead = "0.004 in"        # the crosshead comes back to its line within this (95 %); assumed 0.1 mm
    play = "0.020 in"             # free movement of the crosshead with the wheel held, if measured
    play_within = "0.005 in"      # and how near that is

    [[pair]]
    end = "front"
    marks = ["3 1/4", "14 5/8"]   # along the tyre from a datum mark, in the order they come to the tram running forward
    turned = "forward"            # or "backward"; or "toward": each mark come up to moving toward the dead centre; or
                                  # "not noted", as where nothing is said: the play may then lie either way

Degrees round the wheel instead of lengths: ``degrees = [12.5, 40.0]``, and ``mark_degrees`` for ``mark``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from linkmotion.files.faults import FileError, nearest
from linkmotion.files.length_taken import sure_length
from linkmotion.files.lengths import UNITS
from linkmotion.files.readings_method import turned_of
from linkmotion.files.record_keys import record_out
from linkmotion.files.source import Source, Where, shown
from linkmotion.record import Record
from linkmotion.studies.setting.tram_marks import TURNED, Accuracy, MarkPair
from linkmotion.valve import ENDS

MARK, CROSSHEAD, MARK_DEGREES = 0.25, 0.1, 0.05  # mm, mm, degrees within (95 %): assumed, no source
_KEYS = ["tyre_diameter", "unit", "mark", "mark_degrees", "crosshead", "play", "play_within"]
_NEAR = {"play": "say in play_within how near it is", "tyre_diameter": "leave the ± out"}  # remedies of a doubt
_SMALLEST, _LARGEST = 20.0, 4000.0  # mm: tyres of the smallest models and of the largest drivers


@dataclass(frozen=True)
class TramMarks:
    """What a file of marks says.

    Attributes
    ----------
    pairs : tuple of MarkPair
        In file order.
    accuracy : Accuracy
        Standard deviations: half of what the file gives as 'within'.
    diameter : float or None
        Of the tyre where the marks are made, mm.
    assumed : tuple of str
        What was assumed, in words.
    records : dict
        By the path of a table: who made its marks, when, with what.
    """

    pairs: tuple[MarkPair, ...]
    accuracy: Accuracy
    diameter: float | None
    assumed: tuple[str, ...]
    records: Mapping[Where, Record] = field(default_factory=dict)


def read_tram_marks(path: str | Path, unit: str) -> TramMarks:
    """Read a file of marks.

    Parameters
    ----------
    path, unit : path, str
        TOML; of bare lengths, where the file names none.

    Raises
    ------
    FileError
        With file, line, key and remedy.
    """
    try:
        source = Source.read(path)
    except FileError as error:
        raise FileError(error.file, error.problem, "a file of marks has [tram] and [[pair]]") from None
    return parse_tram_marks(source.text, source.name, unit)


def parse_tram_marks(text: str, name: str, unit: str) -> TramMarks:
    """Marks from the text of a file.

    Parameters
    ----------
    text, name, unit : str
        TOML; what stands for the file's name in messages; of bare lengths, where the text names none.

    Raises
    ------
    FileError
        As :func:`read_tram_marks`.
    """
    return _Reader(Source(text, name), unit).marks()


class _Reader:
    def __init__(self, source: Source, unit: str) -> None:
        self.source, self.unit = source, unit
        self.assumed: list[str] = []
        self.records: dict[Where, Record] = {}

    def marks(self) -> TramMarks:
        source, document = self.source, self.source.document()
        source.known(document, (), ["tram", "pair"])
        source.filled(document, lambda _where: "fill it in; take out a pair that was not marked")
        head = record_out(source.table(document.get("tram", {}), ("tram",)), ("tram",), source, self.records)
        source.known(head, ("tram",), _KEYS)
        self._unit(head)
        diameter = self._length(head, "tyre_diameter")
        if diameter is not None and not _SMALLEST <= diameter <= _LARGEST:
            raise source.fault(("tram", "tyre_diameter"), f"{diameter:.6g} mm is no tyre's", "is the unit right?")
        pairs = document.get("pair", [])
        if not isinstance(pairs, list) or not pairs:
            raise FileError(source.name, "there are no marks", "write [[pair]] with end and marks for each pair",
                            plain="there are no marks: two are wanted about each dead centre")  # fmt: skip
        read = [self._pair(pair, ("pair", str(number)), diameter) for number, pair in enumerate(pairs)]
        by_degrees = all("degrees" in pair for pair in pairs)
        accuracy = self._accuracy(head, diameter, by_degrees)
        return TramMarks(tuple(read), accuracy, diameter, tuple(self.assumed), self.records)

    def _unit(self, head: dict[str, Any]) -> None:
        self.unit = head.get("unit", self.unit)
        if self.unit not in UNITS:
            raise self.source.fault(("tram", "unit"), f"read {shown(self.unit)}", nearest(str(self.unit), list(UNITS)))

    def _length(self, table: dict[str, Any], key: str, where: Where = ("tram",)) -> float | None:
        return None if key not in table else self._read(table[key], (*where, key), positive=True)

    def _read(self, value: Any, where: Where, positive: bool = False) -> float:
        mm = sure_length(self.source, value, where, self.unit, _NEAR.get(where[-1], "say in mark how near it is"))
        if positive and not mm > 0:
            raise self.source.fault(where, f"read {shown(value)}", "more than nothing is wanted")
        return mm

    def _pair(self, pair: Any, where: Where, diameter: float | None) -> MarkPair:
        source, own = self.source, record_out(self.source.table(pair, where), where, self.source, self.records)
        source.known(own, where, ["end", "marks", "degrees", "turned"])
        if own.get("end") not in ENDS:
            problem = f"read {shown(own['end'])}" if "end" in own else "missing"
            raise source.fault((*where, "end"), problem, f"choose {' or '.join(ENDS)}")
        turned = turned_of(source, own.get("turned"), (*where, "turned"), TURNED)
        if ("marks" in own) == ("degrees" in own):
            raise source.fault(where, "marks or degrees", "give one of the two: two figures in a list")
        key = "marks" if "marks" in own else "degrees"
        if not isinstance(own[key], list) or len(own[key]) != 2:
            raise source.fault((*where, key), f"read {shown(own[key])}", "two figures in a list are wanted")
        if key == "marks" and diameter is None:
            raise source.fault((*where, key), "lengths along a tyre of unknown size", "give [tram] tyre_diameter")
        first, second = (self._mark(value, (*where, key), key, diameter) for value in own[key])
        return MarkPair(own["end"], (first, second), turned)

    def _mark(self, value: Any, where: Where, key: str, diameter: float | None) -> float:
        if key == "marks":
            assert diameter is not None
            return math.degrees(2 * self._read(value, where) / diameter)
        return self._degrees(value, where)

    def _degrees(self, value: Any, where: Where) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not -720 <= value <= 720:
            raise self.source.fault(where, f"read {shown(value)}", "a plain number of degrees is wanted, such as 12.5")
        return float(value)

    def _accuracy(self, head: dict[str, Any], diameter: float | None, by_degrees: bool) -> Accuracy:
        mark = self._mark_within(head, diameter, by_degrees)
        crosshead = self._length(head, "crosshead")
        if crosshead is None:
            self.assumed.append(f"the crosshead comes back to its line within {CROSSHEAD:g} mm")
        play = self._read(head["play"], ("tram", "play")) if "play" in head else None
        if play is not None and play < 0:
            raise self.source.fault(("tram", "play"), f"read {shown(head['play'])}", "play is 0 or more")
        within = self._length(head, "play_within")
        if play is None and within is not None:
            raise self.source.fault(("tram", "play_within"), "there is no play to be near to", "give play too")
        if play is not None and within is None:
            within = max(play / 4, 0.02)
            self.assumed.append("the play was measured to a quarter of itself")
        return Accuracy(mark / 2, (crosshead or CROSSHEAD) / 2, play, (within or 0.0) / 2)

    def _mark_within(self, head: dict[str, Any], diameter: float | None, by_degrees: bool) -> float:
        """Within how many degrees a mark is right."""
        if "mark_degrees" in head:
            within = self._degrees(head["mark_degrees"], ("tram", "mark_degrees"))
            if not 0 < within < 10:
                raise self.source.fault(("tram", "mark_degrees"), f"read {within:g}", "a small angle is wanted")
            return within
        if by_degrees and ("mark" not in head or diameter is None):
            self.assumed.append(f"a mark is right within {MARK_DEGREES:g}°")
            return MARK_DEGREES
        assert diameter is not None
        mark = self._length(head, "mark")
        if mark is None:
            self.assumed.append(f"a mark is right within {MARK:g} mm")
        return math.degrees(2 * (mark or MARK) / diameter)
