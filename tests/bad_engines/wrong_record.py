"""Records written wrong: days, people, photographs, keys that are nearly one of theirs."""

from __future__ import annotations

from tests.bad_engines.changed import changed
from tests.bad_engines.wrong import FOUND, Wrong

BEGUN = '[state.seen.left.radius_rod]\nlength = "963 mm"\n'


def told(value: str, key: str, *words: str, at: str = "") -> Wrong:
    """A key of the record of a part in a state."""
    text = f"{FOUND}{BEGUN}{key} = {value}\n"
    return Wrong(f"{key} {value}", text, at or f"{key} = {value}", f"state.seen.left.radius_rod.{key}", words)


def beside(table: str, key: str, value: str, *words: str) -> Wrong:
    """The same of a table of the drawing or beside it."""
    return Wrong(f"{table}.{key} {value}", changed(table, key, value), f"{key} = {value}", f"{table}.{key}", words)


RECORDS = [
    told('"30 Nov 2026"', "on", "is no day", "2026-11-30"),
    told('"2026-02-30"', "on", "there is no day 2026-02-30", "calendar"),
    told('"2026-13-01"', "on", "there is no day", "calendar"),
    told('"26-11-30"', "on", "is no day", "2026-11-30"),
    told('""', "on", "is no day"),
    told("20261130", "on", "wanted a day"),
    told("true", "on", "wanted a day"),
    told("2026-11-30T08:00:00", "on", "the day alone"),
    told("08:00:00", "on", "wanted a day"),
    told('["2026-11-30"]', "on", "wanted a day"),
    told("3", "by", "wanted words"),
    told('" "', "by", "says nothing"),
    told('["A", "B"]', "by", "wanted words"),
    told('"\\u001b[2J"', "by", "cannot be printed"),
    told("{ gauge = 1 }", "with", "wanted words"),
    told("7", "note", "wanted words"),
    told('""', "from_engine", "says nothing"),
    told("31", "from_engine", "wanted words"),
    told('"../slot.png"', "photo", "leads out of the engine file's folder", "beside the engine file"),
    told('"/home/slot.png"', "photo", "leads out"),
    told('"~/slot.png"', "photo", "leads out"),
    told('"photos/../../slot.png"', "photo", "leads out"),
    told("'C:\\slot.png'", "photo", "leads out"),
    told("'photos\\slot.png'", "photo", "leads out"),
    told('"https://shed.example/slot.png"', "photo", "leads out"),
    told('["slot.png", "../other.png"]', "photo", "leads out"),
    told('"slot.txt"', "photo", "no picture by its name", ".png"),
    told('"slot"', "photo", "no picture by its name"),
    told('""', "photo", "the name of a file"),
    told("[]", "photo", "an empty list"),
    told("[3]", "photo", "the name of a file"),
    told("true", "photo", "the name of a file"),
    told('"2026-11-30"', "date", "did you mean 'on'"),
    told('"E. Marl"', "who", "did you mean 'by'"),
    told('"slot.png"', "photos", "did you mean 'photo'"),
    told('"vernier"', "instrument", "did you mean 'with'"),
    told('"No. 3"', "from_engin", "did you mean 'from_engine'"),
    beside("targets", "on", '"yesterday"', "is no day"),
    beside("targets", "from_engine", '"No. 3"', "no part stands here", "state"),
    beside("engine", "from_engine", '"No. 3"', "no part stands here"),
    beside("engine", "on", '"2026-11-31"', "there is no day"),
    beside("radius_rod", "photo", '"../rod.png"', "leads out"),
    Wrong("on of a layer", f"{FOUND}[state.seen.left]\non = 3\n", "on = 3", "state.seen.left.on", ("wanted a day",)),
    Wrong("on of a state", f"{FOUND}[state.seen]\non = 3\n", "on = 3", "state.seen.on", ("wanted a day",)),
    Wrong("on of wear", f"{FOUND}[state.seen.left.wear]\non = 3\n", "on = 3", "state.seen.left.wear.on", ("day",)),
]
