"""DEVELOPERS.md, 'How to add a part of a linkage', followed to the letter: the kind of part it prints, and its use."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from scipy.optimize import fsolve

from linkmotion.linkage import Linkage, UnreachableError, Wheel, dimensions, gradient, misfit, solve
from linkmotion.linkage.order import orders_to_try
from linkmotion.linkage.placing import LoopRecipe
from tests.small_linkages import begun

ROOT = Path(__file__).parents[1]
PULLEY, SHAFT = 300 + 100j, 420 - 40j


def blocks() -> list[str]:
    section = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## How to add a part of a linkage")[1]
    return re.findall(r"```python\n(.*?)```", section.split("\n## ")[0], re.DOTALL)


@pytest.fixture
def printed(monkeypatch: pytest.MonkeyPatch) -> Any:
    """What the two blocks define, run one after the other as one module."""
    part, use = blocks()
    module = ModuleType("printed_part")
    monkeypatch.setitem(sys.modules, "printed_part", module)
    exec(compile(part + use, "DEVELOPERS.md", "exec"), module.__dict__)
    return module


def test_the_printed_part_stands_where_fsolve_puts_it(printed: Any) -> None:
    """Lever and cord written apart, one position after another."""
    crank = 50 * printed.turned.wheel.turn
    place = np.array([430.0, 60.0])
    for at, pin in enumerate(crank):

        def closures(xy: Any, pin: complex = pin) -> list[float]:
            end = complex(*xy)
            return [abs(end - SHAFT) - 100.0, abs(pin - PULLEY) + abs(end - PULLEY) - 480.0]

        place = fsolve(closures, place, xtol=1e-13)
        assert abs(printed.turned["lever pin"][at] - complex(*place)) < 1e-9
    assert max(misfit(printed.turned).values()) < 1e-11


def test_its_velocities_and_derivatives_are_differences(printed: Any) -> None:
    turned, wheel = printed.turned, Wheel.at([0.4])
    for key in dimensions(turned.linkage):
        found = gradient(solve(printed.indicator, wheel), {"lever pin": 1j}).dimension(*key)
        ahead, behind = (lever_pin(printed, key, by, wheel).imag for by in (1e-4, -1e-4))
        assert np.max(np.abs(found - (ahead - behind) / 2e-4)) < 1e-6 * max(1.0, np.max(np.abs(found))), key
    ahead, behind = (solve(printed.indicator, Wheel.at([0.4 - by]))["lever pin"] for by in (1e-5, -1e-5))
    rate = solve(printed.indicator, wheel).rates()["lever pin"]
    assert np.max(np.abs(rate - (ahead - behind) / 2e-5)) < 1e-6
    assert printed.per_cord.shape == (48,)


def lever_pin(printed: Any, key: tuple[str, str], by: float, wheel: Wheel) -> Any:
    """Where the lever pin stands with one number of the printed linkage changed."""
    linkage, (name, what) = printed.indicator, key
    names = list(linkage.names)
    parts = [replace(p, **{what: getattr(p, what) + by}) if p.owner(names) == name else p for p in linkage.parts]
    return solve(replace(linkage, parts=parts), wheel)["lever pin"]


def test_it_closes_a_loop(printed: Any) -> None:
    """A plate on two rods, its third pin on the cord: nothing can be placed without a cut."""
    linkage: Linkage = begun(("one", 230 + 30j), ("two", 450 + 60j), ("three", 210 - 80j))
    linkage.fixed("upper", 505.0, 320.0)
    linkage.fixed("eye", 275.0, -310.0)
    linkage.fixed("end", 300.0, -330.0)
    linkage.plate("plate", {"one": (0.0, 0.0), "two": (220.0, 30.0), "three": (-20.0, -110.0)})
    linkage.rod("drive rod", "crank pin", "one", 230.0)
    linkage.rod("upper rod", "upper", "two", 260.0)
    linkage.add(printed.Cord, "cord", "three", "eye", "end", length=230.0 + abs(25 - 20j))
    rods = begun(("one", 230 + 30j), ("two", 450 + 60j), ("three", 210 - 80j))
    rods.parts, rods.names, rods.near = list(linkage.parts[:-1]), dict(linkage.names), list(linkage.near)
    rods.rod("lower rod", "eye", "three", 230.0)  # the cord's other end stands still: it is a rod from the eye
    turned, same = (solve(each, Wheel.revolution(48)) for each in (linkage, rods))
    assert any(isinstance(recipe, LoopRecipe) for recipe in next(orders_to_try(linkage)))
    assert np.max(np.abs(turned["three"] - same["three"])) < 1e-9


def test_a_cord_too_short_is_told_by_name(printed: Any) -> None:
    """The crank straight away from the pulley takes 50 of the cord; the lever comes no nearer than |PS| − 100."""
    printed.indicator.parts[-1] = printed.Cord("cord", *printed.indicator.parts[-1].pins, length=400.0)
    with pytest.raises(UnreachableError, match="cord") as told:
        solve(printed.indicator, Wheel.revolution(360))
    least = abs(PULLEY) + 50.0 + abs(SHAFT - PULLEY) - 100.0
    assert set(told.value.parts) == {"lever", "cord"}
    assert abs(told.value.short - (least - 400.0)) < 0.05
