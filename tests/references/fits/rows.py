"""Printed limits, fits and expansions: rows of this folder's TOML files, each with one or two figures."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from pathlib import Path

FOLDER = Path(__file__).parent


@dataclass(frozen=True, kw_only=True)
class Row:
    """What one row prints, as printed; ``over`` and ``to`` bound the sizes for which it holds.

    ``correct`` is what should have been printed, for the ``reason`` given, where the two differ.
    """

    source: dict[str, str]
    id: str
    check: str
    of: str
    printed: dict[str, str]
    unit: str
    over: str = ""
    to: str = ""
    correct: dict[str, str] = field(default_factory=dict)
    reason: str = ""

    @property
    def sizes(self) -> tuple[float, ...]:
        """Sizes at which it is tried: just over the lower bound, between, and the upper bound itself."""
        low, high = float(self.over), float(self.to)
        return (high,) if low == high else (low + 0.01 * (high - low), (low + high) / 2, high)


def load() -> dict[str, Row]:
    """All rows, by file and id."""
    rows: dict[str, Row] = {}
    for path in sorted(FOLDER.glob("*.toml")):
        table = tomllib.loads(path.read_text(encoding="utf-8"))
        for each in table["row"]:
            key = f"{path.stem} {each['id']}"
            if key in rows:
                raise ValueError(f"{path.name}: two rows are called {each['id']!r}")
            rows[key] = Row(source=table["source"], **each)
    return rows
