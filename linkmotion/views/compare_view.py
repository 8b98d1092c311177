"""States side by side, for a terminal."""

from __future__ import annotations

from typing import Any

from rich.markup import escape
from rich.table import Table

from linkmotion.engine import Targets
from linkmotion.studies.compare import Compared
from linkmotion.views.tables import Shown, bare_table


def compared_table(result: Compared, side: str, targets: Targets, shown: Shown) -> Table:
    """Lead and cutoff of one side in every state; ✗ where the ends differ by more than the target."""
    table = bare_table(f"{side} side")
    for head in ("notch", "running", "end"):
        table.add_column(head, no_wrap=True)
    for what in (f"lead, {shown.unit}", "cutoff, %"):
        for name in result.states:
            table.add_column(f"{what}\n{escape(name)}", justify="right")
    rows = [row for row in result.rows if row["side"] == side]
    for i, row in enumerate(rows):
        front, back = rows[i - i % 2], rows[i - i % 2 + 1]
        cells = [
            _cell(front, back, row, "lead", k, targets.lead_difference, shown.length) for k in range(len(result.states))
        ]
        cells += [
            _cell(front, back, row, "cutoff_percent", k, targets.cutoff_difference, shown.percent)
            for k in range(len(result.states))
        ]
        first = i % 2 == 0
        table.add_row(escape(row["notch"]) if first else "", row["running"] if first else "", row["end"], *cells)
    return table


def _cell(front: Any, back: Any, row: Any, figure: str, k: int, target: float, show: Any) -> str:
    value, one, two = row[figure][k], front[figure][k], back[figure][k]
    apart = one is not None and two is not None and abs(one - two) > target
    return f"{'✗ ' if apart else ''}{show(value)}"
