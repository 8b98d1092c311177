"""Wheel marks as they are typed on the bench: the tyre, how near, and the pairs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linkmotion.bench.entering import LONGEST
from linkmotion.bench.kept_file import KeptFile, SinceChanged
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import GONE, as_typed, read_tables, typed
from linkmotion.files.journal import Change
from linkmotion.files.lengths import LengthError, parse_length
from linkmotion.files.lines_edit import with_figure
from linkmotion.files.marks_form import pair_form
from linkmotion.files.readings_edit import BLANK
from linkmotion.files.readings_method import NOT_NOTED
from linkmotion.studies.setting.tram_marks import TURNED
from linkmotion.valve import ENDS

HEADS = {
    "tyre_diameter": "Diameter of the tyre where the marks are made",
    "mark": "A mark is right within",
    "crosshead": "The crosshead comes back to its line within",
    "play": "Free movement of the crosshead, wheel held",
    "play_within": "That was measured within",
}
"""What is said of all marks, in words."""
_MOST = 40  # pairs


def heads(tables: Mapping[str, Any]) -> dict[str, tuple[str, str]]:
    """What is said of all marks: its words, and what stands there as typed."""
    head = tables.get("tram", {})
    return {key: (words, shown(head.get(key))) for key, words in HEADS.items()}


def pairs(tables: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The pairs as their fields show them; one in degrees is shown and not changed."""
    found = []
    for number, own in enumerate(tables.get("pair", [])):
        marks = own.get("marks")
        typed_here = isinstance(marks, list) and len(marks) == 2
        told = marks if typed_here else own.get("degrees", ["", ""])
        found.append({
            "number": number, "end": own.get("end", ""), "turned": own.get("turned", NOT_NOTED),
            "marks": [shown(each) for each in told][:2], "typed": typed_here,
        })  # fmt: skip
    return found


def shown(value: Any) -> str:
    """A figure as typed; nothing where it is still to be filled in."""
    return "" if value == BLANK else typed(value)


def enter_head(kept: KeptFile, engine: Engine, name: str, written: str, seen: int) -> Change | None:
    """Write what is said of all marks.

    Parameters
    ----------
    kept, engine : KeptFile, Engine
        The marks' file; the engine, whose unit bare figures have.
    name, written, seen : str, str, int
        One of :data:`HEADS`; as typed; the change that was seen last.

    Raises
    ------
    FileError
        It cannot be so; nothing is written.
    """
    if name not in HEADS:
        raise FileError(name, "there is no such figure", "load the page anew")
    if not written.isprintable():
        raise FileError(name, "this holds signs that cannot be printed", "write a length")
    value = as_typed(written) if written.strip() else GONE
    where = ("tram", name)

    def made(text: str) -> str:
        _length(value, text, engine, kept.path.name)
        return _written(text, where, value, kept)

    return kept.change(made, f"{HEADS[name]}: {written.strip() or 'taken out'}", seen, (where,))


def _length(value: Any, text: str, engine: Engine, name: str) -> None:
    unit = str(read_tables(text).get("tram", {}).get("unit", engine.unit))
    try:
        if value not in (GONE, BLANK):
            parse_length(value, unit)
    except LengthError as error:
        raise FileError(name, str(error), 'write a length, such as "3.2 mm" or "1/8 in"') from None


def _written(text: str, where: tuple[str, ...], value: Any, kept: KeptFile) -> str:
    try:
        return with_figure(text, where, value)
    except ValueError as error:
        raise FileError(kept.path.name, str(error), "nothing was changed") from None


def enter_mark(kept: KeptFile, engine: Engine, wish: Mapping[str, Any]) -> tuple[Change | None, str]:
    """Write one mark of a pair, its end, or how the wheel was turned: the change, and its words.

    Parameters
    ----------
    kept, engine : KeptFile, Engine
        As of :func:`enter_head`.
    wish : mapping
        As the page sends it: the pair's ``number``, ``which`` ("0", "1", "end", "turned"), ``value`` and ``was``.

    Raises
    ------
    FileError
        It cannot be so, or another has been entered there meanwhile; nothing is written.
    """
    match wish:
        case {"number": int(number), "which": "0" | "1" | "end" | "turned" as which, "value": str(value),
              "was": str(was)} if 0 <= number < _MOST and len(value) <= LONGEST:  # fmt: skip
            pass
        case _:
            raise FileError("mark", "this cannot be understood", "load the page anew")
    value = value.strip()
    allowed = {"end": ENDS, "turned": (*TURNED, NOT_NOTED)}.get(which)
    if allowed and value not in allowed:
        raise FileError(which, f"read {value[:40]!r}", f"choose {' or '.join(allowed)}")

    def made(text: str) -> str:
        import tomlkit

        tables = read_tables(text)
        there = pairs(tables)
        if number >= len(there) or not there[number]["typed"]:
            raise SinceChanged(kept.name, "there is no such pair any more", "look at it as it is now")
        now = there[number][which] if allowed else there[number]["marks"][int(which)]
        if as_typed(now) != as_typed(was):
            told = f"entered elsewhere since: {now or 'taken out'} (you had seen {was or 'nothing'})"
            raise SinceChanged(kept.name, told, "look at it as it is now, and enter yours again if it is right")
        document: Any = tomlkit.parse(text)
        if allowed:
            document["pair"][number][which] = value
        else:
            written = as_typed(value) if value else BLANK
            _length(written, text, engine, kept.path.name)
            document["pair"][number]["marks"][int(which)] = written
        return tomlkit.dumps(document)

    what = which if allowed else ("first mark", "second mark")[int(which)]
    told = f"pair {number + 1}, {what}: {value or 'taken out'}"
    return kept.change(made, told, kept.version), told


def with_pair(text: str) -> str:
    """The text with one more pair to be filled in.

    Parameters
    ----------
    text : str
        TOML.

    Raises
    ------
    FileError
        There are too many.
    """
    own = pairs(read_tables(text))
    if len(own) >= _MOST:
        raise FileError("pair", f"there are {_MOST} pairs already", "that is more than enough")
    end = ENDS[1] if sum(each["end"] == ENDS[0] for each in own) * 2 > len(own) else ENDS[0]
    return f"{text.rstrip(chr(10))}\n{pair_form(end)}"
