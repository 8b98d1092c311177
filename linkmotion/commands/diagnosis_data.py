"""A diagnosis as plain data."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any

from linkmotion.face.side_diagnosis import SideDiagnosis
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.diagnosis.result import NOT_APART, Diagnosis
from linkmotion.studies.figures.figure import DEGREES, MM, Reading
from linkmotion.studies.row_figures import Length, PerLength, measured


def side_data(own: SideDiagnosis) -> dict[str, Any]:
    """One side's diagnosis; lengths mm, marked as such."""
    found, rows = own.found, _Rows(own.found, own.angles)
    return {
        "side": found.side,
        "fits": found.fits,
        "misfit": found.misfit,
        "fit": found.fit,
        "grown": found.grown,
        "sure": found.sure,
        "sound": found.sound,
        "misread": [
            _said(one.reading) | {"probability": one.probability, "by": _figure(one.reading, one.by)}
            for one in found.misread
        ],
        "disturbances": list(rows.disturbances()),
        "lost_motion": {"most": Length(found.loose.most), "known": found.loose.known},
        "first": [".".join(key) for key in found.first],
        "not_told_apart": [".".join(s.key) for s in found.suspects if s.standing == NOT_APART],
        "explanations": list(rows.explanations()),
        "suspects": list(rows.suspects()),
        "all_told": list(rows.all_told()),
        "readings": list(rows.readings()),
        "alike": list(rows.alike()),
        "next": list(rows.next_readings()),
    }


class _Rows:
    """The lists of a diagnosis, each figure in its own unit."""

    def __init__(self, found: Diagnosis, angles: Collection[Key]) -> None:
        self.found, self.angles = found, angles

    def disturbances(self) -> Iterator[dict[str, Any]]:
        for own in self.found.disturbances:
            sizes = {name: measured(getattr(own, name), own.unit) for name in ("estimate", "within", "before")}
            yield {"name": own.name, "unit": own.unit} | sizes

    def explanations(self) -> Iterator[dict[str, Any]]:
        for each in self.found.explanations:
            sizes = zip(each.keys, each.departures, each.low, each.high, strict=True)
            wrong = [self._sized(k, estimate=x, low=low, high=high) for k, x, low, high in sizes]
            yield {"wrong": wrong, "probability": each.probability}

    def suspects(self) -> Iterator[dict[str, Any]]:
        for s in self.found.suspects:
            sizes = self._sized(s.key, estimate=s.estimate, low=s.low, high=s.high)
            yield sizes | {"probability": s.probability, "seen": s.seen, "standing": s.standing}

    def all_told(self) -> Iterator[dict[str, Any]]:
        found = self.found
        for key, estimate, low, high in zip(found.keys, found.departures, found.low, found.high, strict=True):
            yield self._sized(key, estimate=estimate, low=low, high=high)

    def readings(self) -> Iterator[dict[str, Any]]:
        found = self.found
        rows = zip(found.readings, found.expected, found.fitted, found.stands_out, found.hidden, strict=True)
        for r, expected, fitted, stands_out, hidden in rows:
            sizes = {"read": r.value, "within": 2 * r.sigma, "as_file": expected, "as_estimated": fitted}
            own = {name: _figure(r, size) for name, size in (sizes | {"could_hide": hidden}).items()}
            yield _said(r) | own | {"stands_out": stands_out, "turned": r.turned}

    def alike(self) -> Iterator[list[dict[str, Any]]]:
        for group in self.found.alike:
            pairs = zip(group.keys, group.rates, strict=True)
            yield [{"dimension": ".".join(k), "rate": self._rate(k, group.keys[0], rate)} for k, rate in pairs]

    def next_readings(self) -> Iterator[dict[str, Any]]:
        for n in self.found.next:
            own = {"expected": _figure(n.reading, n.reading.value), "chance": n.chance, "now": n.now}
            yield _said(n.reading) | own | {"narrows": n.narrows}

    def _sized(self, key: Key, **sizes: float) -> dict[str, Any]:
        unit = DEGREES if key in self.angles else MM
        return {"dimension": ".".join(key), "unit": unit} | {n: measured(size, unit) for n, size in sizes.items()}

    def _rate(self, key: Key, first: Key, rate: float) -> float:
        """So much of a dimension for each of the first, both in their own units."""
        if (key in self.angles) == (first in self.angles):
            return rate
        return PerLength(rate) if key in self.angles else Length(rate)


def _said(reading: Reading) -> dict[str, Any]:
    where = {"kind": reading.what, "notch": reading.notch, "direction": reading.direction, "end": reading.end}
    return where | {"at": reading.at, "unit": reading.unit, "line": reading.line}


def _figure(reading: Reading, value: float) -> float | None:
    return measured(value, reading.unit)
