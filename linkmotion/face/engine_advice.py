"""Setting advice for an engine: the choice that is told, beside the others, and what will then be read."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.belief import Belief
from linkmotion.face.names import known
from linkmotion.face.tables import Table, one_line, table
from linkmotion.files.lengths import UNITS
from linkmotion.files.readings_file import Readings
from linkmotion.studies.figures.figure import MM
from linkmotion.studies.setting.advice import Advice
from linkmotion.studies.setting.choices import CHOICES, Choices
from linkmotion.studies.setting.foreseen import Foreseen, foresee


@dataclass(frozen=True, eq=False, repr=False)
class EngineAdvice:
    """The work that sets an engine's valves, in order, and what will then be read.

    Attributes
    ----------
    engine : linkmotion.engine.Engine
        As read.
    state : str
        State that the gear is taken to be in.
    unit : str
        Of readings and of lengths shown.
    found : Choices
        Every choice, and what no adjustment puts back.
    beliefs : tuple of Belief
        For each side: how it is believed to stand, and on what basis.
    readings_taken : Readings or None
        By which.
    choice : str
        Which choice is told: "equal leads", "equal cutoffs" or "least work".
    assumed : bool
        Whether the adjustments are the usual ones, since the engine file says nothing.
    once_mended : bool
        Whether it is given for the engine once what no adjustment puts back is mended; else that is left as it is.
    out_now : int
        How many targets of lead and cutoff are out as the engine stands, with nothing mended or moved.
    """

    engine: EngineAsRead
    state: str
    unit: str
    found: Choices
    beliefs: tuple[Belief, ...]
    readings_taken: Readings | None
    choice: str
    assumed: bool
    once_mended: bool
    out_now: int

    @property
    def advice(self) -> Advice:
        """The choice that is told: works, targets before and after; mm, degrees, percent of stroke."""
        return self.found[self.choice]

    @cached_property
    def foreseen(self) -> list[Foreseen]:
        """For each side: on what basis, and what will be read."""
        return [
            foresee(
                self.advice, own.estimate, own.basis,
                self.readings_taken.of(own.estimate.side.side) if self.readings_taken else (), own.note,
                self.once_mended,
            )
            for own in self.beliefs
        ]  # fmt: skip

    def choose(self, choice: str) -> EngineAdvice:
        """The same with another choice told.

        Parameters
        ----------
        choice : str
            "equal leads", "equal cutoffs" or "least work".

        Raises
        ------
        UnknownName
            There is no such choice.
        """
        return replace(self, choice=known("choice", choice, CHOICES))

    def choices(self) -> Table:
        """A row for each choice: targets out, hours, works; choices that come to the same share one."""
        rows = []
        for own in self.found.every:
            what = {"choice": " = ".join(own.names), "out": len(own.out(own.held_after)), "hours": own.hours}
            works = "; ".join(self.words(own).work(work) for work in own.works)
            rows.append(what | {"works": works, "default": self.found.default in own.names})
        names = ("choice", "out", "hours", "works", "default")
        return table(f"{self.engine.name}, {self.state}: choices", dict.fromkeys(names, ""), rows)

    def words(self, advice: Advice | None = None) -> Any:
        """How a choice is written in a fitter's words (:class:`linkmotion.views.setting_words.Words`).

        Parameters
        ----------
        advice : Advice, optional
            One of the choices; the one that is told unless given.
        """
        from linkmotion.views.setting_words import Words

        return Words(self.found, advice or self.advice, self.unit, self.engine.unit, self.once_mended)

    @property
    def met(self) -> bool:
        """Whether every target looked at is met once the work is done."""
        return self.advice.met

    @property
    def barrier(self) -> str:
        """Why targets stay out: "steps" (finer ones would do), "range" (more would do), "sound parts" or "gear".

        "sound parts": it would do to move parts that stand at their figures; "gear": these adjustments cannot do it,
        however far they are taken; "" when all are met.
        """
        return self.advice.barrier

    @property
    def out(self) -> int:
        """How many targets are out once the work is done."""
        return len(self.advice.out(self.advice.held_after))

    @property
    def hours(self) -> float:
        """What the work costs."""
        return self.advice.hours

    def repairs(self) -> Table:
        """What no adjustment puts back to its drawing, what bears most on a target first."""
        words, rows = self.words(), []
        for own in self.found.repairs:
            angle = own.off.key in words.angles
            off = {"off": own.off.by / (1.0 if angle else float(UNITS[self.unit])), "unit": self._unit_of(angle)}
            rows.append({"side": own.side, "dimension": ".".join(own.off.key)} | off)
        names = ("side", "dimension", "off", "unit")
        return table(f"{self.engine.name}, {self.state}: to be mended", dict.fromkeys(names, ""), rows)

    def _unit_of(self, angle: bool) -> str:
        return "degrees" if angle else self.unit

    def readings(self) -> Table:
        """What will be read cold: as it is believed to stand (``now``), and with all the work done (``then``).

        ``in_service`` is the same as ``then``, warm; None where it is not known that it gets warm.
        """
        rows = []
        for own in self.foreseen:
            for number, reading in enumerate(own.readings):
                length = reading.unit == MM
                unit, scale = (self.unit, float(UNITS[self.unit])) if length else (reading.unit, 1.0)
                what = {"side": own.side, "reading": str(reading), "kind": reading.kind, "read": reading.value / scale}
                now, then = (float(own.expected[stage, number]) / scale for stage in (0, -1))
                warm = None if own.in_service is None else float(own.in_service[-1, number]) / scale
                rows.append(what | {"now": now, "then": then, "in_service": warm, "unit": unit})
        names = ("side", "reading", "kind", "read", "now", "then", "in_service", "unit")
        return table(f"{self.engine.name}, {self.state}: readings to come", dict.fromkeys(names, ""), rows)

    def sentences(self) -> list[str]:
        """The work in a fitter's words, in order."""
        return [row["work"] for row in self.rows()]

    def table(self) -> Table:
        """One row for a piece of work, in the order in which it is done."""
        words, rows = self.words(), []
        for work in self.advice.works:
            own = work.adjustment
            angle = own.key in words.angles
            amount = work.amount / (1.0 if angle else float(UNITS[self.unit]))
            rows.append({"work": words.work(work), "side": own.side, "dimension": ".".join(own.key), "amount": amount,
                         "unit": self._unit_of(angle), "hours": own.hours, "puts_back": work.undoes is not None,
                         "if_need_be": work.if_need_be})  # fmt: skip
        names = ("work", "side", "dimension", "amount", "unit", "hours", "puts_back", "if_need_be")
        return table(f"{self.engine.name}, {self.state}: setting", dict.fromkeys(names, ""), rows)

    def rows(self) -> list[dict[str, Any]]:
        """The work, a dict each."""
        return self.table().rows()

    def to_frame(self) -> Any:
        """The work as a pandas DataFrame."""
        return self.table().to_frame()

    def __repr__(self) -> str:
        """In one line."""
        many = f"{len(self.advice.works)} pieces of work"
        met = "targets met" if self.met else "not all met"
        return one_line("EngineAdvice", self.engine.name, [self.state, self.choice, many, met])

    def _repr_html_(self) -> str:
        return self.table()._repr_html_()
