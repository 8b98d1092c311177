"""Which parts of a side are not as drawn, in words that can stand at them in the drawing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from linkmotion.elevation.side_elevation import Elevation
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.lengths import format_length
from linkmotion.gears import Gear
from linkmotion.gears.sensitivity import Key, declared, numbers
from linkmotion.studies.figures.dimensions import CENTRAL

LINK = "link"  # kind of the body that has the slot


def parts_off(engine: Engine, state: str, side: str, elevation: Elevation) -> dict[str, str]:
    """Bodies of the drawing that are off, each with what is to be said of it.

    Parameters
    ----------
    engine, state, side : Engine, str, str
        Which.
    elevation : Elevation
        The side as it is drawn. What no body of it shows (a clearance at a pin, an axle off its height) is left out.
    """
    told: dict[str, list[str]] = {}
    for name, words in _everything(engine, state, side, elevation):
        told.setdefault(name, []).append(words)
    return {name: ", ".join(words) for name, words in told.items()}


def _everything(engine: Engine, state: str, side: str, elevation: Elevation) -> Iterator[tuple[str, str]]:
    drawn, found = engine.side_state(DRAWING, side), engine.side_state(state, side)
    bodies = {body.name: body.kind for body in elevation.bodies if body.spine}
    before, now = numbers(drawn.gear), numbers(found.gear)
    for key in now:
        if key in before and before[key] != now[key] and key != CENTRAL and (name := body_of(key, found.gear, bodies)):
            yield name, _change(key, found.gear, float(now[key] - before[key]), engine.unit)
    for item, _alone in found.condition.cold.items():
        if "slot" in item.split():
            yield from ((name, item) for name, kind in bodies.items() if kind == LINK)
        elif (name := _named_in(item, bodies)) and not item.startswith("clearance"):
            yield name, item.replace(name, "").strip(" ,")


def body_of(key: Key, gear: Gear, bodies: Mapping[str, str]) -> str:
    """The body that a dimension belongs to, or "".

    Parameters
    ----------
    key, gear, bodies : (str, str), Gear, dict of str
        Table and key; whose; the kinds of the drawing's bodies by their names.
    """
    said = declared(gear, key)
    for mark in ("rod", "slips"):
        if (name := said.get(mark)) in bodies:
            return str(name)
    if said.get("pin") or said.get("slot"):
        return next((name for name, kind in bodies.items() if kind == LINK), "")
    return _named_in(said["meaning"], bodies) or _named_in(key[0].replace("_", " "), bodies)


def _named_in(words: str, bodies: Mapping[str, str]) -> str:
    """The longest name of a body that stands in some words, or ""."""
    return max((name for name in bodies if name in words), key=len, default="")


def _change(key: Key, gear: Gear, change: float, unit: str) -> str:
    said = declared(gear, key)
    size = f"{abs(change):.2f}°" if said["kind"] == "angle" else format_length(abs(change), unit)
    if said.get("rod"):
        return f"{size} {'long' if change > 0 else 'short'}"
    return f"{key[1].replace('_', ' ')} {'+' if change > 0 else '−'}{size}"
