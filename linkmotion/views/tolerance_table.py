"""Printed tables of a tolerance study: what the events become, the targets, and what must be held."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from rich.markup import escape
from rich.table import Table

from linkmotion.events import EVENTS
from linkmotion.files.lengths import format_length
from linkmotion.studies.tolerances.limits import Hold
from linkmotion.studies.tolerances.rows import name_of
from linkmotion.views.tables import bare_table

_FINE = {"mm": 3, "in": 4, "ft": 5, "thou": 1}  # decimals of a tolerance: one more than of a length
_SHORT = {"admission": "adm.", "release": "rel.", "compression": "compr.", "opening": "open."}
_FIGURES = ("lead", *EVENTS, "opening", "travel")


def fine(mm: float, unit: str) -> str:
    """A small length in a unit, without the unit."""
    return format_length(mm, unit, digits=_FINE[unit]).removesuffix(f" {unit}")


def _amount(value: float | None, kind: str, unit: str) -> str:
    if value is None:
        return "–"
    return fine(value, unit) if kind == "mm" else f"{value:.2f}"


def spread_table(rows: Iterable[dict[str, Any]], title: str, unit: str) -> Table:
    """Every event in the mean, ± the half-width that holds 95 %; ``rows`` as of ``spread_rows``.

    A port that stays shut on nearly all gears opens "never"; where it opens on some of them only, the mean may be less
    than nothing, which a line beneath the table explains.
    """
    rows = list(rows)
    table = bare_table(title)
    for head in ("notch", "running", "end"):
        table.add_column(head, no_wrap=True)
    for what in _FIGURES:
        table.add_column(f"{what}\n{'%' if what in EVENTS else unit}", justify="right", no_wrap=True)
    last = ""
    for (notch, running, end), cells in _by_end(rows).items():
        shown = (_spread(cells.get(what), unit) for what in _FIGURES)
        table.add_row(escape(notch) if notch != last else "", running, end, *shown)
        last = notch
    if any(row["what"] == "opening" and (row["mean"] or 0.0) < 0 <= (row["high"] or -1.0) for row in rows):
        table.caption = "A mean opening below nothing is an overlap: the port opens on some of the gears only."
        table.caption_justify = "left"
    return table


def _by_end(rows: Iterable[dict[str, Any]]) -> dict[tuple[str, str, str], dict[str, dict[str, Any]]]:
    """Figures of each notch, direction and end; the travel stands with the notch's first."""
    found: dict[tuple[str, str, str], dict[str, dict[str, Any]]] = {}
    for row in rows:
        if row["what"] == "travel":
            next(cells for place, cells in found.items() if place[0] == row["notch"])["travel"] = row
        else:
            found.setdefault((row["notch"], row["running"], row["end"]), {})[row["what"]] = row
    return found


def _spread(row: dict[str, Any] | None, unit: str) -> str:
    if row is None:
        return ""
    if row["mean"] is None or row["low"] is None:
        return "–"
    if row["what"] == "opening" and row["high"] < 0:  # less than nothing is no opening
        return "never"
    half = (row["high"] - row["low"]) / 2
    if row["unit"] == "mm":
        digits = _FINE[unit] - 1
        mean = format_length(row["mean"], unit, digits=digits).removesuffix(f" {unit}")
        return f"{mean} ±{format_length(half, unit, digits=digits).removesuffix(f' {unit}')}"
    return f"{row['mean']:.1f} ±{half:.1f}"


def shares_table(rows: Iterable[dict[str, Any]], place: tuple[str, str], most: int = 12) -> Table:
    """Share of each tolerance in the events of a notch and direction, %; ``rows`` as of ``share_rows``."""
    own = [row for row in rows if row["notch"] == place[0] and row["running"] in ("", place[1])]
    greatest: dict[str, float] = {}
    for row in own:
        for key, share in row["shares"].items():
            greatest[key] = max(greatest.get(key, 0.0), share)
    table = bare_table(f"{place[0]}, running {place[1]}: share of each tolerance in the spread (variance), %")
    table.add_column("dimension", no_wrap=True)
    for row in own:
        table.add_column(f"{_SHORT.get(row['what'], row['what'])}\n{row['end']}", justify="right", no_wrap=True)
    for key in sorted(greatest, key=lambda key: -greatest[key])[:most]:
        shares = (100 * row["shares"].get(key, 0.0) for row in own)
        table.add_row(escape(_named(key)), *(f"{share:.0f}" if share >= 0.5 else "" for share in shares))
    return table


def _named(key: str) -> str:
    table, name = key.split(".", 1)
    return name_of((table, name))


def hold_table(rows: Iterable[dict[str, Any]], unit: str, most: int = 10) -> Table:
    """Targets, the one that fewest engines keep first; ``rows`` as of ``hold_rows``."""
    table = bare_table("Targets, and the tolerance that governs each")
    table.add_column("target", no_wrap=False)
    for head in ("limit", "as drawn", "kept by\n% of engines"):
        table.add_column(head, justify="right", no_wrap=True)
    table.add_column("governed by")
    for row in sorted(rows, key=lambda row: row["kept"])[:most]:
        mark = unit if row["unit"] == "mm" else "%"
        limit, drawn = (f"{_amount(row[key], row['unit'], unit)} {mark}" for key in ("limit", "drawn"))
        table.add_row(escape(_target(row)), limit, drawn, f"{100 * row['kept']:.1f}", _governed(row))
    return table


def _target(row: dict[str, Any]) -> str:
    keys = ("what", "between", "notch", "running", "end", "limit")
    return str(Hold(figure=0, other=0, wanted=0.0, **{key: row[key] for key in keys}))


def _governed(row: dict[str, Any]) -> str:
    if not row["governs"]:
        return "none"
    return escape(f"{_named(row['governs'])} ({100 * row['share']:.0f} %)")


def tolerance_table(rows: Iterable[dict[str, Any]], unit: str) -> Table:
    """Every tolerance, present and loosest, the one to be tightened most first; ``rows`` as of ``tolerance_rows``."""
    table = bare_table("What must be held, either way")
    table.add_column("dimension", no_wrap=True)
    table.add_column("unit")
    for head in ("present", "loosest", "times"):
        table.add_column(head, justify="right", no_wrap=True)
    table.add_column("", no_wrap=True)
    for cells in _tolerance_cells(rows, unit):
        table.add_row(*cells)
    return table


def _tolerance_cells(rows: Iterable[dict[str, Any]], unit: str) -> Iterator[tuple[str, ...]]:
    for row in rows:
        length = row["unit"] == "mm"

        def shown(value: float | None, length: bool = length) -> str:
            return "–" if value is None else fine(value, unit) if length else f"{value:.3f}"

        factor = "–" if row["factor"] is None else f"{row['factor']:.2f}"
        notes = {"assumed": row["assumed"], "from nothing": row["from_nothing"],
                 row["distribution"]: row["distribution"] != "normal"}  # fmt: skip
        told = ", ".join(note for note, holds in notes.items() if holds)
        name = escape(name_of((row["table"], row["key"])))
        yield name, unit if length else "°", shown(row["present"]), shown(row["loosest"]), factor, told
