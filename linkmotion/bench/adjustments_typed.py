"""What there is to set the valves by, typed on the bench: the file's [adjustments], steps, limits and hours."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import LONGEST
from linkmotion.bench.table_figures import TableFigure, enter, value_at
from linkmotion.engine import Engine
from linkmotion.files.adjustments_table import adjustments_given
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, Place, as_typed, figure_at
from linkmotion.files.journal import Change
from linkmotion.files.lengths import format_length
from linkmotion.files.workshop_tables import set_somehow
from linkmotion.gears import Gear
from linkmotion.gears.keys import key_in_words
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.setting.adjustments import Given, adjustable_keys, work_on
from linkmotion.studies.tolerances.tolerance import kind_of

TABLE = "adjustments"
_SIXTY_FOURTHS = 64


@dataclass(frozen=True)
class AdjustmentTyped:
    """One thing that can be altered.

    Attributes
    ----------
    name, words, part : str
        By which a page knows it; the dimension; the part that is worked on.
    figures : tuple of TableFigure
        As the file has them; none where it does not name it.
    usual : str
        What is taken where the file says nothing of any; "" where it is not usual.
    """

    name: str
    words: str
    part: str
    figures: tuple[TableFigure, ...]
    usual: str


def adjustments_of(work: EngineAtWork, engine: Engine) -> list[AdjustmentTyped]:
    """Everything that could be altered, in the order of work; what is not usual after what is."""
    found: dict[Key, Gear] = {}
    for gear in (
        engine.gear(state, side) for state in engine.state_names for side in engine.sides
    ):  # the drawing's first
        for key in adjustable_keys(gear, set_somehow(gear)):
            found.setdefault(key, gear)
    usual = _usual(engine)
    made = [(work_on(gear, key), _one(work, engine, gear, key, usual)) for key, gear in found.items()]
    return [own for _work, own in sorted(made, key=lambda each: (not each[0].offered, each[0].order))]


def _usual(engine: Engine) -> Mapping[Key, Given]:
    gear = engine.gear()
    given, assumed = adjustments_given(engine, engine.name, gear, set_somehow(gear))
    return given if assumed else {}


def _place(key: Key) -> Place:
    return (TABLE, key[0], *key[1].replace(" ", "_").split("."))


def _one(work: EngineAtWork, engine: Engine, gear: Gear, key: Key, usual: Mapping[Key, Given]) -> AdjustmentTyped:
    place, angle, own = _place(key), kind_of(gear, key) == "angle", work_on(gear, key)
    unit, given = "°" if angle else engine.unit, figure_at(work.document, place) is not None
    step, pitch, turn = ((*place, name) for name in ("step", "pitch", "turn"))
    rows = (
        ("step", "Least step", unit, "" if angle else "or the pitch of a thread", (pitch, turn)),
        *(() if angle else (("pitch", "Pitch of the thread", unit, "instead of a step", (step,)),)),
        *(() if angle else (("turn", "Turned by at a time", "", "1/6 turn, a flat, if not given", ()),)),
        ("most", "It goes at most", unit, "either way", ()),
        ("least", "The other way", unit, "0 or less; as far if not given", ()),
        ("cost", "Hours it takes", "h", f"{own.hours:g} h assumed if not given", ()),
    )  # fmt: skip
    figures = tuple(
        TableFigure((*place, name), words, of, value_at(work, (*place, name)), more, instead=instead)
        for name, words, of, more, instead in rows
    )
    told = ""
    if key in usual:
        told = f"by {_written(usual[key].step, angle, engine)}, at most {_written(usual[key].most, angle, engine)}"
    name = ".".join(place[1:])
    return AdjustmentTyped(name, key_in_words(key), own.name, figures if given else (), told)


def _written(value: float, angle: bool, engine: Engine) -> str:
    """A step or limit as a fitter writes it."""
    if angle:
        return f"{value:g}°"
    return format_length(value, engine.unit, fraction_of=_SIXTY_FOURTHS if engine.unit in ("in", "ft") else None)


def takes_of(work: EngineAtWork, wish: Mapping[str, Any]) -> Change | None:
    """What a page wishes of them.

    Raises
    ------
    FileError
        It cannot be so; the file is as it was.
    """
    engine = work.must()
    every = {own.name: own for own in adjustments_of(work, engine)}
    match wish:
        case {"do": "figure", "name": str(name), "value": str(value), "seen": int(seen)}:
            for own in every.values():
                if any(each.name == name for each in own.figures):
                    return enter(work, own.figures, name, value, seen, own.words)
        case {"do": "usual", "seen": int(seen)} if _usual(engine):
            return _take_usual(work, engine, seen)
        case {"do": "begin", "dimension": str(name), "seen": int(seen)} if name in every:
            return _begun(work, every[name], wish, seen)
        case {"do": "gone", "name": str(name), "seen": int(seen)} if name in every:
            place = (TABLE, *name.split("."))
            return work.change_figure(place, GONE, f"not to be altered: {every[name].words}", seen, name)
    raise FileError(TABLE, "this cannot be understood", "load the page anew")


def _take_usual(work: EngineAtWork, engine: Engine, seen: int) -> Change | None:
    """What is usual written down, so that it can be made this engine's own."""
    gear, values = engine.gear(), dict[Place, Any]()
    for key, own in _usual(engine).items():
        angle = kind_of(gear, key) == "angle"
        limits = {"step": own.step, "most": own.most}
        values[_place(key)] = {
            name: round(value, 9) if angle else _written(value, angle, engine) for name, value in limits.items()
        }
    return work.change_figures(values, "what gears of this kind usually have to set them by", seen, TABLE)


def _begun(work: EngineAtWork, own: AdjustmentTyped, wish: Mapping[str, Any], seen: int) -> Change | None:
    """One more that this engine has."""
    if own.figures:
        raise FileError(own.name, "it is written already", "alter it where it stands")
    typed_in = {key: str(wish.get(key, "")).strip()[:LONGEST] for key in ("step", "most", "cost")}
    value = {key: as_typed(each) for key, each in typed_in.items() if each}
    place = (TABLE, *own.name.split("."))
    return work.change_figure(place, value, f"can be altered: {own.words}", seen, own.name)
