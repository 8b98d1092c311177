"""One figure of an engine file written anew in its text: comments and all else stay as they are.

A figure is written on the lines where it stands, or where it belongs; only what is laid out otherwise goes through a
TOML library, which keeps comments but not always their place.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from linkmotion.files.figure_edit import (
    GONE,
    Place,
    as_toml,
    figure_at,
    head_of,
    key_as_toml,
    leaves,
    read_tables,
    see_alone,
)  # fmt: skip
from linkmotion.files.lines import key_lines

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
    own = tuple(place)
    ways = (_on_its_line, _in_one_line, _last_of_its_table, _in_a_new_table, _without_its_lines)
    for made in (way(text, own, value) for way in ways):
        if made is not None and _stands_alone(text, made, own, value):
            return made
    written = _in_its_table(text, own, value)
    see_alone(text, written, own, value)
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
    lines[number - 1] = _with_rest(found["key"] + as_toml(value), lines[number - 1], found["rest"])
    return "\n".join(lines)


def _with_rest(made: str, line: str, rest: str) -> str:
    """A line made anew with the comment that it had, in its column where there is room."""
    comment = rest.lstrip(" \t")
    return f"{made.ljust(len(line) - len(comment) - 1)} {comment}" if rest.strip() else made + rest


def _in_one_line(text: str, place: Place, value: Any) -> str | None:
    """The text with a key of a table that stands on one line, such as ``{ step = 0.5, most = 3 }``; None else."""
    number, stands = key_lines(text).get(place[:-1]), figure_at(read_tables(text), place[:-1])
    if number is None or not isinstance(stands, Mapping) or (value is GONE and place[-1] not in stands):
        return None
    lines = text.split("\n")
    line = lines[number - 1]
    key = line[: line.find("{")]
    wanted = {name: own for name, own in stands.items() if name != place[-1] or value is not GONE}
    wanted |= {} if value is GONE else {place[-1]: value}
    for end in (at for at, sign in enumerate(line, 1) if sign == "}"):
        rest = line[end:]
        if rest.lstrip()[:1] in ("", "#") and _by_line(key, line[:end], place[:-1]) == stands:
            lines[number - 1] = _with_rest(key + as_toml(wanted), line, rest)
            return "\n".join(lines)
    return None


def _by_line(key: str, line: str, table: Place) -> Any:
    """What a line gives a table, whose name its key ends; None where it gives another."""
    try:
        read, bare = tomllib.loads(line), tomllib.loads(f"{key} 0")
    except tomllib.TOMLDecodeError:
        return None
    names = next(iter(leaves(bare)))
    return figure_at(read, names) if table[-len(names) :] == names else None


def _last_of_its_table(text: str, place: Place, value: Any) -> str | None:
    """The text with a key that is new as the last of its table, where that has a head of its own; None else.

    It stands before the comments that follow: those are the next table's.
    """
    every, lines = key_lines(text), text.split("\n")
    head = every.get(place[:-1])
    new = value is not GONE and head is not None and figure_at(read_tables(text), place) is None
    if head is None or not new or not _heads(lines[head - 1], place[:-1]):
        return None
    lines.insert(_end_of(text, place[:-1], within=False), _line(place, value, lines[head - 1]))
    return "\n".join(lines)


def _in_a_new_table(text: str, place: Place, value: Any) -> str | None:
    """The text with a key that is new in a table that is new, after its nearest kin; None where it is not so simple."""
    tables, lines = read_tables(text), text.split("\n")
    if value is GONE or len(place) < 2 or figure_at(tables, place[:-1]) is not None:
        return None
    known = [n for n in range(len(place) - 1, 0, -1) if figure_at(tables, place[:n]) is not None]
    end = _end_of(text, place[: known[0]]) if known else len(text.rstrip().split("\n"))
    ending = "\r" * lines[0].endswith("\r")
    lines[end:end] = [ending] * bool(end) + [head_of(place[:-1]) + ending, _line(place, value, lines[0])]
    return "\n".join(lines)


def _without_its_lines(text: str, place: Place, value: Any) -> str | None:
    """The text without a table that has a head of its own, and the tables within it; None where it is no such table.

    Comments before and after them stay.
    """
    if value is not GONE or not isinstance(figure_at(read_tables(text), place), Mapping):
        return None
    lines, every = text.split("\n"), key_lines(text)
    own = {number for path, number in every.items() if path[: len(place)] == place}
    starts = sorted(set(every.values()))
    ends = dict(zip(starts, [*starts[1:], len(lines) + 1], strict=True))
    gone: set[int] = set()
    for start in sorted(own):
        end = ends[start]
        while end not in own and end - 1 > start and lines[end - 2].strip()[:1] in ("", "#"):
            end -= 1  # what stands before another table is that one's
        gone |= set(range(start, end))
    kept: list[str] = []
    for number, line in enumerate(lines, 1):
        if number not in gone and not (number - 1 in gone and not line.strip() and (not kept or not kept[-1].strip())):
            kept.append(line)
    return "\n".join(kept)


def _stands_alone(text: str, made: str, place: Place, value: Any) -> bool:
    try:
        see_alone(text, made, place, value)
    except ValueError:
        return False
    return True


def _line(place: Place, value: Any, like: str) -> str:
    return f"{key_as_toml(place[-1])} = {as_toml(value)}" + "\r" * like.endswith("\r")


def _end_of(text: str, table: Place, within: bool = True) -> int:
    """How many lines there are up to a table's end, with the tables in it or without; what follows is another's."""
    every, lines = key_lines(text), text.split("\n")
    last = max(number for path, number in every.items() if path[: len(table)] == table) if within else every[table]
    starts = (number for number in sorted(set(every.values())) if number > last)
    heads = (number for number in starts if within or lines[number - 1].lstrip()[:1] == "[")
    end = next(heads, len(lines) + 1) - 1
    while end > last and lines[end - 1].strip()[:1] in ("", "#"):
        end -= 1
    return end


def _heads(line: str, table: Place) -> bool:
    """Whether a line is the head of a table."""
    try:
        read: Any = tomllib.loads(line.strip())
    except tomllib.TOMLDecodeError:
        return False
    return bool(figure_at(read, table) == {})


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
            where[name] = tomlkit.parse(f"x = {as_toml(value)}")["x"] if isinstance(value, dict | list) else value
        elif name in where:
            del where[name]
        return tomlkit.dumps(document)
    except (TOMLKitError, AttributeError, TypeError):
        raise ValueError("this file is laid out so that this cannot be written here: write it in by hand") from None


def with_table(text: str, place: Place, keys: Mapping[str, Any]) -> str:
    """The text with one more table at its end.

    Parameters
    ----------
    text : str
        TOML.
    place : tuple of str
        The table's, such as ``("repair", "key the return crank")``.
    keys : dict
        Plain keys to what stands there, as a user would write it.

    Raises
    ------
    ValueError
        The file is laid out so that it cannot stand there.

    Examples
    --------
    >>> print(with_table("a = 1", ("repair", "new rod"), {"what": "make it", "hours": 6}), end="")
    a = 1
    <BLANKLINE>
    [repair."new rod"]
    what = "make it"
    hours = 6
    """
    own = [head_of(place), *(f"{key} = {as_toml(value)}" for key, value in keys.items())]
    end = "\r\n" if "\r\n" in text else "\n"
    new = text.rstrip() + 2 * end + end.join(own) + end
    see_alone(text, new, place, dict(keys))
    return new
