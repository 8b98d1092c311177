"""Rows of a list in an engine file written anew in its text: rows that stay keep their lines, with their comments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any

from linkmotion.files.figure_edit import GONE, Place, figure_at, read_tables, see_alone, typed
from linkmotion.files.lines_edit import with_figure

Row = Mapping[str, Any]


def with_rows(text: str, place: Place, rows: Sequence[Row]) -> str:
    """The text with the rows of a list written anew, one on a line; without any the key is taken out.

    Parameters
    ----------
    text : str
        TOML.
    place : tuple of str
        Tables and key, such as ``("state", "as found", "left", "wear", "slot")``.
    rows : sequence of dict
        Key to figure as a user would write it.

    Raises
    ------
    ValueError
        The file is laid out so that more than these rows would change.
    """
    wanted, stands = [dict(row) for row in rows], figure_at(read_tables(text), place)
    if stands == wanted or (stands is None and not wanted):
        return text
    if not wanted:
        return with_figure(text, place, GONE)
    if not isinstance(stands, list) or not all(isinstance(row, Mapping) for row in stands):
        return _one_on_a_line(with_figure(text, place, wanted), place)
    written = _changed(text, place, stands, wanted)
    see_alone(text, written, place, wanted)
    return written


def _one_on_a_line(text: str, place: Place) -> str:
    import tomlkit

    document: Any = tomlkit.parse(text)
    _found(document, place).multiline(True)
    return tomlkit.dumps(document)


def _changed(text: str, place: Place, stands: list[Row], wanted: list[dict[str, Any]]) -> str:
    """The text with those rows changed, put in or taken out that differ."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document: Any = tomlkit.parse(text)
        array = _found(document, place)
        before, after = ([typed(row) for row in own] for own in (stands, wanted))
        steps = SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
        for kind, first, last, new, end in reversed(steps):
            if kind == "equal":
                continue
            made = [tomlkit.parse(f"x = {own}")["x"] for own in after[new:end]]
            shared = min(last - first, len(made))
            for number in range(shared):
                array[first + number] = made[number]
            for number in reversed(range(first + shared, last)):
                del array[number]
            for number, own in enumerate(made[shared:], first + shared):
                array.insert(number, own)
        return tomlkit.dumps(document)
    except (TOMLKitError, AttributeError, TypeError, KeyError):
        raise ValueError("this file is laid out so that this cannot be written here: write it in by hand") from None


def _found(document: Any, place: Place) -> Any:
    for step in place:
        document = document[step]
    return document
