"""A wrong engine file and what must be said of it."""

from __future__ import annotations

from dataclasses import dataclass

from tests.bad_engines.changed import METRE, changed

FOUND = METRE + "\n"  # states are added below it


@dataclass(frozen=True)
class Wrong:
    """A wrong text: where the fault is told (a piece of the line, or its number), the key, and words that help."""

    what: str
    text: str
    at: str | int | None
    key: str
    words: tuple[str, ...]
    options: tuple[str, ...] = ()


def length(value: str, *words: str, at: str | None = None) -> Wrong:
    """A value of the radius rod's length in a file of millimetres."""
    text = changed("radius_rod", "length", value)
    return Wrong(f"length {value[:20]}", text, at or f"length = {value}"[:60], "radius_rod.length", words)


def state(what: str, tables: str, at: str, key: str, *words: str) -> Wrong:
    """A state written below the example's own."""
    return Wrong(what, f"{FOUND}{tables}\n", at, key, words)
