"""Figures as they were taken, gathered while tables are read.

The tables hold plain numbers; what those were worked from, and their doubts, stand beside.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from pydantic import BaseModel

from linkmotion.files.source import Where
from linkmotion.gears.keys import ByReadings
from linkmotion.gears.reverser import Arm, DieHeight
from linkmotion.measuring.taken import Taken


class TakenFigure(float):
    """A figure that was taken or worked out, on its way through a model; a plain number to whoever reckons with it."""

    taken: Taken

    def __new__(cls, taken: Taken) -> TakenFigure:
        """With the value of what was taken."""
        made = super().__new__(cls, taken.value)
        made.taken = taken
        return made


@dataclass(frozen=True)
class Waiting:
    """An angle taken by readings, which waits for the rest of its gear."""

    way: ByReadings
    read: Mapping[str, Taken]
    leads: bool


@dataclass(frozen=True)
class ByRule:
    """A figure that nobody has, to be proposed by a rule of the trade."""


@dataclass
class Gathered:
    """What was gathered of a file.

    Attributes
    ----------
    wheel : Taken or None
        Diameter of the driving wheels, mm.
    taken : dict of Taken
        By path in the file.
    waiting : dict of Waiting
        The same, of angles that are still to be worked out.
    by_rule : list of paths
        Of figures that a rule is to propose.
    """

    wheel: Taken | None = None
    taken: dict[Where, Taken] = field(default_factory=dict)
    waiting: dict[Where, Waiting] = field(default_factory=dict)
    by_rule: list[Where] = field(default_factory=list)

    def plain(self, value: Any, where: Where) -> Any:
        """The value in plain numbers; what was taken is noted under its path, which names its sources too."""
        match value:
            case TakenFigure():
                self.taken[where] = named(value.taken, where)
                return float(value)
            case ByRule():
                self.by_rule.append(where)
                return float("nan")
            case Waiting():
                read = {word: named(taken, where) for word, taken in value.read.items()}
                self.waiting[where] = replace(value, read=read)
                return float("nan")
            case Arm():
                return Arm(self.plain(value.angle, where))
            case DieHeight():
                return DieHeight(self.plain(value.height, where))
            case BaseModel():
                own = {key: getattr(value, key) for key in value.model_fields_set}
                return value.model_copy(update={key: self.plain(each, (*where, key)) for key, each in own.items()})
            case dict():
                return {key: self.plain(each, (*where, str(key))) for key, each in value.items()}
            case list():
                return [self.plain(each, (*where, str(number))) for number, each in enumerate(value)]
        return value


def named(taken: Taken, where: Where) -> Taken:
    """A figure with its own sources named by its path; those of other figures have their names."""
    return taken.of_source(lambda source: (*where, str(source)) if isinstance(source, int) else source)
