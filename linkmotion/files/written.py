"""The figures of an engine file as the user wrote them, each under its path: what a history tells and a seal keeps."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from datetime import date, datetime, time
from typing import Any

from linkmotion.engine import DRAWING, Engine
from linkmotion.files.record_keys import RECORD_KEYS
from linkmotion.files.source import Source, Where, dotted
from linkmotion.gears.layering import small_tables, table_types
from linkmotion.sides import BOTH, SIDE_NAMES

_NAMES = ("notches", "clearance", "bow", "bent", "angle_slip", "heat")  # tables of names, each with its figure


def written_figures(engine: Engine) -> dict[Where, str]:
    """Every figure by its path, as a user reads it: ``31 9/16 in``; records are left out.

    Parameters
    ----------
    engine : Engine
        As read.

    Examples
    --------
    >>> from linkmotion.files.engine_file import read_engine
    >>> figures = written_figures(read_engine("examples/dock_shunter.toml"))
    >>> figures["state", "as found", "right", "eccentric_rod", "length"], figures["reversing", "notches", "mid"]
    ('31 9/16 in', '{ die = 0 }')
    """
    inner = {name: tuple(small_tables(kind)) for name, kind in table_types(engine.gear_type).items()}
    document = Source(engine.text, engine.name).document() if engine.text else {}
    return dict(_figures(document, (), inner))


def _figures(
    tables: Mapping[str, Any], where: Where, inner: Mapping[str, tuple[str, ...]]
) -> Iterator[tuple[Where, str]]:
    for name, own in tables.items():
        if name in ("state", "repair") and not where and isinstance(own, dict):
            for state, layers in own.items():
                yield from _figures(layers, (name, state), inner)
        elif name == DRAWING and not where and isinstance(own, dict):
            for side, layer in own.items():
                yield from _figures(layer, (name, side), inner)
        elif name in (BOTH, *SIDE_NAMES) and len(where) == 2 and isinstance(own, dict):
            yield from _figures(own, (*where, name), inner)
        elif isinstance(own, dict):
            yield from _of_table(own, (*where, name), inner.get(name, ()))
        elif name not in (*RECORD_KEYS, "based_on", "set_afresh"):
            yield (*where, name), as_read(own)


def _of_table(table: Mapping[str, Any], where: Where, inner: tuple[str, ...]) -> Iterator[tuple[Where, str]]:
    for key, value in table.items():
        if isinstance(value, dict) and (key in _NAMES or key in inner):
            yield from _of_table(value, (*where, key), ())
        elif key == "slot" and isinstance(value, list) and value:
            yield (*where, key), "; ".join(_slot_reading(row) for row in value)
        elif key not in RECORD_KEYS:
            yield (*where, key), as_read(value)


def _slot_reading(row: Any) -> str:
    """What was read at one place of a slot, in words."""
    own = dict(row)
    read = ", ".join(f"{face} {as_read(depth)}" for face, depth in own.items() if face != "at")
    return f"at {as_read(own.get('at', 0))}: {read}"


def every_leaf(value: Any, where: Where = ()) -> Iterator[tuple[Where, Any]]:
    """Everything that a table holds, lists and small tables to their ends, records too.

    Parameters
    ----------
    value, where : object, tuple of str
        As read; the path that stands before.

    Examples
    --------
    >>> dict(every_leaf({"wear": {"slot": [{"at": 0}]}, "note": "worn"}))
    {('wear', 'slot', '0', 'at'): 0, ('note',): 'worn'}
    """
    if isinstance(value, dict | list):
        entries = value.items() if isinstance(value, dict) else enumerate(value)
        for key, each in entries:
            yield from every_leaf(each, (*where, str(key)))
    else:
        yield where, value


def as_read(value: Any) -> str:
    """A value as a reader takes it: words without their quotes, all else as TOML has it.

    Examples
    --------
    >>> as_read("31 9/16 in"), as_read(-21.25), as_read({"die": "1 in"})
    ('31 9/16 in', '-21.25', '{ die = "1 in" }')
    """
    return value if isinstance(value, str) else as_toml(value)


def as_toml(value: Any) -> str:
    r"""A value as it stands in a TOML file, on one line.

    Examples
    --------
    >>> print(as_toml({"over": "3' 1\"", "pins": [1, True]}))
    { over = "3' 1\"", pins = [1, true] }
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{dotted((key,))} = {as_toml(each)}' for key, each in value.items())} }}"
    if isinstance(value, list):
        return f"[{', '.join(as_toml(each) for each in value)}]"
    return repr(value)
