"""The example engines with a line changed: the text, and where the changed line stands."""

from __future__ import annotations

import re
from pathlib import Path

EXAMPLES = Path(__file__).parents[2] / "examples"
METRE = (EXAMPLES / "metre_gauge.toml").read_text(encoding="utf-8")
DOCK = (EXAMPLES / "dock_shunter.toml").read_text(encoding="utf-8")


def changed(table: str, key: str, value: str | None, text: str = METRE) -> str:
    """The text with a key written anew (added under its table's heading if it was not there), or left out."""
    lines = text.split("\n")
    heading = next(i for i, line in enumerate(lines) if line.startswith(f"[{table}]"))
    written = key if re.fullmatch(r"[\w-]+", key, re.ASCII) else f'"{key}"'
    for i in range(heading + 1, len(lines)):
        if lines[i].startswith("["):
            break
        if re.match(rf'"?{re.escape(key)}"?\s*=', lines[i]):
            lines[i : i + 1] = [] if value is None else [f"{written} = {value}"]
            return "\n".join(lines)
    assert value is not None, f"there is no {table}.{key} to leave out"
    lines.insert(heading + 1, f"{written} = {value}")
    return "\n".join(lines)


def without(table: str, text: str = METRE) -> str:
    """The text without a table."""
    shorter = re.sub(rf"^\[{re.escape(table)}\].*?(?=^\[)", "", text, count=1, flags=re.DOTALL | re.MULTILINE)
    assert shorter != text, f"there is no [{table}]"
    return shorter


def replaced(old: str, new: str, text: str = METRE) -> str:
    """The text with its first ``old`` replaced."""
    assert old in text, f"{old!r} is not there"
    return text.replace(old, new, 1)


def line_of_text(text: str, fragment: str) -> int:
    """1-based number of the only line in which the fragment stands."""
    found = [number for number, line in enumerate(text.split("\n"), 1) if fragment in line]
    assert len(found) == 1, f"{fragment!r} stands in lines {found}"
    return found[0]
