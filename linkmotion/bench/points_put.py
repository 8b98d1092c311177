"""Points as they are put on a picture on the bench: what can be put, what stands in the file, and one entry made."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import LONGEST
from linkmotion.bench.kept_file import KeptFile
from linkmotion.commands.input import telling
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, as_typed, read_tables, typed
from linkmotion.files.journal import Change
from linkmotion.files.lines_edit import with_figure
from linkmotion.files.picks_edit import with_known, with_takings, without_known
from linkmotion.files.picks_file import MOST, PicksReader
from linkmotion.files.source import BOM, Source
from linkmotion.gears.sensitivity import Key, declared, numbers
from linkmotion.studies.assess import assess_side
from linkmotion.studies.picked_parts import SLOT_POINT, PickedParts
from linkmotion.studies.side_drawing import elevation_of

FORMS: dict[str, tuple[str, ...]] = {
    "between": ("a", "b", "length"), "level": ("a", "b", "within"), "upright": ("a", "b", "within"),
    "point": ("a", "x", "y"), "rectangle": ("a", "b", "c", "d", "within"), "dimension": ("dimension", "figure"),
}  # fmt: skip
"""What can be known, and what is said of it."""
SAID = {
    "kind": "The picture is a",
    "within": "A point is put within, pixels",
    "line": "Width of the drawn lines, pixels",
    "paper": "The paper may have shrunk unevenly by, %",
    "side": "The figures are of",
}
"""What is said of the picture as a whole, in words."""
CHOSEN = ("kind", "side")
"""What of it is chosen, not typed."""
_NAME = re.compile(r"[^\n\r\t]{1,60}")
_TAKINGS = 9


@dataclass(frozen=True)
class PutPoint:
    """A point that can be put: its name, its takings (pixels from the left, from the top), and whether it is a pin."""

    name: str
    takings: tuple[tuple[float, float], ...]
    of_gear: bool = True


def told_of_gear(work: EngineAtWork, like: str) -> tuple[list[str], dict[Key, str]]:
    """Pins of the gear that can be put, and its figures with their kinds."""

    def made() -> tuple[list[str], dict[Key, str]]:
        engine = work.must()
        with telling(engine, work.path):
            side = assess_side(engine.side_state(like))
            pins = PickedParts(elevation_of(side, engine), ()).nameable()
        return pins, {key: str(declared(side.gear, key)["kind"]) for key in numbers(side.gear)}

    return work.once(("pins on a picture", like), made)


def points(tables: Mapping[str, Any], pins: list[str]) -> list[PutPoint]:
    """Every point that can be put, as it stands: pins of the gear first, then marks by which something is known."""
    given = tables.get("points")
    given = given if isinstance(given, Mapping) else {}
    named = dict.fromkeys([*pins, *given, *(name for row in _rows(tables) for name in _names(row))])
    return [
        PutPoint(name, tuple(_takings(given.get(name))), name in pins or bool(SLOT_POINT.fullmatch(name)))
        for name in named
    ]


def _takings(value: Any) -> Iterator[tuple[float, float]]:
    if not isinstance(value, list) or not value:
        return
    for each in value if isinstance(value[0], list) else [value]:
        if isinstance(each, list) and len(each) == 2 and all(isinstance(n, int | float) for n in each):
            yield float(each[0]), float(each[1])


def _rows(tables: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    rows = tables.get("known", [])
    return [row for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []


def _names(row: Mapping[str, Any]) -> list[str]:
    given: Any = next((row[form] for form in FORMS if form in row and form != "dimension"), [])
    given = [given] if isinstance(given, str) else given
    return [name for name in given if isinstance(name, str)] if isinstance(given, list) else []


def known(tables: Mapping[str, Any]) -> list[str]:
    """What is known, each in words."""
    return [_words(row) for row in _rows(tables)]


def _words(row: Mapping[str, Any]) -> str:
    names = _names(row)
    within = f", within {row['within']}°" if "within" in row else ""
    match next((form for form in FORMS if form in row), ""):
        case "between":
            return f"{' to '.join(names)}: {typed(row.get('length', ''))}"
        case "level":
            return f"{' to '.join(names)}: level{within}"
        case "upright":
            return f"{' to '.join(names)}: upright{within}"
        case "point":
            return f"{', '.join(names)}: {typed(row.get('x', ''))} ahead, {typed(row.get('y', ''))} up"
        case "rectangle":
            return f"{', '.join(names)}: a rectangle, standing level{within}"
        case "dimension":
            return f"{row['dimension']}: {typed(row.get('figure', ''))}"
    return "not understood"


def wanting(tables: Mapping[str, Any], pins: list[str]) -> list[str]:
    """Names of points by which something is known, and that are still to be put."""
    put = {own.name for own in points(tables, pins) if own.takings}
    return list(dict.fromkeys(name for row in _rows(tables) for name in _names(row) if name not in put))


def enter_point(kept: KeptFile, wish: Mapping[str, Any], size: tuple[int, int]) -> Change | None:
    """Put a point, put it otherwise, or take it out.

    Parameters
    ----------
    kept : KeptFile
        The points file.
    wish : mapping
        ``name``, ``takings`` (a list of [from the left, from the top], pixels) and ``seen``.
    size : (int, int)
        Pixels of the image, across and down.

    Raises
    ------
    FileError
        It cannot be so, or it was put elsewhere since; nothing is written.
    """
    match wish:
        case {"name": str(name), "takings": list(given), "seen": int(seen)} if len(given) <= _TAKINGS:
            takings = [_one(each, size) for each in given]
        case _:
            raise FileError("point", "this cannot be understood", "load the page anew")
    _see_name(name)

    def made(text: str) -> str:
        there = read_tables(text).get("points", {})
        if name not in there and len(there) >= MOST:
            raise FileError(name, f"there are {MOST} points already", "keep those that tell most")
        return with_takings(text, name, takings)

    words = " and ".join(f"{u:g}, {v:g}" for u, v in takings) or "taken out"
    return _changed(kept, made, f"{name}: {words}", seen, ("points", name))


def _one(given: Any, size: tuple[int, int]) -> tuple[float, float]:
    match given:
        case [int() | float() as u, int() | float() as v] if math.isfinite(u) and math.isfinite(v):
            if 0 <= u <= size[0] and 0 <= v <= size[1]:
                return round(float(u), 1), round(float(v), 1)
            raise FileError("point", "this lies beside the picture", "put it on the picture")
    raise FileError("point", "this is no place on the picture", "give pixels from the left and from the top")


def _see_name(name: str) -> None:
    if not _NAME.fullmatch(name) or not name.isprintable() or name.strip() != name:
        raise FileError("point", "this cannot be a point's name", "give it plain words, such as: tread, front")


def _changed(kept: KeptFile, made: Callable[[str], str], words: str, seen: int, *places: Any) -> Change | None:
    def safely(text: str) -> str:
        try:
            return made(text)
        except ValueError as error:
            if isinstance(error, FileError):
                raise
            raise FileError(kept.path.name, str(error), "nothing was changed") from None

    return kept.change(safely, words, seen, places)


def enter_known(work: EngineAtWork, kept: KeptFile, wish: Mapping[str, Any], like: str) -> Change | None:
    """Add something that is known; its points may still have to be put.

    Raises
    ------
    FileError
        It cannot be so; nothing is written.
    """
    form = wish.get("form")
    if form not in FORMS or not all(isinstance(wish.get(key, ""), str) for key in FORMS[form]):
        raise FileError("known", "this cannot be understood", "load the page anew")
    said = {key: " ".join(str(wish.get(key, "")).split())[:LONGEST] for key in FORMS[form]}
    names = [said[key] for key in "abcd" if key in said]
    for name in names:
        _see_name(name)
    row: dict[str, Any] = {form: names[0] if form == "point" else names} if names else {form: said["dimension"]}
    for key in ("length", "x", "y", "figure", "within"):
        if said.get(key):
            row[key] = as_typed(said[key])

    def made(text: str) -> str:
        if len(_rows(read_tables(text))) >= MOST:
            raise FileError("known", f"{MOST} things are known already", "keep those that tell most")
        new = with_known(text, row)
        _see_row(work, kept.path, row, like)
        return new

    return _changed(kept, made, f"known: {_words(row)}", kept.version)


def _see_row(work: EngineAtWork, path: Path, row: Mapping[str, Any], like: str) -> None:
    """Refuse what no points file may say of what is known, as if its points had been put."""
    import tomlkit

    pins, keys = told_of_gear(work, like)
    names = _names(row) or pins[:1]
    picture = read_tables(path.read_text("utf-8").lstrip(BOM)).get("picture", {})
    own = {"picture": {"file": picture.get("file", "")}, "known": [dict(row)], "points": {n: [1, 1] for n in names}}
    try:
        PicksReader(Source(tomlkit.dumps(own), path.name), path, work.must(), pins, keys).picks()
    except FileError as error:
        raise FileError("known", error.problem, error.remedy, plain=error.plain) from None


def forget(kept: KeptFile, number: int, seen: int) -> Change | None:
    """Take out something that was known."""
    there = known(read_tables(kept.text))
    words = there[number] if 0 <= number < len(there) else "?"
    return _changed(kept, lambda text: without_known(text, number), f"no longer known: {words}", seen, ("known",))


def enter_said(work: EngineAtWork, kept: KeptFile, wish: Mapping[str, Any], like: str) -> Change | None:
    """Write what is said of the picture as a whole.

    Raises
    ------
    FileError
        It cannot be so; nothing is written.
    """
    import tomlkit

    match wish:
        case {"name": str(name), "value": str(written), "seen": int(seen)} if name in SAID and len(written) <= LONGEST:
            pass
        case _:
            raise FileError("picture", "this cannot be understood", "load the page anew")
    value = as_typed(written) if written.strip() and name not in CHOSEN else written.strip() or GONE
    pins, keys = told_of_gear(work, like)

    def made(text: str) -> str:
        new = with_figure(text, ("picture", name), value)
        own = {"picture": read_tables(new)["picture"], "points": {pins[0]: [1, 1]}}
        PicksReader(Source(tomlkit.dumps(own), kept.path.name), kept.path, work.must(), pins, keys).picks()
        return new

    return _changed(kept, made, f"{SAID[name]}: {written.strip() or 'taken out'}", seen, ("picture", name))
