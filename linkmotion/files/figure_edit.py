"""One figure of an engine file written anew in its text: comments and all else stay as they are."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

Place = tuple[str, ...]
GONE = object()  # in place of a value: the key is taken out


def with_figure(text: str, place: Sequence[str], value: Any) -> str:
    """The text with one key written anew, or taken out.

    Parameters
    ----------
    text : str
        TOML.
    place : sequence of str
        Tables and key, such as ``("state", "as found", "left", "radius_rod", "length")``.
    value
        As a user would write it: a number in the file's unit, ``"1 5/16 in"``, a list or a dict; :data:`GONE` takes
        the key out.

    Raises
    ------
    ValueError
        The file is laid out so that more than this key would change.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document: Any = tomlkit.parse(text)
        where = document
        *tables, name = place
        for number, step in enumerate(tables, 1):
            if step not in where:
                if value is GONE:
                    return text
                where[step] = tomlkit.table(is_super_table=number < len(tables))
            where = where[step]
        if value is not GONE:
            where[name] = tomlkit.parse(f"x = {_toml(value)}")["x"] if isinstance(value, dict | list) else value
        elif name in where:
            del where[name]
        written = tomlkit.dumps(document)
    except (TOMLKitError, AttributeError, TypeError) as error:
        raise ValueError(f"this file is laid out so that {'.'.join(place)} cannot be written here ({error})") from None
    _see_alone(text, written, tuple(place), value)
    return written


def _see_alone(old: str, new: str, place: Place, value: Any) -> None:
    """See that nothing but the one key differs between two texts."""
    try:
        before, after = (leaves(tomllib.loads(text)) for text in (old, new))
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"this cannot stand in an engine file ({error})") from None
    wanted = {own: found for own, found in before.items() if own[: len(place)] != place}
    others = {own: found for own, found in after.items() if own[: len(place)] != place}
    if wanted != others or (value is GONE) == any(own[: len(place)] == place for own in after):
        words = "this file is laid out so that other figures would change too"
        raise ValueError(f"{words}: write {'.'.join(place)} into it by hand")


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

    A plain number stays one; what is written as TOML has it (``[ … ]``, ``{ … }``, in quotes) is taken so; everything
    else is text that the file's reader knows.

    >>> as_typed("31.5"), as_typed(" 31 9/16 in "), as_typed('"680 mm - 400 mm"'), as_typed("[ 1, 2 ]")
    (31.5, '31 9/16 in', '680 mm - 400 mm', [1, 2])
    """
    text = text.strip()
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
    if number.is_integer() and abs(number) < 1e9:
        return int(number)
    return number


def typed(value: Any) -> str:
    """A figure of a file as a user would type it.

    >>> typed("31 9/16 in"), typed(83.5), typed({"die": "-7/8 in"}), typed(["769 mm", "770 mm"])
    ('31 9/16 in', '83.5', '{ "die" = "-7/8 in" }', '[ "769 mm", "770 mm" ]')
    """
    return value if isinstance(value, str) else "" if value is None else _toml(value)


def _toml(value: Any) -> str:
    match value:
        case bool():
            return str(value).lower()
        case str():
            return json.dumps(value, ensure_ascii=False)
        case Mapping():
            return "{ " + ", ".join(f"{_toml(key)} = {_toml(own)}" for key, own in value.items()) + " }"
        case list():
            return "[ " + ", ".join(map(_toml, value)) + " ]"
    return f"{value:.15g}" if isinstance(value, float) else str(value)
