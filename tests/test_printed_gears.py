"""What the old articles say of their gears in formulas and words, held on the gears as engine files and motions.

The printed figures are rows of ``tests/references``; the gears stand in ``tests/references/gears``.
"""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise
from math import cos, radians, sin
from typing import Any

import numpy as np
import pytest
from scipy.optimize import fsolve

from linkmotion.files.engine_file import parse_engine
from linkmotion.studies.assess import assess
from tests.references.doors import GEARS, by_command, by_library, command, loop
from tests.references.motion_values import deprez_events

NOTCHES = {"4": 1.0, "3": 0.75, "2": 0.5, "1": 0.25, "0": 0.0}
STEPS = range(0, 360, 4)


def changed(stem: str, *pairs: tuple[str, str]) -> str:
    """A gear's file with some of its text replaced."""
    text = (GEARS / f"{stem}.toml").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return text


# ---- Brandt, Dingler 239 (1881) 249-252: the valve's motion to the second order --------------------------------------


def brandt(u: float, angle: float, sign: float) -> float:
    """Valve back of its equal-lead middle, the crank so far past front dead centre; u in half links.

    ``sign`` of the second-order part F: the article counts from the dead centre away from the cylinder, and the
    valve toward it, so that from front dead centre F enters with minus.
    """
    r, rods, half, d, w = 60.0, 900.0, 150.0, radians(30), radians(angle)
    first = r * (sin(d) + half / rods * (1 - u**2) * cos(d)) * cos(w) + u * r * cos(d) * sin(w)
    return first + sign * r**2 / (2 * rods) * (u * sin(2 * d) * cos(w) + cos(2 * d) * sin(w)) * sin(w)


def held_link(u: float, angle: float) -> float:
    """Die ahead of the axle by scipy: the link's middle held u half links low, crank so far past front dead centre."""
    r, rods, half, w = 60.0, 900.0, 150.0, radians(angle)
    eccentrics = r * np.exp(-1j * (w + np.radians([120.0, -120.0])))
    pins = np.array([half, -half]) * 1j - (rods - np.sqrt(rods**2 - half**2))

    def misfit(unknown: Any) -> Any:
        return np.abs(unknown[0] - 1j * half * u + pins * np.exp(1j * unknown[1]) - eccentrics) - rods

    along, lean = fsolve(misfit, [rods, 0.0], xtol=1e-12)
    centre = along - 1j * half * u - rods * np.exp(1j * lean)
    return float(centre.real + np.sqrt(rods**2 - centre.imag**2))


@cache
def motions() -> dict[str, tuple[Any, Any]]:
    """Valve back of its equal-lead middle in each notch, mm: of the engine file, and by scipy."""
    side, found = assess(parse_engine(changed("brandt"), "brandt.toml"), sides=("left",)).sides[0], {}
    for i, notch in enumerate(side.notches):
        ours = np.array([float(side.displacement[i](radians(a))) for a in STEPS])
        exact = np.array([held_link(NOTCHES[notch], a) for a in STEPS])
        found[notch] = tuple((own[0] + own[len(own) // 2]) / 2 - own for own in (ours, exact))
    return found


def brandt_errors(sign: float, which: int) -> list[float]:
    """Greatest error of the formula over a turn in each notch, mm: of the engine file, or of scipy's motion."""
    return [
        max(abs(at - brandt(NOTCHES[notch], a, sign)) for a, at in zip(STEPS, own[which], strict=True))
        for notch, own in motions().items()
    ]


def test_engine_file_moves_as_the_held_link_does() -> None:
    """Hung from 60 m the link's middle rises by 0.03 mm at most."""
    for notch, (ours, exact) in motions().items():
        assert np.abs(ours - exact).max() < 0.05, notch


@pytest.mark.parametrize("which", [0, 1])
def test_second_order_part_betters_the_formula_and_mid_gear_threefold(which: int) -> None:
    """What remains grows with the die's place: it is the die's slip, which the formula leaves out."""
    without, with_it, wrong = (brandt_errors(sign, which) for sign in (0.0, -1.0, 1.0))
    assert all(better < plain < worse for better, plain, worse in zip(with_it, without, wrong, strict=True))
    assert without[-1] > 2.8 * with_it[-1]
    assert all(full > mid for full, mid in pairwise(with_it))


def test_leads_are_the_formulas_to_its_order() -> None:
    """r (sin d + (c² - u²)/(c l) cos d) less the lap: within 0.15 mm, mean of the ends."""
    for notch, u in NOTCHES.items():
        lead = sum(by_command("brandt")["drawing", notch, "forward", end]["lead"] for end in ("front", "back")) / 2
        assert abs(lead - (brandt(u, 0.0, 0.0) - 24)) < 0.15


def test_crossed_rods_so_short_never_open_the_port_in_mid_gear() -> None:
    text = changed("brandt", ("forward_pin_y = 150", "forward_pin_y = -150"), ('notch = "0"', 'notch = "4"'))
    text = text.replace("backward_pin_y = -150", "backward_pin_y = 150")
    text = re.sub(r'^("[1-4]" = )-', r"\1", text, flags=re.MULTILINE)  # the link raised for forward gear
    ends = assess(parse_engine(text, "crossed.toml"), sides=("left",)).sides[0].events["forward"]
    leads = (ends["front"].lead + ends["back"].lead) / 2
    assert (np.diff(leads) < 0).all()
    assert leads[0] > 5 > 0 > leads[2] > leads[-1]
    assert ends["front"].missing["steam"][-1] == ends["back"].missing["steam"][-1] == "never opens"


def test_the_die_slips_more_with_crossed_rods() -> None:
    """By about a quarter in full gear, and not at all in mid gear: never printed, but a clean property."""
    slips = [
        [by_command(f"fuhst_{rods}")["drawing", notch, "forward", "front"]["die_slip"] for notch in NOTCHES]
        for rods in ("open", "crossed")
    ]
    for full, mid in ((one[0], one[-1]) for one in slips):
        assert full > 11
        assert mid < 0.02
    assert all(crossed > 1.2 * straight for straight, crossed in list(zip(*slips, strict=True))[:-1])
    assert abs(slips[1][0] / slips[0][0] - 1.25) < 0.02


def test_connecting_rods_slant_moves_the_cutoff_more_than_the_eccentric_rods() -> None:
    """In words: Dingler 241 (1881) 164 and others; why equal leads are not always the right setting."""
    straight = ("length = 2000\n", "length = 90000\n"), ("length = 900\n", "length = 54000\n")
    texts = {
        "none": changed("brandt_eccentric", *straight),
        "connecting rod": changed("brandt_eccentric", straight[1]),
        "eccentric rod": changed("brandt_eccentric", straight[0]),
    }
    cut = {
        name: [
            float(end.percent["cutoff"][0])
            for end in assess(parse_engine(text, f"{name}.toml"), sides=("left",)).sides[0].events["forward"].values()
        ]
        for name, text in texts.items()
    }
    moved = {name: np.abs(np.subtract(values, cut["none"])) for name, values in cut.items()}
    assert (moved["connecting rod"] > 5 * moved["eccentric rod"]).all()
    assert (moved["eccentric rod"] > 0.01).all()


# ---- others ---------------------------------------------------------------------------------------------------------


def test_wear_weighs_the_shifted_eccentric_as_a_change_of_travel_that_leaves_the_lead() -> None:
    """Turner, Dingler 200 (1871) 347: from 1 1/16 to 2 1/4 in of travel at one lead."""
    told = command("wear", GEARS / "turner.toml", "--state", "full travel", "--side", "left")
    changes = told["sides"][0]["together"]["changes"]
    assert told["unit"] == "in"
    assert abs(changes["travel"]["change"] - 1.1875) < 1 / 64
    assert abs(changes["lead front"]["change"]) < 0.03 / 25.4  # 0.03 mm, of a throw that grew by 15


@pytest.mark.parametrize("height", [0.0, 50.0, 75.0, 100.0, 120.0])
def test_deprezs_lead_is_one_at_every_height(height: float) -> None:
    """Exactly: at both dead centres the valve stands the throw from its middle, wherever the rod's end is held."""
    ends = deprez_events(35.0, 175.0, height, 9.0, 0.0)
    assert abs(ends["front"]["lead"] - 15) < 1e-9
    assert abs(ends["back"]["lead"] - 5) < 1e-9


def test_deprezs_unequal_valve_brings_the_two_strokes_together() -> None:
    def apart(height: float, equal: float) -> float:
        ends = deprez_events(35.0, 175.0, height, 9.0, equal)
        return abs(ends["front"]["cutoff"] - ends["back"]["cutoff"])

    assert 18 < apart(120.0, 30.0) < 21
    assert apart(120.0, 0.0) < 5
    assert apart(100.0, 0.0) < 2


def test_haedickes_parabola_is_near_the_expansion_that_it_stands_for() -> None:
    """Dingler 196 (1870) 377: p - (1 - e)² (4p + 1)/6 for the mean pressure, clearance about 1/17."""
    for pressure in (0.5, 0.75, 1, 1.5, 2, 2.5, 3, 3.5, 4):
        for cutoff in np.arange(1, 10) / 10:
            exact = loop("front", pressure + 0.25, 0.0, 1 / 18, float(cutoff)).mean - 0.25
            rule = pressure - (1 - cutoff) ** 2 * (4 * pressure + 1) / 6
            assert abs(exact - rule) < (0.27 if cutoff < 0.3 else 0.10) * (1 + 1e-9)


@pytest.mark.parametrize("stem", sorted(path.stem for path in GEARS.glob("*.toml")))
def test_command_and_library_tell_the_same_of_every_printed_gear(stem: str) -> None:
    told, known = by_command(stem), by_library(stem)
    assert set(told) == set(known)
    for place, row in known.items():
        for name, value in row.items():
            said = told[place][name]
            assert (said is None) == np.isnan(value), (place, name)
            assert said is None or abs(said - value) < 1e-6, (place, name)
