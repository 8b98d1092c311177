"""Tables of a tolerance study as plain rows: they feed the printed tables, the plots, CSV and JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from linkmotion.gears import Gear
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.figures.figure import DEGREES, MM
from linkmotion.studies.row_figures import measured
from linkmotion.studies.tolerances.after_setting import AfterSetting
from linkmotion.studies.tolerances.limits import Hold, Kept
from linkmotion.studies.tolerances.loosest import Loosest
from linkmotion.studies.tolerances.spread import Sampled, Spread
from linkmotion.studies.tolerances.tolerance import Tolerances, kind_of

_NOTHING = 5e-5  # a share that would be shown as none


def spread_rows(sampled: Sampled, linear: Spread, after: AfterSetting | None = None) -> Iterator[dict[str, Any]]:
    """One row for a figure: as drawn, its spread by Monte Carlo and linear, what governs it, the same after setting.

    Figures are mm or percent of stroke, as ``unit`` says; ``low`` to ``high`` hold 95 %.

    Parameters
    ----------
    sampled, linear : Sampled, Spread
        Of the same figures and tolerances.
    """
    made = {"mean": sampled.mean, "std": sampled.std, "std_linear": linear.std, "low": sampled.low,
            "high": sampled.high}  # fmt: skip
    gone = np.full(len(sampled.figures), np.nan)
    own = after.sampled if after else None
    once_set = {
        f"{name}_after_setting": getattr(own, name) if own else gone for name in ("mean", "std", "low", "high")
    } | {"std_linear_after_setting": after.linear.std if after else gone}
    for i, figure in enumerate(sampled.figures):
        key, share = sampled.shares(figure)[0] if sampled.tolerances else (("", ""), 0.0)
        yield {
            "notch": figure.notch,
            "direction": figure.direction,
            "end": figure.end,
            "what": figure.kind,
            "unit": figure.unit,
            "drawn": measured(sampled.nominal[i], figure.unit),
            **{name: measured(series[i], figure.unit) for name, series in made.items()},
            "happens": float(sampled.happens[i]),
            "governs": ".".join(key) if share > 0 else "",
            "share": share,
            **{name: measured(series[i], figure.unit) for name, series in once_set.items()},
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


def hold_rows(kept: Kept, sampled: Sampled, after: AfterSetting | None = None) -> Iterator[dict[str, Any]]:
    """One row for a target: its limit, the figure as drawn, how many engines keep it, what governs it."""
    once_set = after.kept.each if after else [None] * len(kept.holds)
    for hold, share, then in zip(kept.holds, kept.each, once_set, strict=True):
        key, part = governing(hold, sampled)
        key_then, part_then = governing(hold, after.sampled) if after else (("", ""), None)
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
            "kept_after_setting": None if then is None else float(then),
            "governs_after_setting": ".".join(key_then) if part_then else "",
            "share_after_setting": part_then,
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


def tolerance_rows(
    gear: Gear, present: Tolerances, loosest: Loosest | None = None, after: AfterSetting | None = None
) -> Iterator[dict[str, Any]]:
    """One row for a tolerance: present half-width and the loosest, mm or degrees; tightest first.

    Of a clearance (``from_nothing``) it is the greatest, not a half-width. ``left_by_setting`` is as
    :class:`AfterSetting` has it.
    """
    then = after.loosest if after else None
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
            "loosest_after_setting": measured(then.tolerances[key].within, _unit(gear, key)) if then else None,
            "factor_after_setting": then.factors[key] if then else None,
            "left_by_setting": after.left.get(key) if after else None,
            "set_at_erection": key in after.set_at_erection if after else None,
        }
        for key, own in present.items()
    ]
    yield from sorted(rows, key=lambda row: row["factor_after_setting"] or row["factor"] or 0.0)


def setting_rows(gear: Gear, after: AfterSetting) -> Iterator[dict[str, Any]]:
    """One row for an adjustment: its step and limits, and what of it is used; mm and degrees of the dimension.

    ``low`` to ``high`` hold 95 % of the gears made to the present tolerances.
    """
    for each, steps in zip(after.law.adjustments, after.steps.T, strict=True):
        unit, by = _unit(gear, each.key), each.per_step
        ends = sorted((each.least * by, each.most * by))
        yield {
            "table": each.key[0],
            "key": each.key[1],
            "work": each.work.name,
            "unit": unit,
            "step": measured(each.step, unit),
            "least": measured(ends[0], unit),
            "most": measured(ends[1], unit),
            "hours": each.hours,
            "low": measured(np.quantile(steps * by, 0.025), unit),
            "high": measured(np.quantile(steps * by, 0.975), unit),
            "altered": float(np.mean(steps != 0)),
            "at_limit": float(np.mean((steps == each.least) | (steps == each.most))),
        }


def _unit(gear: Gear, key: Key) -> str:
    return MM if kind_of(gear, key) == "length" else DEGREES
