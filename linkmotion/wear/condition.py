"""What the gauge found: clearances, worn faces, bends, slips, heights and heat of one side of an engine.

Everything here is in the gauge's own words. :mod:`linkmotion.wear.effects` turns it into changed
dimensions, a shifted slot and free movement at the joints.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from functools import lru_cache
from typing import Any

import numpy as np

from linkmotion.wear.die_block import Profile, pin_reach

Amounts = Mapping[str, float]


@dataclass(frozen=True)
class FaceLoss:
    """Metal lost on the slot's faces at one place, mm; places along the slot from mid link, + up; which row it was."""

    at: float
    front: float = 0.0
    back: float = 0.0
    row: int = field(default=0, compare=False, kw_only=True)


@dataclass(frozen=True)
class Condition:
    """Condition of one side.

    Attributes
    ----------
    clearance : dict
        Pin name → diametral clearance, mm.
    slot : tuple of FaceLoss
        Readings along the slot, in order of place.
    die_clearance : float
        Clearance of the die square to the slot where the faces have lost nothing, mm.
    die_offset : float
        Pin hole ahead of the middle of the die block, mm.
    bow : dict
        Rod → bow, mm (its chord shortens by 8 b² / 3 L).
    bent : dict
        Link pin → (ahead, up): how far a bend in the link's plane has carried it, mm.
    die_length : float
        Of the die block along the slot, mm: it lies across hollows of worn faces. 0: taken as a point.
    twist, die_side_clearance : float
        Out-of-plane twist of the link over the slot's length; side clearance of the die, mm.
    angle_slip : dict
        Return crank (turned on the crank pin) or eccentric (on the axle) → slip ahead of where it was keyed,
        the way the wheel turns running forward, degrees.
    axle_height : float
        Axle above its running height in the horns, mm.
    heat : dict
        "rods", "spindle", "frame" → kelvin above the temperature at which the valve was set.
    spindle_length : float
        Spindle pin to valve, mm (for heat).
    """

    clearance: Amounts = field(default_factory=dict)
    slot: tuple[FaceLoss, ...] = ()
    die_clearance: float = 0.0
    die_offset: float = 0.0
    bow: Amounts = field(default_factory=dict)
    bent: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    twist: float = 0.0
    die_length: float = 0.0
    die_side_clearance: float = 0.0
    angle_slip: Amounts = field(default_factory=dict)
    axle_height: float = 0.0
    heat: Amounts = field(default_factory=dict)
    spindle_length: float = 0.0

    @property
    def sound(self) -> bool:
        """True when nothing has been entered."""
        return self == SOUND

    @property
    def loose(self) -> bool:
        """True when there may be play anywhere."""
        return bool(any(self.clearance.values()) or self.slot or self.die_clearance)

    @property
    def cold(self) -> Condition:
        """The same without its heat."""
        return replace(self, heat={}, spindle_length=0.0) if self.heat else self

    def slot_shift(self, place: Any) -> Any:
        """How far the die pin's path stands ahead of the drawn slot, mm.

        Midway between the foremost and the rearmost place of the pin (of a die that is a point: half the difference of
        the losses); an offset die adds its own.

        Parameters
        ----------
        place : float or array
            Along the slot from mid link, + up, mm.
        """
        ahead, behind = self._reach(place)
        return (ahead + behind) / 2 + self.die_offset

    def die_play(self, place: Any) -> Any:
        """Clearance of the die square to the slot, mm: from the pin's rearmost to its foremost.

        Of a die that is a point: the losses of both faces and its own fit.

        Parameters
        ----------
        place : float or array
            Along the slot from mid link, + up, mm.
        """
        ahead, behind = self._reach(place)
        return ahead - behind

    def _reach(self, place: Any) -> tuple[Any, Any]:
        """How far ahead and behind the pin can stand where its hole is in the middle of the die."""
        if self.slot and self.die_length:
            ahead, behind = _block(self.slot, self.die_length, self.die_clearance)
            return ahead(place), behind(place)
        own = self.die_clearance / 2
        return self._loss("front", place) + own, -self._loss("back", place) - own

    def _loss(self, face: str, place: Any) -> Any:
        """Loss of a face between and beyond the readings: a smooth curve that overshoots none of them."""
        if not self.slot:
            return np.zeros(np.shape(place))
        at = np.array([reading.at for reading in self.slot])
        depth = np.array([getattr(reading, face) for reading in self.slot])
        if at.size == 1:
            return np.full(np.shape(place), depth[0])
        from scipy.interpolate import PchipInterpolator

        return PchipInterpolator(at, depth)(np.clip(place, at[0], at[-1]))

    def items(self) -> list[tuple[str, Condition]]:
        """Each thing entered, by itself: its name in plain words and the condition with it alone."""
        found: list[tuple[str, Condition]] = []
        for key in _NAMED:
            for name, amount in getattr(self, key).items():
                if not np.any(amount):  # made good in a state based on a worse one
                    continue
                one: dict[str, Any] = {key: {name: amount}}
                if key == "heat":
                    one["spindle_length"] = self.spindle_length
                alone = Condition(**one)
                found.append((wear_in_words(key, name), alone))
        for key in _SINGLE:
            if getattr(self, key):
                felt_by = ("die_length",) if key == "slot" else ()
                alone = Condition(**{own: getattr(self, own) for own in (key, *felt_by)})
                found.append((wear_in_words(key), alone))
        return found

    def without(self, item: Condition) -> Condition:
        """The condition with one of its items made good.

        Parameters
        ----------
        item : Condition
            One of :meth:`items`.
        """
        changes: dict[str, Any] = {}
        for key in (f.name for f in fields(Condition)):
            amount = getattr(item, key)
            if not amount or key == "die_length":  # a size, not wear
                continue
            own = getattr(self, key)
            changes[key] = {k: v for k, v in own.items() if k not in amount} if isinstance(own, dict) else type(own)()
        if changes.get("heat"):
            changes.pop("spindle_length", None)
        return replace(self, **changes)


def wear_in_words(kind: str, name: str = "") -> str:
    """What is entered of wear, in words.

    Parameters
    ----------
    kind, name : str
        A key of a state's wear; of what, where it has a figure for each joint or part.

    Examples
    --------
    >>> wear_in_words("clearance", "die pin"), wear_in_words("die_clearance")
    ('clearance at the die pin', 'die slack in the slot')
    """
    words = _NAMED.get(kind) if name else _SINGLE.get(kind)
    return (words or kind.replace("_", " ")).format(name)


_NAMED = {
    "clearance": "clearance at the {}",
    "bow": "{} bowed",
    "bent": "link bent at the {}",
    "angle_slip": "{} slipped",
    "heat": "{} warm",
}
_SINGLE = {
    "slot": "slot worn",
    "die_clearance": "die slack in the slot",
    "die_offset": "die's pin hole off its middle",
    "axle_height": "axle off its running height",
}


@lru_cache(maxsize=32)
def _block(slot: tuple[FaceLoss, ...], length: float, clearance: float) -> tuple[Profile, Profile]:
    """Reach of the pin of a die block along a worn slot; kept, since a gear asks for it at every turn."""
    faces = Condition(slot=slot)

    def room(face: str) -> Profile:
        # metal proud by more than the block has room for is dressed off, or it would not go in
        return lambda place: np.maximum(faces._loss(face, place) + clearance / 2, 0.0)

    return pin_reach(room("front"), room("back"), length, (slot[0].at, slot[-1].at))


SOUND = Condition()
"""Nothing entered: as drawn."""
