"""The figures of tables that a command printed, row by row."""

from __future__ import annotations

import re


def rows_of(printed: str) -> list[list[str]]:
    """The figures of every row of tables that a command printed, in order."""
    rows = []
    for line in printed.splitlines():
        figures = re.findall(r"(?<=\s)[-+±−]?\s?\d+(?:\.\d+)?(?= |$)", line)
        if len(re.findall(r"\S  +", line)) > 2 and len(figures) > 2 and any("." in own for own in figures):
            rows.append([own.replace(" ", "") for own in figures])
    return rows


def in_order(row: list[str], line: list[str]) -> bool:
    """Whether the figures of a row stand in a line, in their order."""
    rest = iter(line)
    return all(figure in rest for figure in row)
