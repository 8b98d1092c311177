"""An engine's record, its repairs and its pins, as a notebook sees them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.names import known
from linkmotion.face.tables import Table, one_line, table

if TYPE_CHECKING:
    from pathlib import Path

    from linkmotion.studies.repairs.choice import Choices
    from linkmotion.studies.repairs.weigher import Result


class Recorded:
    """What an engine's file says beside its figures."""

    as_read: EngineAsRead
    file: Path | None

    def record(self, part: str = "") -> Table:
        """What was found and done, by the day, the undated last: a row for each place of the file.

        Of an engine in a folder of its own, what readings, wheel marks and slot readings beside its file tell too:
        ``file`` is theirs. ``own_day`` is false where the day is the state's around it; ``figures`` are as written,
        with what was before.

        Parameters
        ----------
        part : str
            A table of the gear, such as ``"eccentric_rod"``; the whole engine unless given.

        Raises
        ------
        UnknownName
            No such table; the nearest is told.
        FileError
            A record beside the engine's file that cannot be.

        Examples
        --------
        >>> import linkmotion as lm
        >>> engine = lm.read_engine("examples/winkle")
        >>> for row in engine.record("radius_rod"):
        ...     print(row["on"], row["state"], row["side"], row["from_engine"], row["figures"])
        1911-05-02 drawing None None radius_rod.length 3' 1 7/8"; radius_rod.lift_pin 7 5/8; radius_rod.lift_pin_rise 0
        2026-03-14 as found left No. 3, Whelk radius_rod.length 3' 1 15/16" (before 3' 1 7/8")
        """
        from dataclasses import fields

        from linkmotion.files.records_beside import all_entries

        if part:
            known("part", part, tuple(own.name for own in fields(self.as_read.gear_type)))
        headings = (
            "on", "own_day", "file", "state", "side", "part", "by", "with", "from_engine", "note", "photos", "figures",
        )  # fmt: skip
        rows = []
        for own in all_entries(self.as_read, self.file, part)[0]:
            told = [
                f"{each.dimension} {each.written}" + f" (before {each.before})" * bool(each.before)
                for each in own.figures
            ]
            rows.append(
                {
                    "on": None if own.on is None else own.on.isoformat(), "own_day": own.own_day,
                    "file": own.file or None, "state": own.state or None,
                    "side": own.side or None, "part": own.table or None, "by": own.record.by or None,
                    "with": own.record.instrument or None, "from_engine": own.record.from_engine or None,
                    "note": own.record.note or None, "photos": ", ".join(own.record.photos) or None,
                    "figures": "; ".join(told) or None,
                }
            )  # fmt: skip
        return table(f"{self.as_read.name}: record", dict.fromkeys(headings, ""), rows)

    def repairs(self, state: str, hours: float | None = None, *, notches: tuple[str, ...] = ()) -> Repairs:
        """Its repairs weighed: what each gains alone and together, and the best set.

        Parameters
        ----------
        state : str
            Before any repair.
        hours : float, optional
            That there are; without it the best set at whatever hours.
        notches : tuple of str
            Those looked at; all unless given.

        Raises
        ------
        UnknownName
            No such state.
        ValueError
            The file has no repairs.

        Examples
        --------
        >>> import linkmotion as lm
        >>> found = lm.read_engine("examples/winkle").repairs("as found", hours=39, notches=("mid",))
        >>> found.best, found.out
        (('strip the motion', 'set the right eccentric rod', 'bush the left side'), 0)
        """
        from linkmotion.studies.repairs.choice import choose
        from linkmotion.studies.repairs.weigher import Weigher

        known("state", state, self.as_read.state_names)
        if not self.as_read.repairs:
            raise ValueError(f"there are no repairs in the file of {self.as_read.name}")
        return Repairs(self.as_read, choose(Weigher(self.as_read, state, notches or None), hours))


class Repairs:
    """Repairs weighed.

    Parameters
    ----------
    engine, found : Engine, Choices
        As read; what was found.
    """

    def __init__(self, engine: EngineAsRead, found: Choices) -> None:
        self._engine, self._found = engine, found

    @property
    def best(self) -> tuple[str, ...]:
        """The best set, in order of work."""
        from linkmotion.studies.repairs.weigher import in_order

        return in_order(self._engine.repairs, self._found.best.chosen)

    @property
    def hours(self) -> float:
        """Of the best set."""
        return self._found.best.hours

    @property
    def out(self) -> int | None:
        """Findings out of target once it is done; None where the gear cannot be put together so."""
        return None if self._found.best.result is None else self._found.best.result.out

    @property
    def exact(self) -> bool:
        """Whether every set was weighed."""
        return self._found.exact_up_to is None

    def rows(self) -> list[dict[str, Any]]:
        """What each repair gains alone, with what it needs; as :attr:`alone` has it."""
        return self.alone.rows()

    @property
    def alone(self) -> Table:
        """What each repair leaves, done alone with what it needs; the first row is nothing done."""
        rows = [{"repair": "none", "hours": 0.0, "in_best": None} | self._stands(self._found.before.result)]
        rows += [
            {"repair": own.name, "hours": own.hours, "in_best": own.name in self._found.best.chosen}
            | self._stands(own.alone)
            for own in self._found.gains
        ]
        return table(f"{self._engine.name}: repairs", self._headings("repair", "hours", "in_best"), rows)

    @property
    def sets(self) -> Table:
        """What more hours buy: by hours, every set that is better than all of fewer."""
        from linkmotion.studies.repairs.weigher import in_order

        rows = [
            {"hours": own.hours, "repairs": ", ".join(in_order(self._engine.repairs, own.chosen))}
            | self._stands(own.result)
            for own in self._found.cheapest
        ]
        return table(f"{self._engine.name}: sets of repairs", self._headings("hours", "repairs"), rows)

    def _headings(self, *names: str) -> dict[str, str]:
        return dict.fromkeys(names, "") | {"out": "", "worst": "targets", "lost_motion": self._engine.unit}

    def _stands(self, own: Result | None) -> dict[str, Any]:
        from linkmotion.files.lengths import UNITS

        if own is None:
            return {"out": None, "worst": None, "lost_motion": None}
        return {"out": own.out, "worst": own.worst, "lost_motion": own.lost / float(UNITS[self._engine.unit])}

    def __repr__(self) -> str:
        """In one line."""
        told = [f"best: {', '.join(self.best) or 'nothing'}", f"{self.hours:g} h", f"{self.out} out"]
        return one_line("Repairs", self._engine.name, told)

    def _repr_html_(self) -> str:
        return self.alone._repr_html_() + self.sets._repr_html_()
