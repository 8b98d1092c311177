"""Radial gears drawn by hypothesis: dimensions up to 4 % either way of a trial gear's, its arm within the notches."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from tests.drawn_gears import parts
from tests.independent import bell_crank_trial_gears, radial_trial_gears
from tests.independent.trial_gears import Tables

TRIAL_GEARS = radial_trial_gears.TRIAL_GEARS | bell_crank_trial_gears.TRIAL_GEARS
KIND_OF = radial_trial_gears.KIND_OF | bell_crank_trial_gears.KIND_OF
SHARE, FROM_NOTHING = 0.04, 3.0
NOT_VARIED = ("notches", "central_at", "port_width")


@st.composite
def radial_gears(draw: st.DrawFn) -> tuple[str, Tables, float]:
    """Kind, tables and the reversing arm's angle, degrees, or a Southern block's place, mm."""
    name = draw(st.sampled_from(sorted(TRIAL_GEARS)))
    tables = {table: _varied(draw, keys) for table, keys in TRIAL_GEARS[name].items()}
    notches = tables["reversing"]["notches"].values()
    middle, reach = (max(notches) + min(notches)) / 2, (max(notches) - min(notches)) / 2
    return KIND_OF[name], tables, middle + draw(parts(reach))


def _varied(draw: st.DrawFn, keys: dict[str, Any]) -> dict[str, Any]:
    varied: dict[str, Any] = dict(keys)
    for key, value in keys.items():
        if isinstance(value, dict) and key not in NOT_VARIED:
            varied[key] = _varied(draw, value)
        elif isinstance(value, float) and key not in NOT_VARIED:
            varied[key] = value * (1 + draw(parts(SHARE))) if value else draw(parts(FROM_NOTHING))
    return varied
