"""What printed gears give that stand as engine files in ``gears``: by command, and by the library."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import pi, radians, sin, sqrt
from typing import Any

from scipy.optimize import brentq, minimize_scalar

from tests.references.doors import GEARS, Numbers, Routes, Rows, by_command, by_library, command, valve_of

DOORS: dict[str, Callable[[str], Rows]] = {"command": by_command, "library": by_library}
ENDS = ("front", "back")


def of_row(row: dict[str, Any], figure: str) -> float:
    """A figure of one end: a column of the command's table, or one derived from it.

    ``…_done``: how much of the return the piston has done; ``…_to_go``: how much of its stroke is to go;
    ``…_before``: degrees before the end's own dead centre; ``…_before_end``: degrees before the other one.
    """
    event, _, told = figure.partition("_")
    if told in ("done", "to_go"):
        return 100 - row[f"{event}_percent"]
    if told == "before":
        return 360 - row[f"{event}_angle"]
    if told == "before_end":
        return 180 - row[f"{event}_angle"]
    return float(row[figure])


def at_ends(rows: Rows, n: Numbers, notch: str) -> dict[str, float]:
    """The figure of both ends in a notch."""
    places = {end: (n.get("state", "drawing"), notch, n.get("direction", "forward"), end) for end in ENDS}
    return {end: of_row(rows[place], n["figure"]) for end, place in places.items()}


def mean(rows: Rows, n: Numbers, notch: str) -> float:
    """The mean of both ends, which rods of any length hardly change."""
    return sum(at_ends(rows, n, notch).values()) / 2


def of_gear(n: Numbers) -> Routes:
    """The mean of the ends in the notch named, or the end named."""
    found = {}
    for door, rows in DOORS.items():
        ends = at_ends(rows(n["gear"]), n, n["notch"])
        found[door] = ends[n["end"]] if "end" in n else sum(ends.values()) / 2
    return found


def ends_apart(n: Numbers) -> Routes:
    """The front end's figure less the back end's."""
    found = {}
    for door, rows in DOORS.items():
        ends = at_ends(rows(n["gear"]), n, n["notch"])
        found[door] = ends["front"] - ends["back"]
    return found


def ratio(n: Numbers) -> Routes:
    """The figure in one notch over that in another."""
    return {
        door: mean(rows(n["gear"]), n, n["notch"]) / mean(rows(n["gear"]), n, n["to"]) for door, rows in DOORS.items()
    }


def link_part(n: Numbers) -> Routes:
    """Half of the movement that the link gives, square to that of mid gear."""
    found = {}
    for door, rows in DOORS.items():
        full, mid = (rows(n["gear"])["drawing", notch, "forward", "front"]["valve_travel"] for notch in ("full", "mid"))
        found[door] = sqrt((full / 2) ** 2 - (mid / 2) ** 2)
    return found


def growing(n: Numbers) -> Routes:
    """Share of the steps from notch to notch over which the figure grows."""
    found, notches = {}, n["notches"].split()
    for door, rows in DOORS.items():
        values = [mean(rows(n["gear"]), n, notch) for notch in notches]
        steps = list(pairwise(values))
        found[door] = sum(after > before for before, after in steps) / len(steps)
    return found


def more_than(n: Numbers) -> Routes:
    """Share of the notches in which the figure is more than another gear's."""
    found, notches = {}, n["notches"].split()
    for door, rows in DOORS.items():
        more = [mean(rows(n["gear"]), n, notch) > mean(rows(n["other"]), n, notch) for notch in notches]
        found[door] = sum(more) / len(notches)
    return found


# ---- the error of a short eccentric rod -----------------------------------------------------------------------------


def rod_error(stem: str, throw: float, advance: float) -> Callable[[float], float]:
    """What the eccentric rod's slant adds to harmonic motion, + forward, valve set for equal leads."""
    displacement, _ = valve_of(stem)
    return lambda angle: float(displacement(angle)) + throw * sin(angle + radians(advance))


def error_zero(n: Numbers) -> Routes:
    """Crank angle, degrees, at which the error is nothing."""
    error, at = rod_error(n["gear"], n["throw"], n["advance"]), radians(n["near"])
    return {"library": brentq(error, at - 0.3, at + 0.3, xtol=1e-12) * 180 / pi}


def error_extreme(n: Numbers) -> Routes:
    """Crank angle, degrees, at which the error is greatest either way."""
    error, at = rod_error(n["gear"], n["throw"], n["advance"]), radians(n["near"])
    sign = 1 if error(at) > 0 else -1
    found = minimize_scalar(
        lambda angle: -sign * error(angle), bounds=(at - 0.5, at + 0.5), method="bounded", options={"xatol": 1e-9}
    )
    return {"library": found.x * 180 / pi}


def error_half_range(n: Numbers) -> Routes:
    """Half of what the error ranges over."""
    error = rod_error(n["gear"], n["throw"], n["advance"])
    values = [error(2 * pi * i / 720) for i in range(720)]
    return {"library": (max(values) - min(values)) / 2}


# ---- setting by the leads, by the command ---------------------------------------------------------------------------


def set_by_command(readings: str, wanted: Callable[[Any], float]) -> Callable[[Numbers], Routes]:
    """A figure of what ``linkmotion adjust`` advises on printed leads, laid over the drawing."""

    def found(_: Numbers) -> Routes:
        engine, read = GEARS / "ahrons.toml", GEARS / "readings" / f"{readings}.toml"
        told = command("adjust", engine, read, "--side", "left", "--basis", "drawing", "--move-sound-parts")
        assert [work["dimension"] for work in told["work"]] == ["eccentric_rod.length"]
        return {"command": wanted(told)}

    return found


def shorter(told: Any) -> float:
    """By how much the rod is shortened, in."""
    return -float(told["work"][0]["amount"])


def then_read(end: str) -> Callable[[Any], float]:
    """Lead that will be read at an end when it is done, in."""

    def lead(told: Any) -> float:
        rows = told["sides"][0]["readings"]
        return float(next(row for row in rows if row["end"] == end)["expected"][-1])

    return lead


VALUES: dict[str, Callable[[Numbers], Routes]] = {
    "gear": of_gear,
    "gear, ends apart": ends_apart,
    "gear, ratio": ratio,
    "gear, link's part": link_part,
    "gear, growing": growing,
    "gear, more than another": more_than,
    "rod's error, zero": error_zero,
    "rod's error, extreme": error_extreme,
    "rod's error, half range": error_half_range,
    "rod shortened to equal leads": set_by_command("ahrons", shorter),
    "front lead with the rod shortened": set_by_command("ahrons", then_read("front")),
    "back lead with the rod shortened": set_by_command("ahrons", then_read("back")),
    "front lead with the back line and line": set_by_command("sinclair", then_read("front")),
}
