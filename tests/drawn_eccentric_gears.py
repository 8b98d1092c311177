"""Gears with eccentrics drawn by hypothesis: each dimension up to 6 % either way of a trial gear's.

Nothing is made to fit: twenty-nine in thirty of these gears can be turned all the same. A dimension that is
nothing on the trial gear is drawn up to 3 mm (or degrees) either way.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hypothesis import strategies as st

from tests.drawn_gears import parts
from tests.independent.eccentric_trial_gears import KIND_OF, TRIAL_GEARS
from tests.independent.trial_gears import Tables

SHARE, FROM_NOTHING = 0.06, 3.0
NOT_VARIED = ("notches", "central_at", "port_width")


@st.composite
def eccentric_gears(draw: st.DrawFn) -> tuple[str, Tables, float]:
    """Kind, tables and setting: arm angle or stop, degrees, or place of the die, mm."""
    name = draw(st.sampled_from(sorted(TRIAL_GEARS)))
    tables = {table: _varied(draw, keys) for table, keys in TRIAL_GEARS[name].items()}
    if "eccentric" in tables:
        return KIND_OF[name], tables, tables["eccentric"][draw(st.sampled_from(_stops(tables)))]
    notches = tables["reversing"]["notches"].values()
    middle, reach = (max(notches) + min(notches)) / 2, (max(notches) - min(notches)) / 2
    return KIND_OF[name], tables, middle + draw(parts(reach))


def _varied(draw: st.DrawFn, keys: Mapping[str, Any]) -> dict[str, Any]:
    varied: dict[str, Any] = dict(keys)
    for key, value in keys.items():
        if isinstance(value, dict) and key not in NOT_VARIED:
            varied[key] = _varied(draw, value)
        elif isinstance(value, float) and key not in NOT_VARIED:
            varied[key] = value * (1 + draw(parts(SHARE))) if value else draw(parts(FROM_NOTHING))
    return varied


def _stops(tables: Tables) -> list[str]:
    return [key for key in ("angle", "backward_angle") if key in tables["eccentric"]]
