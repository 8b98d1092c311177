"""Options for the shop typed on the bench: the file's repairs, one begun or taken out, what each takes and sets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import LONGEST, see_name
from linkmotion.bench.figures_of_parts import places
from linkmotion.bench.table_figures import TableFigure, enter, value_at
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, Place, as_typed, figure_at, typed
from linkmotion.files.journal import Change
from linkmotion.files.lines_edit import with_table
from linkmotion.sides import BOTH, side_words

ALONE, NEEDED, EXCLUDED = "may", "must", "cannot"
TOGETHER = (ALONE, NEEDED, EXCLUDED)
_WORDS = {
    "what": ("What is done", "", ""),
    "hours": ("Hours it takes", "h", "0 or more, a plain number"),
    "cost": ("What it costs", "", "in whatever money you reckon"),
    "metal": ("Metal it takes off the part", "unit", "nothing if not given"),
    "state": ("It leaves the engine as in the state", "", "or else it sets figures of its own, below"),
}


@dataclass(frozen=True)
class RepairTyped:
    """A repair as it is written.

    Attributes
    ----------
    name, what, hours : str
        As the file has them.
    figures, sets : tuple of TableFigure
        What it is and takes; the figures that it sets, side by side.
    others : dict of str
        Every other repair, and whether it may, must or cannot be done with it.
    """

    name: str
    what: str
    hours: str
    figures: tuple[TableFigure, ...]
    sets: tuple[TableFigure, ...]
    others: Mapping[str, str]


def layers_of(engine: Engine) -> dict[str, str]:
    """Sides of which a repair can set figures, in words."""
    return {side: side_words(side, engine.sides) for side in (BOTH, *engine.sides)}


def repairs_of(work: EngineAtWork, engine: Engine) -> list[RepairTyped]:
    """Every repair of the file, in its order."""
    words = {side: {name: own.words for name, own in places(work, DRAWING, side).items()} for side in layers_of(engine)}
    return [_repair(work, engine, name, words) for name in engine.repairs]


def _repair(work: EngineAtWork, engine: Engine, name: str, words: Mapping[str, Mapping[str, str]]) -> RepairTyped:
    where, own = ("repair", name), engine.repairs[name]
    states = tuple(state for state in engine.state_names if state != DRAWING)
    figures = tuple(
        TableFigure(
            (*where, key), told, engine.unit if unit == "unit" else unit, value_at(work, (*where, key)), more,
            choices=states if key == "state" else (), nothing="no state" if key == "state" else "",
            wide=key in ("what", "state"), plain=key == "what",
        )
        for key, (told, unit, more) in _WORDS.items() if key != "state" or states
    )  # fmt: skip
    others = {
        other: NEEDED if other in own.needs else EXCLUDED if other in own.excludes else ALONE
        for other in engine.repairs if other != name
    }  # fmt: skip
    layers = layers_of(engine)
    sets = tuple(
        TableFigure((*where, *path), f"{layers[path[0]]}: {words[path[0]].get('.'.join(path[1:]), ' '.join(path[1:]))}",
                    "", typed(value), "empty: it does not set it", in_table=True)
        for path, value in _set_by(figure_at(work.document, where), words)
    )  # fmt: skip
    return RepairTyped(name, own.what, f"{own.hours:g}", figures, sets, others)


def _set_by(table: Mapping[str, Any], words: Mapping[str, Mapping[str, str]]) -> Iterator[tuple[Place, Any]]:
    """Figures that a repair sets, by their places within it."""

    def below(path: Place, value: Any) -> Iterator[tuple[Place, Any]]:
        if isinstance(value, Mapping) and ".".join(path[1:]) not in words[path[0]]:
            for key, each in value.items():
                yield from below((*path, key), each)
        else:
            yield path, value

    for side in words:
        yield from below((side,), table.get(side, {}))


def can_set(work: EngineAtWork) -> dict[str, dict[str, str]]:
    """Figures that a repair can set, by part: by name, in words."""
    found: dict[str, dict[str, str]] = {}
    for name, own in places(work, DRAWING, BOTH).items():
        found.setdefault(own.place[0].replace("_", " "), {})[name] = own.words
    return found


def takes_of(work: EngineAtWork, wish: Mapping[str, Any]) -> Change | None:
    """What a page wishes of the repairs.

    Raises
    ------
    FileError
        It cannot be so; the file is as it was.
    """
    try:
        return _taken(work, work.must(), wish)
    except FileError as error:
        if not error.remedy.startswith("say excludes"):
            raise
        remedy = "say first, under Done with it, that the two cannot be done together"
        raise FileError(error.file, error.problem, remedy, key=error.key) from None


def _taken(work: EngineAtWork, engine: Engine, wish: Mapping[str, Any]) -> Change | None:
    match wish:
        case {"do": "figure", "name": str(name), "value": str(value), "seen": int(seen)}:
            return _enter(work, engine, name, value, seen)
        case {"do": "together", "repair": str(one), "name": str(other), "value": str(value), "seen": int(seen)}:
            return _together(work, engine, one, other, value, seen)
        case {"do": "begin", "seen": int(seen)}:
            return _begun(work, engine, wish, seen)
        case {"do": "sets", "repair": str(name), "side": str(side), "figure": str(figure), "value": str(value),
              "seen": int(seen)} if side in layers_of(engine):  # fmt: skip
            return _one_more(work, engine, _known(engine, name), side, figure, value, seen)
        case {"do": "gone", "name": str(name), "seen": int(seen)}:
            place = ("repair", _known(engine, name))
            named = [other for other, own in engine.repairs.items() if name in (*own.needs, *own.excludes)]
            if named:
                told = f"{', '.join(named)}: must or cannot be done with it"
                raise FileError(name, told, "change that first, under Done with it")
            return work.change_figure(place, GONE, f"repair taken out: {name}", seen, name)
    raise FileError("repair", "this cannot be understood", "load the page anew")


def _known(engine: Engine, name: str) -> str:
    if name not in engine.repairs:
        raise FileError(name, "there is no such repair", "load the page anew")
    return name


def _enter(work: EngineAtWork, engine: Engine, name: str, value: str, seen: int) -> Change | None:
    for own in repairs_of(work, engine):
        figures = (*own.figures, *own.sets)
        if any(each.name == name for each in figures):
            return enter(work, figures, name, value, seen, own.name)
    raise FileError(name, "this cannot be understood", "load the page anew")


def _together(work: EngineAtWork, engine: Engine, one: str, other: str, value: str, seen: int) -> Change | None:
    """Whether two may, must or cannot be done together."""
    if value not in TOGETHER or _known(engine, other) == _known(engine, one):
        raise FileError("repair", "this cannot be understood", "load the page anew")
    own, values = engine.repairs[one], dict[Place, Any]()
    for key, names, chosen in (("needs", own.needs, NEEDED), ("excludes", own.excludes, EXCLUDED)):
        wanted = [name for name in names if name != other] + [other] * (value == chosen)
        if wanted != list(names):
            values["repair", one, key] = wanted or GONE
    if not values:
        return None
    return work.change_figures(values, f"{one}: {other} {value} be done with it", seen, one)


def _begun(work: EngineAtWork, engine: Engine, wish: Mapping[str, Any], seen: int) -> Change | None:
    """One more repair at the end of the file."""
    given = {key: " ".join(str(wish.get(key, "")).split())[:LONGEST] for key in ("repair", "what", "hours", "state")}
    name = see_name(given["repair"], "a repair", "press in new bushes")
    if name in engine.repairs:
        raise FileError(name, "there is a repair of this name already", "choose another name")
    keys = {"what": given["what"] or name, "hours": as_typed(given["hours"] or "0")}
    if given["state"]:
        keys["state"] = given["state"]
    place = ("repair", name)
    return work.change_text(
        lambda text: with_table(text, place, keys), f"new repair: {name}", seen, (place,), name
    )  # fmt: skip


def _one_more(
    work: EngineAtWork, engine: Engine, name: str, side: str, figure: str, value: str, seen: int
) -> Change | None:
    """One more figure that a repair sets."""
    known = places(work, DRAWING, side).get(figure)
    if known is None or not value.strip() or len(value) > LONGEST:
        raise FileError("value", "a figure is wanted", "choose which, and type what it is to be")
    place = ("repair", name, side, *known.place)
    told = f"{name}: {layers_of(engine)[side]}, {known.words} {value.strip()}"
    return work.change_figure(place, as_typed(value), told, seen, known.name)
