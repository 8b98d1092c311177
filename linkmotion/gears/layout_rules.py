"""Rules by which the trade lays gears out: what a dimension that nobody has most likely was.

A rule is a proposal: how far engines were built from it is its doubt, 19 in 20 (common practice, no source). What is
worked in closed form is so; the two dimensions that place a Walschaerts link are sought together on the real loop of
return crank, eccentric rod and link.

=================================  ====================================================================================
dimension                          rule
=================================  ====================================================================================
``radius_rod.length``              the slot's radius: the lead stays the same in every notch
``expansion_link.slot_radius``     the radius rod's length, or (Stephenson) the eccentric rods' to the slot's middle
``eccentric_rod.length``           the link stands upright at the dead centres, in the mean of both
``expansion_link.foot_backset``    the link swings as far to either side of upright
``combination_lever.upper_arm``    with the crosshead it moves the valve by lap and lead either way
``combination_lever.lower_arm``    the same
``eccentric_rods``                 one as long as the other; both by the slot's radius
``eccentrics`` throws              one as great as the other
``eccentrics`` angles              one the mirror image of the other; both by lap and lead with the crank on dead centre
=================================  ====================================================================================
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from linkmotion.gears.gear import Gear
from linkmotion.gears.link_upright import BACKSET, ROD, NoRule, Numbers, err_together, on_the_loop
from linkmotion.gears.sensitivity import Key, numbers, with_numbers
from linkmotion.gears.stephenson import Stephenson
from linkmotion.gears.walschaerts import Walschaerts

BY_RULE = "by rule"
COMMON = "common practice, no source"
Law = Callable[[Numbers, float, bool, float], Any]


@dataclass(frozen=True)
class Rule:
    """A rule for one dimension.

    Attributes
    ----------
    words : str
        What it says.
    doubt : callable
        Of its value: how near engines were built to it, 19 in 20; mm or degrees.
    law : callable or None
        Of the gear's numbers, its crank radius, whether steam is let in at the outer edges through a direct motion, and
        the lead: the value; NaN where what it is worked from is not known. None where it is sought on the loop.
    source : str
        Who says so.
    """

    words: str
    doubt: Callable[[float], float]
    law: Law | None
    source: str = COMMON


@dataclass(frozen=True)
class Proposed:
    """What a rule gives, mm or degrees.

    Attributes
    ----------
    value, rule : float, Rule
    parts : dict of float
        What each rule adds to its doubt (19 in 20), with its sign, by the dimension that the rule is for: two that
        were sought together rest on both their rules, and err together.
    """

    value: float
    rule: Rule
    parts: Mapping[Key, float]

    @property
    def doubt(self) -> float:
        """19 in 20."""
        return math.hypot(*self.parts.values())


def rules_of(kind: type[Any]) -> dict[Key, Rule]:
    """The rules known for a kind of gear, by (table, key)."""
    return _RULES.get(kind, {})


def proposed(gear: Gear, wanted: tuple[Key, ...], lead: float | None) -> dict[Key, Proposed]:
    """Dimensions by rule.

    Parameters
    ----------
    gear : Gear
        Complete but for those wanted, whose figures are NaN.
    wanted : tuple of (table, key)
        Each with a rule.
    lead : float or None
        For which the gear was laid out, mm.

    Raises
    ------
    NoRule
        A rule is worked from what is wanted too, or from a lead that is not given; or no such link can be.
    """
    rules, left = rules_of(type(gear)), list(wanted)
    found: dict[Key, float] = {}
    direct, given = gear.valve.admission == "outside", np.nan if lead is None else lead
    if isinstance(gear, Stephenson) and gear.valve.rocker is not None:
        direct = not direct
    while True:
        known = numbers(with_numbers(gear, found))
        more = {}
        for key in left:
            law = rules[key].law
            value = np.nan if law is None else law(known, gear.crank.radius, direct, given)
            if np.isfinite(value):
                more[key] = float(value)
        if not more:
            break
        found |= more
        left = [key for key in left if key not in found]
    sought = tuple(key for key in left if rules[key].law is None)
    if stuck := [key for key in left if key not in sought]:
        raise _lacking(stuck[0], rules[stuck[0]], lead)
    laid = with_numbers(gear, found)
    if sought:
        found |= on_the_loop(laid, sought)
    parts = {key: {key: rules[key].doubt(found[key])} for key in wanted}
    if len(sought) > 1:
        parts |= err_together(laid, {key: found[key] for key in sought}, parts)
    return {key: Proposed(found[key], rules[key], parts[key]) for key in wanted}


def _lacking(key: Key, rule: Rule, lead: float | None) -> NoRule:
    name = ".".join(key)
    if lead is None and "lead" in rule.words.replace("the lead stays", ""):
        return NoRule(f"{name} is laid out by lap and lead, and no lead is given", "give, among the targets, the lead")
    return NoRule(f"what {name} is worked from is by rule too", "give one of them as a figure")


def _same(key: Key) -> Law:
    return lambda known, _crank, _direct, _lead: known[key]


def _lap(known: Numbers) -> Any:
    laps = [known[key] for key in (("valve", "steam_lap"), ("valve", "steam_lap_front"), ("valve", "steam_lap_back"))
            if key in known]  # fmt: skip
    return np.mean(laps)


def _upper(known: Numbers, crank: float, direct: bool, lead: float) -> Any:
    return known["combination_lever", "lower_arm"] * (_lap(known) + lead) / crank * (1 if direct else -1)


def _lower(known: Numbers, crank: float, _direct: bool, lead: float) -> Any:
    return abs(known["combination_lever", "upper_arm"]) * crank / (_lap(known) + lead)


def _by_lap_and_lead(name: str, sign: int) -> Law:
    """An eccentric's angle: its advance by lap and lead over its throw, or the mirror image of the other's."""
    other = "backward" if name == "forward" else "forward"

    def law(known: Numbers, _crank: float, direct: bool, lead: float) -> float:
        mirrored = -known["eccentrics", f"{other}_angle"]
        if np.isfinite(mirrored):
            return float(mirrored)
        with np.errstate(invalid="ignore"):
            advance = np.degrees(np.arcsin((_lap(known) + lead) / known["eccentrics", f"{name}_throw"]))
        return float(sign * (90.0 + advance if direct else -(90.0 - advance)))

    return law


def _struck(known: Numbers, _crank: float, _direct: bool, _lead: float) -> Any:
    rods = [
        known["eccentric_rods", name] - known["expansion_link", f"{name}_pin_x"] for name in ("forward", "backward")
    ]
    return np.mean(rods)


def _rod(name: str) -> Law:
    other = "backward" if name == "forward" else "forward"

    def law(known: Numbers, _crank: float, _direct: bool, _lead: float) -> float:
        alike = known["eccentric_rods", other]
        if np.isfinite(alike):
            return float(alike)
        return float(known["expansion_link", "slot_radius"] + known["expansion_link", f"{name}_pin_x"])

    return law


def _within(mm: float) -> Callable[[float], float]:
    return lambda _value: mm


def _part(share: float) -> Callable[[float], float]:
    return lambda value: share * abs(value)


_BY_RADIUS = "as long as the slot's radius, so that the lead stays the same in every notch"
_ALIKE = "as long as the other, or by the slot's radius"
_MIRROR = "the other's mirror image, or by lap and lead on dead centre"
_FORWARD_THROW, _BACKWARD_THROW = ("eccentrics", "forward_throw"), ("eccentrics", "backward_throw")
_BY_LEVER = "so that the crosshead moves the valve by lap and lead either way"
_RULES: dict[type[Any], dict[Key, Rule]] = {
    Walschaerts: {
        ("radius_rod", "length"): Rule(
            _BY_RADIUS, _within(3.0), _same(("expansion_link", "slot_radius")), "C. A. Purinton, The Live Steamer, 1951"
        ),
        ("expansion_link", "slot_radius"): Rule(
            "struck with the radius rod's length, so that the lead stays the same in every notch",
            _part(0.01),
            _same(("radius_rod", "length")),
            "C. A. Purinton, The Live Steamer, 1951",
        ),
        ROD: Rule("so that the link stands upright at the dead centres, in the mean", _within(6.0), None),
        BACKSET: Rule("so that the link swings as far to either side of upright", _within(12.0), None),
        ("combination_lever", "upper_arm"): Rule(_BY_LEVER, _part(0.03), _upper),
        ("combination_lever", "lower_arm"): Rule(_BY_LEVER, _part(0.03), _lower),
    },
    Stephenson: {
        ("expansion_link", "slot_radius"): Rule(
            "struck with the eccentric rods' length to the slot's middle", _part(0.1), _struck
        ),
        ("eccentric_rods", "forward"): Rule(_ALIKE, _part(0.02), _rod("forward")),
        ("eccentric_rods", "backward"): Rule(_ALIKE, _part(0.02), _rod("backward")),
        _FORWARD_THROW: Rule("as great as the backward", _within(1.5), _same(_BACKWARD_THROW)),
        _BACKWARD_THROW: Rule("as great as the forward", _within(1.5), _same(_FORWARD_THROW)),
        ("eccentrics", "forward_angle"): Rule(_MIRROR, _within(4.0), _by_lap_and_lead("forward", 1)),
        ("eccentrics", "backward_angle"): Rule(_MIRROR, _within(4.0), _by_lap_and_lead("backward", -1)),
    },
}
