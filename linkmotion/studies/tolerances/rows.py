"""Tables of a tolerance study as plain rows: they feed the printed tables, the plots, CSV and JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from linkmotion.gears import Gear
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.figures.figure import DEGREES, MM
from linkmotion.studies.row_figures import measured
from linkmotion.studies.tolerances.limits import Hold, Kept
from linkmotion.studies.tolerances.loosest import Loosest
from linkmotion.studies.tolerances.spread import Sampled, Spread
from linkmotion.studies.tolerances.tolerance import Tolerances, kind_of

_NOTHING = 5e-5  # a share that would be shown as none


def name_of(key: Key) -> str:
    """A dimension in words.

    Parameters
    ----------
    key : (table, key)
        As in an engine file.

    Examples
    --------
    >>> name_of(("eccentric_rod", "length"))
    'eccentric rod: length'
    """
    return f"{key[0]}: {key[1]}".replace("_", " ").replace(".", " ")


def spread_rows(sampled: Sampled, linear: Spread) -> Iterator[dict[str, Any]]:
    """One row for a figure: as drawn, its spread by Monte Carlo and linear, and what governs it.

    Figures are mm or percent of stroke, as ``unit`` says; ``low`` to ``high`` hold 95 %.

    Parameters
    ----------
    sampled, linear : Sampled, Spread
        Of the same figures and tolerances.
    """
    for i, figure in enumerate(sampled.figures):
        key, share = sampled.shares(figure)[0] if sampled.tolerances else (("", ""), 0.0)
        yield {
            "notch": figure.notch,
            "direction": figure.direction,
            "end": figure.end,
            "what": figure.kind,
            "unit": figure.unit,
            "drawn": measured(sampled.nominal[i], figure.unit),
            "mean": measured(sampled.mean[i], figure.unit),
            "std": measured(sampled.std[i], figure.unit),
            "std_linear": measured(linear.std[i], figure.unit),
            "low": measured(sampled.low[i], figure.unit),
            "high": measured(sampled.high[i], figure.unit),
            "happens": float(sampled.happens[i]),
            "governs": ".".join(key) if share > 0 else "",
            "share": share,
        }


def share_rows(spread: Spread) -> Iterator[dict[str, Any]]:
    """One row for a figure: the share in its variance, 0 to 1, of each tolerance that moves it, greatest first.

    Parameters
    ----------
    spread : Spread
        Linear or Monte Carlo.
    """
    for figure in spread.figures:
        yield {
            "notch": figure.notch,
            "direction": figure.direction,
            "end": figure.end,
            "what": figure.kind,
            "shares": {".".join(key): share for key, share in spread.shares(figure) if share > _NOTHING},
        }


def hold_rows(kept: Kept, sampled: Sampled) -> Iterator[dict[str, Any]]:
    """One row for a target: its limit, the figure as drawn, how many engines keep it, what governs it.

    Parameters
    ----------
    kept, sampled : Kept, Sampled
        Who keeps the targets, of the same gears.
    """
    for hold, share in zip(kept.holds, kept.each, strict=True):
        key, part = governing(hold, sampled)
        yield {
            "what": hold.what,
            "between": hold.between,
            "notch": hold.notch,
            "direction": hold.direction,
            "end": hold.end,
            "unit": hold.unit,
            "limit": measured(hold.limit, hold.unit),
            "drawn": measured(np.max(np.abs(hold.of(sampled.nominal, sampled.nominal))), hold.unit),
            "kept": float(share),
            "governs": ".".join(key) if part > 0 else "",
            "share": part,
        }


def governing(hold: Hold, spread: Spread) -> tuple[Key, float]:
    """The tolerance with the greatest share in what is held, and that share, 0 to 1; ("", "") where nothing moves it.

    Parameters
    ----------
    hold, spread : Hold, Spread
        What is held, of the spread's figures.
    """
    own = hold.along(spread.effect) ** 2
    total = float(np.sum(own))
    if not total > 1e-12:  # mm² and percent²: a rule that sets the valve leaves rounding
        return ("", ""), 0.0
    at = int(np.argmax(own))
    return list(spread.tolerances)[at], float(own[at] / total)


def tolerance_rows(gear: Gear, present: Tolerances, loosest: Loosest | None = None) -> Iterator[dict[str, Any]]:
    """One row for a tolerance: present half-width and the loosest, mm or degrees; tightest first.

    Of a clearance (``from_nothing``) it is the greatest, not a half-width.

    Parameters
    ----------
    gear, present : Gear, dict
        Whose dimensions they are; by (table, key).
    loosest : Loosest, optional
        Found from these.
    """
    rows = [
        {
            "table": key[0],
            "key": key[1],
            "unit": _unit(gear, key),
            "distribution": own.distribution,
            "assumed": own.assumed,
            "from_nothing": own.from_nothing,
            "present": measured(own.within, _unit(gear, key)),
            "loosest": measured(loosest.tolerances[key].within, _unit(gear, key)) if loosest else None,
            "factor": loosest.factors[key] if loosest else None,
        }
        for key, own in present.items()
    ]
    yield from sorted(rows, key=lambda row: row["factor"] or 0.0)


def _unit(gear: Gear, key: Key) -> str:
    return MM if kind_of(gear, key) == "length" else DEGREES
