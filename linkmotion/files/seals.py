"""The record of an engine: what its dated states said when they were first told, kept in a plain text file beside it.

A dated state is what somebody found or did on a day; altered later, it would tell something else of that day. So what
is dated is written down once, figure by figure, with the day on which that was done and a digest; whatever differs
afterwards is told. It is a notice and no proof: who can write the one file can write the other. The file is only ever
added to, a line for each figure, so that two people's copies can be put together by hand or by any tool for texts::

    [[recorded]]
    what = 'state."as found"'
    dated = 2026-03-14
    recorded = 2026-11-30
    digest = "6f0b…"
    [recorded.figures]
    'right.eccentric_rod.length' = "31 19/32 in"

Recorded are: every table with a day of its own (a state, a side of one, a part), the states on which a dated state
rests, and the drawing under them. Of one that was recorded again the latest holds.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date
from pathlib import Path
from typing import Any

from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.source import Source, Where, dotted
from linkmotion.files.whole import write_together
from linkmotion.files.written import as_toml, every_leaf

_HEAD = """\
# What linkmotion recorded of {name}: dated states as they stood when they were first told. Keep it beside that file.
# Whatever differs later is told by "linkmotion history". A notice, no proof. Lines are only added; do not alter them.
"""
_KEYS = ["what", "dated", "recorded", "digest", "figures"]


@dataclass(frozen=True)
class Seal:
    """One thing as recorded.

    Attributes
    ----------
    what : str
        "drawing", or the path of a table in the engine file.
    dated : date or None
        The day that the engine file gives for it.
    recorded : date
        The day on which it was written down.
    figures : dict
        Path within it, dotted, to what stands there.
    sound : bool
        Whether the digest still fits the figures.
    """

    what: str
    dated: date | None
    recorded: date
    figures: Mapping[str, Any]
    sound: bool = True

    def written(self) -> str:
        """As it stands in the file."""
        head = [f"what = {as_toml(self.what)}", f"recorded = {self.recorded}", f'digest = "{digest(self)}"']
        if self.dated is not None:
            head.insert(1, f"dated = {self.dated}")
        lines = [f"{as_toml(key)} = {as_toml(value)}" for key, value in self.figures.items()]
        return "\n".join(["[[recorded]]", *head, "[recorded.figures]", *lines, ""])


def seal_file(engine_file: Path) -> Path:
    """Where the record of an engine file is: beside it, ``ENGINE.recorded.toml``.

    Examples
    --------
    >>> print(seal_file(Path("shed/limpet.toml")).as_posix())
    shed/limpet.recorded.toml
    """
    return engine_file.with_name(f"{engine_file.stem}.recorded.toml")


def digest(seal: Seal) -> str:
    """Sixteen digits that go by what is recorded, its day and every figure."""
    lines = [seal.what, str(seal.dated), str(seal.recorded)]
    lines += [f"{key} = {as_toml(value)}" for key, value in seal.figures.items()]
    return hashlib.sha256("\n".join(lines).encode()).hexdigest()[:16]


def seals_now(engine: Engine, today: date) -> list[Seal]:
    """What is to be recorded of an engine, as it stands in its file.

    Parameters
    ----------
    engine, today : Engine, date
        As read; the day of recording.
    """
    document = Source(engine.text, engine.name).document()
    days = {where: record.on for where, record in engine.records.items() if record.on is not None}
    outermost = {where for where in days if not any(where[:n] in days for n in range(1, len(where)))}
    parts = of_drawing(engine)
    resting = {own for where in outermost if where[0] == "state" for own in engine.lineage(where[1])}
    whole = {("state", name) for name in resting}
    drawing = bool(resting) or any(where[0] in parts for where in outermost)
    found = [Seal(DRAWING, days.get(("engine",)), today, flat(document, parts))] if drawing else []
    for where in sorted(outermost | whole, key=lambda own: (own not in whole, own)):
        if where[0] in parts or any(where[:n] in whole for n in range(1, len(where))):
            continue
        table: Any = document
        for step in where:
            table = table[step]
        found.append(Seal(dotted(where), days.get(where), today, flat(table, None)))
    return found


def of_drawing(engine: Engine) -> set[str]:
    """Tables at top level that are recorded as the drawing, what it has of one side among them."""
    return {part.name for part in fields(engine.gear_type)} | {"engine", DRAWING, "wear", "wheels"}


def flat(tables: Mapping[str, Any], only: set[str] | None) -> dict[str, Any]:
    """Everything in some tables by its dotted path."""
    kept = {key: own for key, own in tables.items() if only is None or key in only}
    return {dotted(where): value for where, value in every_leaf(kept)}


def read_seals(path: Path) -> list[Seal]:
    """What a record says, in its order; nothing where there is no such file.

    Parameters
    ----------
    path : Path
        Of the record.

    Raises
    ------
    FileError
        It is no record, or has been damaged.
    """
    if not path.exists():
        return []
    source = Source.read(path)
    document = source.document() if source.text.strip() else {}
    source.known(document, (), ["recorded"])
    rows = document.get("recorded", [])
    if not isinstance(rows, list):
        raise source.fault(("recorded",), "wanted a list of what was recorded", _mend(path))
    return [_seal(source, row, ("recorded", str(number)), path) for number, row in enumerate(rows)]


def _mend(path: Path) -> str:
    return f"take {path.name} from a copy, or put it aside: a new one is begun then"


def _seal(source: Source, row: Any, where: Where, path: Path) -> Seal:
    table = source.table(row, where)
    source.known(table, where, _KEYS)
    kinds: dict[str, type] = {"what": str, "recorded": date, "digest": str, "figures": dict}
    for key, kind in kinds.items():
        if type(table.get(key)) is not kind:
            raise source.fault((*where, key), "missing or altered", _mend(path))
    if type(table.get("dated", date.min)) is not date:
        raise source.fault((*where, "dated"), "is no day", _mend(path))
    seal = Seal(table["what"], table.get("dated"), table["recorded"], table["figures"])
    sound = digest(seal) == table["digest"]
    return Seal(seal.what, seal.dated, seal.recorded, seal.figures, sound)


def added(old: str, seals: list[Seal], engine_file: Path) -> str:
    """The text of a record with more at its end; all that is there stays to the letter.

    Parameters
    ----------
    old, seals, engine_file : str, list of Seal, Path
        The text so far; what is to be added; of which file.
    """
    begun = old or _HEAD.format(name=engine_file.name)
    return begun + "\n" * (not begun.endswith("\n")) + "".join(f"\n{seal.written()}" for seal in seals)


def add_to_record(path: Path, old: str, seals: list[Seal], engine_file: Path) -> None:
    """Add to a record, whole or not at all; all that is there stays.

    Parameters
    ----------
    path, old : Path, str
        The record, and its text as it was read ("" where there was none).
    seals, engine_file : list of Seal, Path
        What is added; of which file.

    Raises
    ------
    FileError
        It cannot be written, or somebody has written into it meanwhile.
    """

    def look(place: Path) -> bool:
        there = place.read_text(encoding="utf-8") if place.exists() else ""
        if there != old:
            raise FileError(str(path), "has just been written by another", "run the command again; nothing was lost")
        return place.exists()

    try:
        write_together({path: added(old, seals, engine_file).encode()}, look)
    except FileError as error:
        raise FileError(
            str(path), error.problem, f"{error.remedy}; --look tells the history and writes nothing"
        ) from None
