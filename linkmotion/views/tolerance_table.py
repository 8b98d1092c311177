"""Printed tables of a tolerance study: what the events become, the targets, and what must be held."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from linkmotion.events import EVENTS
from linkmotion.files.lengths import format_length
from linkmotion.gears.keys import key_in_words
from linkmotion.studies.tolerances.limits import Hold
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import Aside, Point
from linkmotion.views.tables import PLACE, SHORT

_FINE = {"mm": 3, "in": 4, "ft": 5, "thou": 1}  # decimals of a tolerance: one more than of a length
_MANY = 4  # dimensions whose tolerances are the same, before they share a row
_FIGURES = ("lead", *EVENTS, "opening", "travel")


def fine(mm: float, unit: str) -> str:
    """A small length in a unit, without the unit."""
    return format_length(mm, unit, digits=_FINE[unit]).removesuffix(f" {unit}")


def _amount(value: float | None, kind: str, unit: str) -> str:
    if value is None:
        return "–"
    return fine(value, unit) if kind == "mm" else f"{value:.2f}"


def after_setting(rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """Rows of ``spread_rows`` with the spread after setting in the place of that with nothing adjusted."""
    return [row | {name: row[f"{name}_after_setting"] for name in ("mean", "low", "high")} for row in rows]


def spread_table(rows: Iterable[dict[str, Any]], title: str, unit: str) -> Grid:
    """Every event in the mean, ± the half-width that holds 95 %.

    A port that stays shut on nearly all gears opens "never"; where it opens on some of them only, the mean may be less
    than nothing, which :func:`overlap_line` explains.

    Parameters
    ----------
    rows, title, unit
        As of :func:`linkmotion.studies.tolerances.rows.spread_rows`; what they are of; of lengths.
    """
    marks = [f"{what}\n{'%' if what in EVENTS else unit}" for what in _FIGURES]
    table = Grid(title, [*PLACE, *map(Column, marks)], elsewhere="--csv")
    for (notch, direction, end), cells in _by_end(rows).items():
        table.row(notch, direction, end, *(_spread(cells.get(what), unit) for what in _FIGURES))
    return table


def overlap_line(rows: Iterable[dict[str, Any]]) -> Iterator[Aside]:
    """What a mean opening below nothing says, where there is one."""
    if any(row["what"] == "opening" and (row["mean"] or 0.0) < 0 <= (row["high"] or -1.0) for row in rows):
        yield Aside("A mean opening below nothing is an overlap: the port opens on some of the gears only.")


def _by_end(rows: Iterable[dict[str, Any]]) -> dict[tuple[str, str, str], dict[str, dict[str, Any]]]:
    """Figures of each notch, direction and end; the travel stands with the notch's first."""
    found: dict[tuple[str, str, str], dict[str, dict[str, Any]]] = {}
    for row in rows:
        if row["what"] == "travel":
            next(cells for place, cells in found.items() if place[0] == row["notch"])["travel"] = row
        else:
            found.setdefault((row["notch"], row["direction"], row["end"]), {})[row["what"]] = row
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


def shares_table(rows: Iterable[dict[str, Any]], place: tuple[str, str], most: int = 12) -> Grid:
    """Share of each tolerance in the events of a notch and direction, %.

    Parameters
    ----------
    rows, place : iterable of dict, (str, str)
        As of :func:`linkmotion.studies.tolerances.rows.share_rows`; notch and direction.
    most : int
        Tolerances listed.
    """
    own = [row for row in rows if row["notch"] == place[0] and row["direction"] in ("", place[1])]
    greatest: dict[str, float] = {}
    for row in own:
        for key, share in row["shares"].items():
            greatest[key] = max(greatest.get(key, 0.0), share)
    table = Grid(
        f"{place[0]}, running {place[1]}: share of each tolerance in the spread (variance), %",
        [
            Column("dimension", key=True),
            *(Column(f"{SHORT.get(row['what'], row['what'])}\n{row['end']}") for row in own),
        ],
    )
    for key in sorted(greatest, key=lambda key: -greatest[key])[:most]:
        shares = (100 * row["shares"].get(key, 0.0) for row in own)
        table.row(_named(key), *(f"{share:.0f}" if share >= 0.5 else "" for share in shares))
    return table


def _named(key: str) -> str:
    table, name = key.split(".", 1)
    return key_in_words((table, name))


def hold_table(rows: Iterable[dict[str, Any]], unit: str, most: int = 10) -> Grid:
    """Targets, the one that fewest engines keep first; ``rows`` as of ``hold_rows``."""
    rows = list(rows)
    once_set = any(row["kept_after_setting"] is not None for row in rows)
    then = [Column("after\nsetting", "set\n%")] if once_set else []
    table = Grid("Targets, and the tolerance that governs each" + " after setting" * once_set, [
        Column("target", key=True, shared="{}"), Column("limit", spare=1), Column("as drawn", spare=1),
        Column("kept by\n% of engines", "kept\n%"), *then, Column("governed by", left=True),
    ])  # fmt: skip
    last = "kept_after_setting" if once_set else "kept"
    for row in sorted(rows, key=lambda row: (row[last], row["kept"]))[:most]:
        mark = unit if row["unit"] == "mm" else "%"
        limit, drawn = (f"{_amount(row[key], row['unit'], unit)} {mark}" for key in ("limit", "drawn"))
        shares = [f"{100 * row[key]:.1f}" for key in dict.fromkeys(("kept", last))]
        table.row(_target(row), limit, drawn, *shares, _governed(row, "_after_setting" * once_set))
    return table


def _target(row: dict[str, Any]) -> str:
    keys = ("what", "between", "notch", "direction", "end", "limit")
    return str(Hold(figure=0, other=0, wanted=0.0, **{key: row[key] for key in keys}))


def _governed(row: dict[str, Any], after: str) -> str:
    if not row[f"governs{after}"]:
        return "none"
    return f"{_named(row[f'governs{after}'])} ({100 * row[f'share{after}']:.0f} %)"


def tolerance_table(rows: Iterable[dict[str, Any]], unit: str) -> Grid:
    """Every tolerance, present and loosest, the one to be tightened most first; ``rows`` as of ``tolerance_rows``.

    Where the engine is set, the loosest as made and after setting, and what setting leaves of a tolerance's effect.
    Dimensions whose figures are the same stand in one row, with how many they are; ``alike_lines`` names them.
    """
    rows = list(rows)
    sought = [Column("loosest"), Column("times")]
    if any(row["set_at_erection"] is not None for row in rows):
        sought = [Column("as\nmade"), Column("after\nsetting"), Column("left\n%")]
    table = Grid("What must be held, either way", [
        Column("dimension", key=True, shared="{}"), Column("unit", left=True), Column("present"), *sought,
        Column("", left=True),
    ])  # fmt: skip
    for cells, names in _alike(rows, unit).items():
        table.row(f"{len(names)} alike (below)" if len(names) >= _MANY else names[0], *cells)
        for name in names[1:] if len(names) < _MANY else ():
            table.row(name, *cells)
    return table


def alike_lines(rows: Iterable[dict[str, Any]], unit: str) -> Iterator[Point]:
    """Dimensions whose tolerances are the same, present and loosest."""
    for (mark, present, made, *then, note), names in _alike(rows, unit).items():
        if len(names) >= _MANY:
            own = ", ".join(part for part in (f"{present} {mark}", note) if part)
            wider = f"; {then[0]} times that in the loosest set"
            if len(then) > 1:
                wider = f"; in the loosest set {made} as made, {then[0]} after setting"
            yield Point(f"{len(names)} alike ({own}{wider * (then[0] != '–')}): {', '.join(names)}.")


def _alike(rows: Iterable[dict[str, Any]], unit: str) -> dict[tuple[str, ...], list[str]]:
    """Names of the dimensions by what is shown of them."""
    found: dict[tuple[str, ...], list[str]] = {}
    for row in rows:
        found.setdefault(_tolerance_cells(row, unit), []).append(key_in_words((row["table"], row["key"])))
    return found


def _tolerance_cells(row: dict[str, Any], unit: str) -> tuple[str, ...]:
    present, made, then = (
        wide(row[name], row["unit"], unit) for name in ("present", "loosest", "loosest_after_setting")
    )
    once_set, left = row["set_at_erection"] is not None, row["left_by_setting"]
    sought = [then, "" if left is None else f"{100 * left:.0f}"]
    if not once_set:
        sought = ["–" if row["factor"] is None else f"{row['factor']:.2f}"]
    notes = {"assumed": row["assumed"], "from nothing": row["from_nothing"],
             row["distribution"]: row["distribution"] != "normal"}  # fmt: skip
    told = ", ".join(note for note, holds in notes.items() if holds)
    return unit if row["unit"] == "mm" else "°", present, made, *sought, told


def wide(value: float | None, kind: str, unit: str) -> str:
    """A tolerance, without its unit."""
    return "–" if value is None else fine(value, unit) if kind == "mm" else f"{value:.3f}"


def setting_table(rows: Iterable[dict[str, Any]], unit: str) -> Grid:
    """What the engine is set by, and what of it is used; ``rows`` as of ``setting_rows``."""
    table = Grid("What setting takes up, at the present tolerances", [
        Column("adjustment", key=True), Column("unit", left=True), Column("step"), Column("from"), Column("to"),
        Column("95 % use", spare=1), Column("altered\n%"), Column("at end\n%"), Column("hours", spare=2),
    ])  # fmt: skip
    for row in rows:
        step, *ends, low, high = (wide(row[key], row["unit"], unit) for key in ("step", "least", "most", "low", "high"))
        shares = (f"{100 * row[key]:.0f}" for key in ("altered", "at_limit"))
        name, mark = key_in_words((row["table"], row["key"])), unit if row["unit"] == "mm" else "°"
        table.row(name, mark, step, *ends, f"{low} … {high}", *shares, f"{row['hours']:g}")
    return table
