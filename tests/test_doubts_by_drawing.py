"""Combined doubts against engines drawn within them and turned by an independent solver: within 2 %, the project's bar.

Of the product only the lost motion per mm of clearance is used (held to an exact reach in ``test_lost_motion.py``). The
spread is not the bare scatter of the engines drawn, which for 120 of them is good to no more than 6 %: their figures
are fitted by least squares to the errors drawn, whose spread is known, and what the fit leaves over is added.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from scipy.stats import norm
from scipy.stats.qmc import Sobol

from linkmotion.files.engine_file import parse_engine
from linkmotion.measuring.taken import NORMAL
from linkmotion.studies.assess import assess
from linkmotion.studies.doubts.event_doubts import EventDoubts, event_doubts
from linkmotion.studies.figures.figure import Figure
from linkmotion.studies.figures.play import clearable
from tests.bad_engines.changed import DOCK
from tests.independent.at_once import slot_place, worn_round
from tests.taken_readings import Floats, Shop, Taking, _departed, _fine, _raised, _Turn

DRAWN = 120
STATE = "gauged"
NOTCHES = ("full forward", "forward 50")
PARTS = {  # value (None: as drawn) and doubt, mm or degrees
    ("connecting_rod", "length"): (1460.5, 3.0), ("return_crank", "angle"): (83.5, 0.1),
    ("eccentric_rod", "length"): (800.9, 0.15), ("expansion_link", "trunnion_x"): (876.3, 0.2),
    ("radius_rod", "length"): (962.0, 0.25), ("combination_lever", "upper_arm"): (69.85, 0.2),
    ("valve", "steam_lap"): (20.6, 0.2), ("reversing", "shaft_y"): (None, 1.0),
}  # fmt: skip
CLEARANCES = {"die pin": (0.6, 0.3), "foot": (0.4, 0.2), "lever pin": (0.3, 0.1)}
RISE, BOW = (2.0, 2.4), (20.0, 3.0)
SLOT = ((-85.0, (0.4, 0.3), (0.3, 0.2)), (-45.0, (0.7, 0.2), (0.5, 0.2)), (20.0, (0.4, 0.2), (0.3, 0.2)))
KINDS = (*((kind, "percent") for kind in ("cutoff", "compression")), ("lead", "mm"), ("opening", "mm"))


@cache
def shop() -> Shop:
    return Shop("dock_shunter")


def parts() -> dict[tuple[str, str], tuple[float, float]]:
    drawn = shop().tables
    return {key: (own if own is not None else drawn[key[0]][key[1]], doubt) for key, (own, doubt) in PARTS.items()}


@cache
def gauged() -> EventDoubts:
    """What the study says of the state with every figure ± its doubt."""
    lines = [f"[state.{STATE}.left.valve]", f'central_at = "{shop().side.central_at:.9f} mm"']
    tables: dict[str, list[str]] = {"valve": lines}
    for (table, key), (value, doubt) in parts().items():
        unit = "" if key == "angle" else " mm"
        tables.setdefault(table, [f"[state.{STATE}.left.{table}]"]).append(f'{key} = "{value:.9f} ± {doubt}{unit}"')
    clearance = [f'"{pin}" = "{own} ± {doubt} mm"' for pin, (own, doubt) in CLEARANCES.items()]
    rows = [
        f'{{ at = "{at} mm", front = "{front[0]} ± {front[1]} mm", back = "{back[0]} ± {back[1]} mm" }}'
        for at, front, back in SLOT
    ]
    tables["wear"] = [
        f"[state.{STATE}.left.wear]", f'axle_height = "{RISE[0]} ± {RISE[1]} mm"',
        f'bow = {{ "radius rod" = "{BOW[0]} ± {BOW[1]} mm" }}',
        f"clearance = {{ {', '.join(clearance)} }}", f"slot = [ {', '.join(rows)} ]", "die_length = 0",
    ]  # fmt: skip
    engine = parse_engine("\n".join([DOCK, *(line for own in tables.values() for line in own), ""]))
    side = assess(engine, STATE, ("left",), NOTCHES).sides[0]
    found = event_doubts(engine, side)
    assert found is not None
    return found


def figures() -> list[Figure]:
    return [own for own in gauged().model.figures if (own.kind, own.unit) in KINDS and own.direction == "forward"]


@cache
def engines_drawn() -> tuple[Floats, Floats]:
    """Errors of DRAWN engines, in standard uncertainties, and their figures by the independent solver."""
    count = len(PARTS) + len(CLEARANCES) + 2 + 2 * len(SLOT)
    errors = norm.ppf(Sobol(count, rng=4).random(128)[:DRAWN])
    return errors, np.array([_figures(row / NORMAL) for row in errors])


def _figures(errors: Floats) -> Floats:
    """One engine's; errors in doubts."""
    own, each = shop(), iter(errors.tolist())
    departures = {
        key: value + doubt * next(each) - own.tables[key[0]][key[1]] for key, (value, doubt) in parts().items()
    }
    lap = departures.pop(("valve", "steam_lap"))
    departures |= {("valve", f"steam_lap_{end}"): lap for end in ("front", "back")}
    clearances = {pin: value + doubt * next(each) for pin, (value, doubt) in CLEARANCES.items()}
    rise, bow = (value + doubt * next(each) for value, doubt in (RISE, BOW))
    losses = np.array([[value + doubt * next(each) for value, doubt in row[1:]] for row in SLOT])
    at = [row[0] for row in SLOT]
    front, back = (PchipInterpolator(at, losses[:, face]) for face in (0, 1))

    def along(place: Floats) -> Floats:
        return np.clip(place, at[0], at[-1])

    rod = own.tables["radius_rod"]["length"] + departures["radius_rod", "length"]
    departures["radius_rod", "length"] -= 8 * bow**2 / (3 * rod)
    tables = _departed(own.tables, departures)
    _raised(tables, rise)
    taking = Taking({"front": 0.0, "back": 0.0}, 0.0, 1.0, 0.0, 0.0, "forward", False)
    found = []
    for notch in NOTCHES:
        i = own.side.notches.index(notch)
        gear = (tables, own.settings[i], own.kind, own.drawn[i].x)
        turned = worn_round(*gear, lambda place: (front(along(place)) - back(along(place))) / 2)
        place = _fine(slot_place(tables, own.kind, turned))
        half = (front(along(place)) + back(along(place))) / 2 * _fine(own.die_free[notch])
        free = dict(zip(clearable(own.side.gear), own.free[notch], strict=True))
        half = half + sum(clearance / 2 * _fine(free[pin]) for pin, clearance in clearances.items())
        turn = _Turn(tables, turned, half, own.side.central_at, taking)
        found += [turn._value(figure, 1.0) for figure in figures() if figure.notch == notch]
    return np.array(found)


def test_doubts_are_those_of_engines_drawn() -> None:
    errors, found = engines_drawn()
    known = np.column_stack([errors, np.ones(len(errors))])
    slopes = np.linalg.lstsq(known, found, rcond=None)[0]
    left = np.sum((found - known @ slopes) ** 2, axis=0) / (len(errors) - known.shape[1])
    shares = slopes[:-1] ** 2 / (np.sum(slopes[:-1] ** 2, axis=0) + left)
    spread = NORMAL * np.sqrt(np.sum(slopes[:-1] ** 2, axis=0) + left)
    assert len(figures()) == 16
    for figure, own in zip(figures(), spread.tolist(), strict=True):
        assert gauged().doubt(figure) == pytest.approx(own, rel=0.02), figure
    kinds = np.split(shares, np.cumsum([len(PARTS), len(CLEARANCES), 1, 1]))
    for kind in kinds:  # each, left out, would make some doubt more than 2 % too small
        assert np.sum(kind, axis=0).max() > 0.06
