"""One figure of an engine file written anew in its text: comments and all else stay as they are."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from linkmotion.files.lines import key_lines
from linkmotion.files.source import BOM

Place = tuple[str, ...]
GONE = object()  # in place of a value: the key is taken out
_FIGURE = re.compile(
    r"""(?P<key>\s*[\w"' .-]+=\s*)(?:"(?:[^"\\]|\\.)*"|'[^']*'|[^\s"'\[{\#][^"'\[{\#]*?)(?P<rest>\s*(?:\#.*)?)"""
)
"""A line with one key and one plain value: a number, a word or a short text; and its comment."""


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
    written = _on_its_line(text, tuple(place), value) or _in_its_table(text, tuple(place), value)
    see_alone(text, written, tuple(place), value)
    return written


def _on_its_line(text: str, place: Place, value: Any) -> str | None:
    """The text with the figure written on its own line, if that is where one stands; None else.

    Most figures stand so, and to write one there takes a tenth of the time of taking the whole text apart.
    """
    number = key_lines(text).get(place)
    if number is None or value is GONE or isinstance(figure_at(read_tables(text), place), Mapping):
        return None
    lines = text.split("\n")
    found = _FIGURE.fullmatch(lines[number - 1])
    if found is None:
        return None
    made = found["key"] + _toml(value)
    if found["rest"].strip():  # a comment, which stays in its column where there is room
        made = made.ljust(found.start("rest") + len(found["rest"]) - len(found["rest"].lstrip()) - 1) + " "
    lines[number - 1] = made + found["rest"].lstrip(" \t") if found["rest"].strip() else made + found["rest"]
    return "\n".join(lines)


def _in_its_table(text: str, place: Place, value: Any) -> str:
    """The text with the figure put into its table, which is made if need be, or taken out of it."""
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
        return tomlkit.dumps(document)
    except (TOMLKitError, AttributeError, TypeError) as error:
        raise ValueError(f"this file is laid out so that {'.'.join(place)} cannot be written here ({error})") from None


def see_alone(old: str, new: str, place: Place, value: Any) -> None:
    """See that nothing but the one key differs between two texts.

    Parameters
    ----------
    old, new : str
        TOML, before and after.
    place, value
        As for :func:`with_figure`.

    Raises
    ------
    ValueError
        Something else differs too, or the key is not what it was to be.
    """
    try:
        before, after = leaves(read_tables(old)), leaves(read_tables(new))
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"this cannot stand in an engine file ({error})") from None
    wanted = {own: found for own, found in before.items() if own[: len(place)] != place}
    others = {own: found for own, found in after.items() if own[: len(place)] != place}
    found = figure_at(read_tables(new), place)
    if wanted != others or (found is not None if value is GONE else found != value):
        words = "this file is laid out so that other figures would change too"
        raise ValueError(f"{words}: write {'.'.join(place)} into it by hand")


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
    ('31 9/16 in', '83.5', '{ die = "-7/8 in" }', '[ "769 mm", "770 mm" ]')
    """
    return value if isinstance(value, str) else "" if value is None else _toml(value)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _toml(key)


def _toml(value: Any) -> str:
    match value:
        case bool():
            return str(value).lower()
        case str():
            return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
        case Mapping():
            return "{ " + ", ".join(f"{_key(key)} = {_toml(own)}" for key, own in value.items()) + " }"
        case list():
            return "[ " + ", ".join(map(_toml, value)) + " ]"
    return f"{value:.15g}" if isinstance(value, float) else str(value)
