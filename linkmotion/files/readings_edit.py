"""One figure of a readings file written anew in its text: remarks and all other rows stay as they are."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from linkmotion.files.figure_edit import GONE, typed
from linkmotion.files.source import BOM
from linkmotion.sides import SIDE_NAMES

BOXES = ("front", "back", "reads")
BLANK = "?"


@dataclass(frozen=True)
class RowPlace:
    """A row of a readings file, by what it says.

    Attributes
    ----------
    side, notch, kind : str
        As written.
    direction : str
        "" where the row has none.
    at : float or None
        Crank angle, where it has one.
    number : int
        Which of the rows that say all this, from 0.
    """

    side: str
    notch: str
    kind: str
    direction: str = ""
    at: float | None = None
    number: int = 0


def placed_rows(document: Mapping[str, Any], side: str) -> Iterator[tuple[RowPlace, Mapping[str, Any]]]:
    """The rows of a side, each with its place; what is no row is passed over.

    Parameters
    ----------
    document, side : mapping, str
        The file's tables; "left" or "right".
    """
    table = document.get(side)
    rows = table.get("readings") if isinstance(table, Mapping) else None
    seen: dict[RowPlace, int] = {}
    for row in rows if isinstance(rows, list) else ():
        if isinstance(row, Mapping):
            own = _place(row, side)
            number = seen[own] = seen.get(own, -1) + 1
            yield RowPlace(**asdict(own) | {"number": number}), row


def _place(row: Mapping[str, Any], side: str) -> RowPlace:
    at = row.get("at")
    angle = float(at) if isinstance(at, int | float) and not isinstance(at, bool) else None
    notch, kind, direction = (str(row.get(key, "")) for key in ("notch", "kind", "direction"))
    return RowPlace(side, notch, kind, direction, angle)


def reading_at(document: Mapping[str, Any], place: RowPlace, box: str) -> Any:
    """What stands in a box of a row, as written; None where nothing does."""
    row = next((row for own, row in placed_rows(document, place.side) if own == place), None)
    return None if row is None else row.get(box)


def with_reading(text: str, place: RowPlace, box: str, value: Any) -> str:
    """The text with one box of a row written anew; a row with nothing in it goes, one that is not there comes.

    Parameters
    ----------
    text, place : str, RowPlace
        TOML; which row.
    box, value
        "front", "back" or "reads"; as a fitter writes it, or :data:`GONE`.

    Raises
    ------
    ValueError
        The file is laid out so that more than this would change.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    before = tomllib.loads(text.lstrip(BOM))
    rows = [own for own, _row in placed_rows(before, place.side)]
    try:
        document: Any = tomlkit.parse(text)
        if place in rows:
            _write(document[place.side]["readings"], rows.index(place), box, value)
        elif value is not GONE:
            _add(document, place, box, value)
        written = tomlkit.dumps(document)
    except (TOMLKitError, AttributeError, TypeError, KeyError, IndexError):
        raise ValueError("this file is laid out so that a row cannot be written here: write it in by hand") from None
    _see_alone(before, written, place, box, value)
    return written


def without_blanks(text: str) -> str:
    """The text without what was not read: every "?" goes, and every row with nothing else in it.

    Parameters
    ----------
    text : str
        TOML, such as ``linkmotion form`` writes.

    Raises
    ------
    ValueError
        The file is laid out so that more than this would change.
    """
    import tomlkit

    document: Any = tomlkit.parse(text)
    for table in (document.get("readings"), document.get("tram")):
        for key in [key for key, value in (table or {}).items() if value == BLANK]:
            del table[key]
    for side in SIDE_NAMES:
        rows = (document.get(side) or {}).get("readings", [])
        for number in reversed(range(len(rows))):
            for box in [box for box in BOXES if rows[number].get(box) == BLANK]:
                _write(rows, number, box, GONE)
    pairs = document.get("pair", [])
    for number in reversed(range(len(pairs))):
        if BLANK in pairs[number].get("marks", []):
            del pairs[number]
    if "pair" in document and not pairs:
        del document["pair"]
    return tomlkit.dumps(document)


def _write(rows: Any, number: int, box: str, value: Any) -> None:
    row = rows[number]
    if value is not GONE:
        row[box] = value
        return
    if box in row:
        del row[box]
    if not any(own in row for own in BOXES):
        del rows[number]


def _add(document: Any, place: RowPlace, box: str, value: Any) -> None:
    import tomlkit

    if place.side not in document:
        document[place.side] = tomlkit.table()
    table = document[place.side]
    if "readings" not in table or not len(table["readings"]):
        table["readings"] = tomlkit.parse("x = [\n]")["x"]
    told = {"notch": place.notch, "kind": place.kind, "direction": place.direction, "at": place.at, box: value}
    row = typed({key: own for key, own in told.items() if own not in ("", None)})
    table["readings"].add_line(tomlkit.parse(f"x = {row}")["x"])


def _see_alone(before: Mapping[str, Any], written: str, place: RowPlace, box: str, value: Any) -> None:
    """See that nothing but the one box differs."""
    try:
        after = tomllib.loads(written.lstrip(BOM))
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"this cannot stand in a readings file ({error})") from None
    then, now = (_boxes(document) for document in (before, after))
    key = (place, box)
    found = now.pop(key, None)
    then.pop(key, None)
    heads = [{name: own for name, own in document.items() if name not in SIDE_NAMES} for document in (before, after)]
    if then != now or heads[0] != heads[1] or (found is not None if value is GONE else found != value):
        raise ValueError("this file is laid out so that other readings would change too: write it in by hand")


def _boxes(document: Mapping[str, Any]) -> dict[Any, Any]:
    """Everything that rows of readings say, by row and key."""
    return {
        (place, key): value
        for side in SIDE_NAMES
        for place, row in placed_rows(document, side)
        for key, value in row.items()
        if key in (*BOXES, "within", "turned")
    }
