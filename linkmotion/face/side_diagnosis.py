"""What the readings of one side say: suspects, explanations, in words, as tables, plotted."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from linkmotion.face.names import known
from linkmotion.face.notched import StudiedSide
from linkmotion.face.tables import Table, one_line, table
from linkmotion.files.lengths import UNITS
from linkmotion.gears.sensitivity import Key
from linkmotion.sides import side_words
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.diagnosis.priors import Priors
from linkmotion.studies.diagnosis.study import Case, Diagnosis, diagnose_supposing
from linkmotion.studies.figures.figure import DEGREES
from linkmotion.studies.setting.basis import believed
from linkmotion.studies.tolerances.tolerance import kind_of


@dataclass(frozen=True, eq=False, repr=False)
class SideDiagnosis:
    """One side with what its readings say.

    Attributes
    ----------
    side : SideEvents
        As the state has it.
    priors : Priors
        What was taken for granted of its dimensions.
    found : Diagnosis
        Suspects, explanations, fit; mm and degrees.
    unit : str
        Of the readings, and of lengths shown.
    """

    side: SideEvents
    priors: Priors
    found: Diagnosis
    unit: str

    @cached_property
    def angles(self) -> frozenset[Key]:
        """Dimensions that are angles."""
        return frozenset(key for key in self.priors.keys if kind_of(self.side.gear, key) == "angle")

    @property
    def first(self) -> tuple[str, ...]:
        """What is wrong in the likeliest explanation, by key; nothing where all is as it should be."""
        return tuple(".".join(key) for key in self.found.first)

    @property
    def fits(self) -> bool:
        """Whether the readings fit this gear at all."""
        return self.found.fits

    @property
    def accused(self) -> tuple[str, ...]:
        """What is accused, by key: one of these is wrong, as far as these readings can tell; nothing where none is."""
        return tuple(".".join(own.key) for own in self.found.accused)

    @property
    def misread(self) -> tuple[str, ...]:
        """Readings that look misread, the likeliest first: take them again."""
        return tuple(str(own.reading) for own in self.found.misread)

    @property
    def grown(self) -> float:
        """By how much the readings scatter further than is stated of them; 1 where they do not."""
        return self.found.grown

    def disturbances(self) -> Table:
        """What the fitter's method did, as far as the readings tell it: how much, how near, and how near before."""
        scale, rows = float(UNITS[self.unit]), []
        for own in self.found.disturbances:
            by = 1.0 if own.unit == DEGREES else scale
            sizes = {"estimate": own.estimate / by, "within": own.within / by, "before": own.before / by}
            rows.append({"name": own.name} | sizes | {"unit": DEGREES if own.unit == DEGREES else self.unit})
        names = ("name", "estimate", "within", "before", "unit")
        return table(f"{self.side.state}, {side_words(self.side.side)}: disturbances", dict.fromkeys(names, ""), rows)

    def table(self) -> Table:
        """Suspects, likeliest first: probability, how far off if wrong (limits hold it with 95 %), standing."""
        scale, rows = float(UNITS[self.unit]), []
        for own in self.found.suspects:
            angle = own.key in self.angles
            low, off, high = (value / (1.0 if angle else scale) for value in (own.low, own.estimate, own.high))
            where = {"dimension": ".".join(own.key), "probability": own.probability, "standing": own.standing}
            rows.append(where | {"off": off, "low": low, "high": high, "unit": "degrees" if angle else self.unit})
        names = ("dimension", "probability", "off", "low", "high", "unit", "standing")
        return table(f"{self.side.state}, {side_words(self.side.side)}: diagnosis", dict.fromkeys(names, ""), rows)

    def explanations(self) -> Table:
        """Explanations, likeliest first, a row for each dimension that one takes to be wrong: number, how far off.

        That is as in the gear as estimated; the limits hold it with 95 % if just these are wrong and felt (those of
        :meth:`table`, whatever else is).
        """
        scale, rows = float(UNITS[self.unit]), []
        for number, own in enumerate(self.found.explanations, 1):
            for key, *sizes in zip(own.keys, own.departures, own.low, own.high, strict=True):
                angle = key in self.angles
                off, low, high = (size / (1.0 if angle else scale) for size in sizes)
                row = {"number": number, "probability": own.probability, "dimension": ".".join(key)}
                rows.append(row | {"off": off, "low": low, "high": high, "unit": "degrees" if angle else self.unit})
        names = ("number", "probability", "dimension", "off", "low", "high", "unit")
        return table(f"{self.side.state}, {side_words(self.side.side)}: explanations", dict.fromkeys(names, ""), rows)

    def alike(self, dimension: str) -> tuple[str, ...]:
        """Dimensions that these readings cannot tell from one, by key.

        Parameters
        ----------
        dimension : str
            By its key, such as ``"eccentric_rod.length"``.

        Raises
        ------
        UnknownName
            No such dimension among the suspects.
        """
        known("dimension", dimension, [".".join(key) for key in self.found.keys])
        groups = [[".".join(key) for key in group.keys] for group in self.found.alike]
        return tuple(name for group in groups if dimension in group for name in group if name != dimension)

    def supposing(self, *dimensions: str) -> SideDiagnosis:
        """What this side's readings say if these dimensions are wrong and no other: how far, and all the rest.

        Parameters
        ----------
        *dimensions : str
            One or two, by their keys, such as ``"eccentric_rod.length"``.

        Raises
        ------
        UnknownName
            No such dimension among the suspects.
        """
        keys = {".".join(own.key): own.key for own in self.found.suspects}
        wrong = tuple(keys[known("dimension", name, list(keys))] for name in dimensions)
        readings = (*self.found.readings, *(reading for reading, _expected in self.found.apart))
        found = diagnose_supposing(Case(self.side, readings, self.priors, self.found.method), wrong)
        return replace(self, found=found)

    @cached_property
    def estimated(self) -> StudiedSide:
        """The side as it is believed to stand: every dimension off its figure as the likeliest explanation has it."""
        departures = dict(zip(self.found.keys, self.found.departures.tolist(), strict=True))
        return StudiedSide(
            "as estimated from the readings", believed(self.found.as_worn(self.side), departures), self.unit
        )

    def rows(self) -> list[dict[str, Any]]:
        """The suspects, a dict each."""
        return self.table().rows()

    def to_frame(self) -> Any:
        """The suspects as a pandas DataFrame."""
        return self.table().to_frame()

    def sentences(self) -> list[str]:
        """What the readings say, in plain words."""
        from linkmotion.views.diagnosis_view import Words

        return list(Words(self.found, self.unit, self.angles).sentences())

    def plot(self, ax: Any = None) -> Any:
        """The suspects and how far off each may be.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.diagnosis_plots import plot_suspects
        from linkmotion.views.diagnosis_view import Words

        return plot_suspects(self.found, Words(self.found, self.unit, self.angles), ax)

    def plot_readings(self, ax: Any = None) -> Any:
        """The readings against the gear as figured and as estimated.

        Parameters
        ----------
        ax : matplotlib axes, optional
            New ones unless given; returned.
        """
        from linkmotion.views.diagnosis_plots import plot_readings
        from linkmotion.views.diagnosis_view import Words

        return plot_readings(self.found, Words(self.found, self.unit, self.angles), ax)

    def __repr__(self) -> str:
        """In one line."""
        told = ["nothing stands out" if not self.first else f"first: {' and '.join(self.first)}"]
        alike = len(self.accused) - len(self.first)
        told += [f"{alike} more alike"] if alike > 0 else []
        told += [f"misread: {'; '.join(self.misread)}"] if self.misread else []
        told += [f"within must grow ×{self.grown:g}"] if self.grown > 1 else []
        return one_line("SideDiagnosis", self.side.side, [*told, "fits" if self.fits else "does not fit"])

    def _repr_html_(self) -> str:
        return self.table()._repr_html_()
