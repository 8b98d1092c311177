"""Results out: CSV and JSON, in the engine file's own unit."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from linkmotion.files.cells import table
from linkmotion.files.lengths import UNITS, format_length
from linkmotion.gears import Gear
from linkmotion.studies.findings import Finding
from linkmotion.studies.table import COLUMNS


def in_unit(rows: Iterable[dict[str, Any]], unit: str) -> list[dict[str, Any]]:
    """Rows with lengths in a unit, rounded to a ten-thousandth of a millimetre or finer."""
    lengths = {column.key for column in COLUMNS if column.kind == "length"}
    scale = float(UNITS[unit])

    def shown(key: str, value: Any) -> Any:
        if value is None or isinstance(value, str):
            return value
        return round(value / scale, 6) if key in lengths else round(value, 6)

    return [{key: shown(key, value) for key, value in row.items()} for row in rows]


def derived_in(gear: Gear, unit: str) -> dict[str, float]:
    """A gear's derived figures, lengths in a unit."""
    scale = {"length": float(UNITS[unit]), "angle": 1.0}
    return {words: round(value / scale[kind], 6) for words, (value, kind) in gear.derived().items()}


def as_csv(rows: Iterable[dict[str, Any]], unit: str) -> str:
    """Rows as CSV; the heading of a length says its unit."""
    titles = [f"{c.key} ({unit})" if c.kind == "length" else c.key for c in COLUMNS]
    return table([titles, *(["" if v is None else v for v in row.values()] for row in in_unit(rows, unit))])


def as_json(head: dict[str, Any], rows: Iterable[dict[str, Any]], found: Iterable[Finding], unit: str) -> str:
    """Everything as one JSON object: what was checked, the rows, the findings."""
    told = [
        {
            "what": f.what,
            "out_of_target": f.out,
            "side": f.side or "between",
            "notch": f.notch,
            "direction": f.direction,
            "size": _size(f, f.size, unit),
            "limit": _size(f, f.limit, unit),
            "unit": unit if f.unit == "mm" else f.unit,
            "words": sentence(f, unit),
        }
        for f in found
    ]
    return json.dumps(
        head | {"unit": unit, "events": in_unit(rows, unit), "findings": told}, indent=1, ensure_ascii=False
    )


def _size(finding: Finding, value: float, unit: str) -> float:
    return round(value / float(UNITS[unit]), 6) if finding.unit == "mm" else round(value, 6)


def sentence(finding: Finding, unit: str, fraction_of: int | None = None) -> str:
    """A finding's sentence with its figures in a unit."""

    def figures(digits: int | None, fraction: int | None) -> list[str]:
        if finding.unit == "percent":
            return [f"{value:.{1 if digits is None else digits}f} %" for value in (finding.size, finding.limit)]
        return [format_length(v, unit, digits=digits, fraction_of=fraction) for v in (finding.size, finding.limit)]

    size, limit = figures(None, fraction_of if unit in ("in", "ft") else None)
    digits = 2
    while size == limit and finding.size > finding.limit and digits < 8:  # show that the one is more than the other
        size, limit = figures(digits, None)
        digits += 1
    return finding.words.format(size=size, limit=limit)
