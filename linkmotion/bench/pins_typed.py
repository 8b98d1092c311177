"""Sizes and fits of pins and bushes typed on the bench: the file's [pins]."""

from __future__ import annotations

from dataclasses import dataclass

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.table_figures import TableFigure, enter, value_at
from linkmotion.engine import Engine
from linkmotion.files.journal import Change
from linkmotion.files.pins_table import USUAL, drawn_joints
from linkmotion.wear.materials import MATERIALS

_SIZES = {
    "pin": ("Pin's diameter as drawn", "this first, such as 1 3/8 in or 35 mm"),
    "turned_to": ("A worn pin is turned to", "as drawn if not given"),
    "bush_outside": ("Bush's outside, the bore in the housing", "where there is a bush"),
    "housing_outside": ("Outside of the housing round the bush", "with the length: how much the bush closes"),
    "length": ("Length of the bush", "with the housing: how much the bush closes"),
}
_WORDS = {
    "running": ("Running fit", "or a class such as RC5"),
    "press": ("Press fit of a bush", ""),
    "material": ("Bush's material", ""),
    "housing": ("Housing's material", ""),
    "quantity": ("How many in the engine", ""),
}


@dataclass(frozen=True)
class JointTyped:
    """A joint, and what is written of its pin and bush."""

    name: str
    figures: tuple[TableFigure, ...]

    @property
    def written(self) -> bool:
        """Whether anything is."""
        return any(own.value for own in self.figures)


def joints_of(work: EngineAtWork, engine: Engine) -> list[JointTyped]:
    """Every joint of the gear that the file can size, in the gear's order."""
    return [JointTyped(name, tuple(_figures(work, engine, name))) for name in drawn_joints(engine)]


def _figures(work: EngineAtWork, engine: Engine, joint: str) -> list[TableFigure]:
    made = []
    for key, (words, hint) in (_SIZES | _WORDS).items():
        usual = f"{USUAL[key]} if not given" if key in USUAL else ""
        place, offered = ("pins", joint, key), tuple(MATERIALS) if key in ("material", "housing") else ()
        unit, more = engine.unit if key in _SIZES else "", "; ".join(own for own in (usual, hint) if own)
        plain = key in _WORDS and key != "quantity"
        value = value_at(work, place)
        made.append(TableFigure(place, words, unit, value, more, offered=offered, in_table=True, plain=plain))
    return made


def enter_pin(work: EngineAtWork, name: str, value: str, seen: int) -> Change | None:
    """Write one size or fit of a pin or bush.

    Raises
    ------
    FileError
        There is no such figure, or it cannot be what was typed; the file is as it was.
    """
    joints = joints_of(work, work.must())
    joint = next((own for own in joints if name in {each.name for each in own.figures}), joints[0])
    return enter(work, joint.figures, name, value, seen, joint.name)
