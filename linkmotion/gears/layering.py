"""Figures of a table laid over others, as the layers of an engine file say them, and the table made of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, fields
from functools import cache
from typing import Any, get_type_hints


def small_tables(table: type[Any]) -> dict[str, type[Any]]:
    """Small tables held by keys of a table, such as the rocker by the valve.

    Parameters
    ----------
    table : type
        The table's dataclass.
    """
    return {key.name: key.metadata["table"] for key in fields(table) if key.metadata["kind"] == "table"}


def made(table: type[Any], values: Mapping[str, Any]) -> Any:
    """A table of the dimension book from its figures, with the small tables it holds.

    Parameters
    ----------
    table : type
        The table's dataclass, such as ``Valve``.
    values : mapping
        Key to figure, mm and degrees; a small table is a mapping of its own.

    Raises
    ------
    MissingFigure
        A small table lacks a figure.
    """
    own = dict(values)
    for key, inner in small_tables(table).items():
        if key in own:
            lacking = [k.name for k in fields(inner) if k.default is MISSING and k.name not in own[key]]
            if lacking:
                raise MissingFigure(f"{key}.{lacking[0]}")
            own[key] = inner(**own[key])
    return table(**own)


class MissingFigure(ValueError):
    """A figure that a table needs is not given; the message is its key."""


def layered(below: Mapping[str, Any], above: Mapping[str, Any], table: type[Any]) -> dict[str, Any]:
    """Keys laid over others.

    Where the upper layer gives all of some keys, those they stand instead of go (the table's
    ``INSTEAD``); small tables and notches are laid over key by key.

    Parameters
    ----------
    below, above : mapping
        Key to figure of one table.
    table : type
        That table's dataclass.

    Examples
    --------
    >>> from linkmotion.gears.book import Valve
    >>> layered({"steam_lap": 25.0, "central_at": 900.0}, {"set_by": "equal lead", "set_in": {}}, Valve)
    {'steam_lap': 25.0, 'set_by': 'equal lead', 'set_in': {}}
    """
    merged = dict(below)
    for given, gone in getattr(table, "INSTEAD", ()):
        if all(key in above for key in given):
            merged = {key: value for key, value in merged.items() if key not in gone}
    nested = {*small_tables(table), *(key.name for key in fields(table) if key.metadata["kind"] == "notches")}
    for key in nested:
        if key in above and key in merged:
            above = {**above, key: {**merged[key], **above[key]}}
    return merged | dict(above)


@cache
def tables_of(gear_type: type[Any]) -> dict[str, Any]:
    """The types of a gear's tables by name; asked for at every layer of every state."""
    return get_type_hints(gear_type)


def table_type(gear_type: type[Any], table: str) -> type[Any]:
    """The type of one table of a gear.

    Parameters
    ----------
    gear_type, table : type, str
        Of a kind of gear; as in an engine file.
    """
    return tables_of(gear_type)[table]  # type: ignore[no-any-return, arg-type]
