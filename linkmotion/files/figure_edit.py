"""Figures of an engine file's text: found, as typed and as TOML has them; that one alone was written anew."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from functools import lru_cache
from math import isfinite
from typing import Any

from linkmotion.files.source import BOM

Place = tuple[str, ...]
_DIE = re.compile(r"die\s+(?:at\s+)?(?P<height>[-+−.\d].*)", re.IGNORECASE)
GONE = object()  # in place of a value: the key is taken out


def see_alone(old: str, new: str, place: Place, value: Any) -> None:
    """See that nothing but the one key differs between two texts.

    Parameters
    ----------
    old, new : str
        TOML, before and after.
    place, value
        As for :func:`linkmotion.files.lines_edit.with_figure`.

    Raises
    ------
    ValueError
        Something else differs too, or the key is not what it was to be.
    """
    try:
        before, after = leaves(read_tables(old)), leaves(read_tables(new))
    except tomllib.TOMLDecodeError:
        raise ValueError("this cannot stand in the file") from None
    wanted = {own: found for own, found in before.items() if own[: len(place)] != place}
    others = {own: found for own, found in after.items() if own[: len(place)] != place}
    found = figure_at(read_tables(new), place)
    if wanted != others or (found is not None if value is GONE else found != value):
        raise ValueError("this file is laid out so that other figures would change too: write it in by hand")


@lru_cache(maxsize=4)
def read_tables(text: str) -> Mapping[str, Any]:
    """A text's tables, not to be changed: the same text is read once (TOMLDecodeError where it is no TOML)."""
    return tomllib.loads(text.lstrip(BOM))


def leaves(tables: Mapping[str, Any], place: Place = ()) -> dict[Place, Any]:
    """Every figure of a file by its place; an empty table is one too."""
    found: dict[Place, Any] = {}
    for key, value in tables.items():
        if isinstance(value, Mapping) and value:
            found |= leaves(value, (*place, key))
        elif not isinstance(value, Mapping):
            found[*place, key] = value
    return found


def figure_at(tables: Mapping[str, Any], place: Sequence[str]) -> Any:
    """What stands at a place of a file as read, or None."""
    found: Any = tables
    for step in place:
        if not isinstance(found, Mapping) or step not in found:
            return None
        found = found[step]
    return found


def as_typed(text: str) -> Any:
    """A figure as it was typed, as it is to stand in the file.

    A plain number stays one; takings stand apart by semicolons; a notch may be where the die stands; what is written as
    TOML has it (``[ … ]``, ``{ … }``, in quotes) is taken so; everything else is text that the file's reader knows.

    >>> as_typed("31.5"), as_typed(" 31 9/16 in "), as_typed('"680 mm - 400 mm"'), as_typed("[ 1, 2 ]")
    (31.5, '31 9/16 in', '680 mm - 400 mm', [1, 2])
    >>> as_typed("769 mm; 770.2 mm"), as_typed("3.1; 3.2")
    (['769 mm', '770.2 mm'], [3.1, 3.2])
    >>> as_typed("die at -7/8 in"), as_typed("die 0")
    ({'die': '-7/8 in'}, {'die': 0})
    """
    text = text.strip()
    die = _DIE.fullmatch(text)
    if die is not None:
        return {"die": as_typed(die["height"])}
    if ";" in text and text[0] not in '[{"':
        return [as_typed(own) for own in text.split(";")]
    if text[:1] in ("[", "{", '"') and "\n" not in text:
        try:
            read = tomllib.loads(f"x = {text}")
        except (tomllib.TOMLDecodeError, RecursionError):
            return text
        if set(read) == {"x"}:
            return read["x"]
    try:
        number = float(text)
    except ValueError:
        return text
    if not isfinite(number):
        return text
    if number.is_integer() and abs(number) < 1e9:
        return int(number)
    return number


def typed(value: Any) -> str:
    """A figure of a file as a user would type it.

    >>> typed("31 9/16 in"), typed(83.5), typed({"die": "-7/8 in"}), typed(["769 mm", 770])
    ('31 9/16 in', '83.5', 'die -7/8 in', '769 mm; 770')
    """
    if isinstance(value, Mapping) and set(value) == {"die"}:
        return f"die {typed(value['die'])}"
    if isinstance(value, list) and len(value) > 1 and all(isinstance(own, str | int | float) for own in value):
        told = "; ".join(map(typed, value))
        return told if as_typed(told) == value else as_toml(value)
    return value if isinstance(value, str) else "" if value is None else as_toml(value)


def head_of(table: Sequence[str]) -> str:
    r"""The head of a table as it is written.

    >>> print(head_of(("repair", "key the 4\" crank")))
    [repair."key the 4\" crank"]
    """
    return f"[{'.'.join(map(key_as_toml, table))}]"


def key_as_toml(key: str) -> str:
    """A key as TOML has it: bare, or in quotes."""
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else as_toml(key)


def as_toml(value: Any) -> str:
    """A value as TOML has it, on one line."""
    match value:
        case bool():
            return str(value).lower()
        case str():
            return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
        case Mapping():
            rows = ", ".join(f"{key_as_toml(key)} = {as_toml(own)}" for key, own in value.items())
            return f"{{ {rows} }}" if rows else "{}"
        case list():
            return "[ " + ", ".join(map(as_toml, value)) + " ]"
    return f"{value:.15g}" if isinstance(value, float) else str(value)
