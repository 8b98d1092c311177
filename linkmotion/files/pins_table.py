"""The [pins] of an engine file: sizes and fits of its pins and bushes, and the diameters that were found in a state.

::

    [pins."die pin"]
    pin = "1 3/8 in"                 # diameter as drawn
    turned_to = "1 23/64 in"         # to which a worn pin is turned; as drawn unless given
    running = "RC5"                  # ISO 286 or RC class; H8/f7 unless given
    bush_outside = "1 7/8 in"        # where there is a bush, and its press fit in the housing (H7/r6 unless given)
    press = "H7/r6"
    housing_outside = "2 3/4 in"     # with these two its closing is reckoned, and the bore before pressing told
    length = "2 in"
    material = "phosphor bronze"
    housing = "mild steel"
    quantity = 2
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from linkmotion.engine import Engine
from linkmotion.files.faults import nearest
from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.length_forms import PLAIN, ovality
from linkmotion.files.length_taken import length_taken
from linkmotion.files.record_keys import RECORD_KEYS
from linkmotion.files.source import Source, Where, shown
from linkmotion.files.taken_forms import Taking
from linkmotion.wear.effects import pins_of
from linkmotion.wear.fits import Fit, FitError, Span, iso_fit, running_fit
from linkmotion.wear.materials import MATERIALS, Material, MaterialError, material
from linkmotion.wear.pin_schedule import Found, Joint, Pin
from linkmotion.wear.rings import BushError, Rings

_SIZES = ["pin", "turned_to", "bush_outside", "housing_outside", "length"]
_WORDS = ["running", "press", "material", "housing"]
USUAL = {"running": "H8/f7", "press": "H7/r6", "material": "phosphor bronze", "housing": "mild steel", "quantity": "2"}
"""What is taken where a pin's own table does not say; a press fit and a material only where there is a bush."""
_LARGEST = 250.0  # mm: what the fits hold


@dataclass(frozen=True)
class Schedule:
    """All pins of an engine in a state; ``unsized`` are joints of which the file gives no sizes."""

    engine: Engine
    state: str
    joints: tuple[Joint, ...]
    unsized: tuple[str, ...]

    @property
    def wrong(self) -> bool:
        """Whether any pin or bush is beyond its size."""
        return any(own.remarks for own in self.joints)


def read_pins(engine: Engine, source: Source) -> dict[str, Pin]:
    """The pins of an engine by the names of their joints, in the order of the file.

    Parameters
    ----------
    engine, source : Engine, Source
        As read; its text, under the name for messages.

    Raises
    ------
    FileError
        With line, key and remedy.
    """
    document = source.document()
    tables = source.table(document.get("pins", {}), ("pins",))
    known = drawn_joints(engine)
    reader = _Reader(source, engine.unit)
    found = {}
    for name, table in tables.items():
        if name in RECORD_KEYS:
            continue
        if name not in known:
            raise source.fault(("pins", name), "this gear has no such joint", nearest(name, known))
        found[name] = reader.pin(name, source.table(table, ("pins", name)))
    return found


def drawn_joints(engine: Engine) -> list[str]:
    """Names of the joints of an engine as drawn, of every side."""
    return list(dict.fromkeys(pin for side in engine.sides_apart for pin in pins_of(engine.gear(side=side))))


class _Reader:
    def __init__(self, source: Source, unit: str) -> None:
        self.source, self.unit = source, unit

    def pin(self, name: str, own: Mapping[str, Any]) -> Pin:
        """One pin."""
        source, where = self.source, ("pins", name)
        source.known(dict(own), where, [*_SIZES, *_WORDS, "quantity", *RECORD_KEYS])
        if "pin" not in own:
            raise source.fault((*where, "pin"), "missing", 'give the diameter as drawn: pin = "1 3/8 in"',
                               "it is missing: give it first, such as 1 3/8 in")  # fmt: skip
        sizes = {key: self._size(own[key], (*where, key)) for key in _SIZES if key in own}
        words = {key: source.words(own[key], (*where, key)) for key in _WORDS if key in own}
        turned_to = sizes.get("turned_to")
        if turned_to is not None and turned_to > sizes["pin"]:
            raise source.fault((*where, "turned_to"), "is more than the pin has", "a pin is turned to less")
        if "press" in words and "bush_outside" not in sizes:
            raise source.fault((*where, "press"), "a press fit of what bush?", "give bush_outside",
                               "a press fit of what bush? Give its outside first")  # fmt: skip
        size = sizes["pin"] if turned_to is None else turned_to
        inner = self._fit(words.get("running", USUAL["running"]), size, (*where, "running"))
        if inner.clearance.least <= 0:
            raise source.fault((*where, "running"), f"{inner.name} can leave no clearance", "a running fit is wanted")
        seat = sizes.get("bush_outside")
        outer = None if seat is None else self._fit(words.get("press", USUAL["press"]), seat, (*where, "press"))
        if outer is not None and outer.interference.most <= 0:
            raise source.fault((*where, "press"), f"{outer.name} leaves no interference", "a press fit is wanted")
        rings = self._rings(size, sizes, words, where)
        told = words.get("material", USUAL["material"] if seat is not None else "")
        return Pin(name, sizes["pin"], turned_to, inner, outer, rings, told, self._quantity(own, where))

    def _rings(self, bore: float, sizes: Mapping[str, float], words: Mapping[str, str], where: Where) -> Rings | None:
        bush = self._material(words.get("material", USUAL["material"]), (*where, "material"))
        housing = self._material(words.get("housing", USUAL["housing"]), (*where, "housing"))
        if not {"bush_outside", "housing_outside", "length"} <= set(sizes):
            if "bush_outside" in sizes and sizes["bush_outside"] <= bore:
                raise self.source.fault((*where, "bush_outside"), "is no more than its bore", "look at both figures")
            return None
        try:
            return Rings(seat=sizes["bush_outside"], outside=sizes["housing_outside"], bore=bore,
                         length=sizes["length"], housing=housing, bush=bush)  # fmt: skip
        except BushError as error:
            raise self.source.fault((*where, "bush_outside"), str(error), "check which figure is which") from None

    def _material(self, name: str, where: Where) -> Material:
        try:
            return material(name)
        except MaterialError:
            raise self.source.fault(where, f"read {shown(name)}", nearest(name, list(MATERIALS))) from None

    def _size(self, value: Any, where: Where) -> float:
        mm = length_taken(self.source, value, where, self.unit).value  # it is worked to: a doubt has no place in it
        if not 0 < mm <= _LARGEST:
            raise self.source.fault(
                where, f"read {shown(value)}", "more than nothing, up to 250 mm; is the unit right?"
            )
        return mm

    def _fit(self, name: str, nominal: float, where: Where) -> Fit:
        try:
            return running_fit(nominal, name.upper()) if name.upper().startswith("RC") else iso_fit(nominal, name)
        except FitError as error:
            raise self.source.fault(where, str(error), "give a class such as H8/f7, or RC5 (running)") from None

    def _quantity(self, own: Mapping[str, Any], where: Where) -> int:
        value = own.get("quantity", int(USUAL["quantity"]))
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 100:
            raise self.source.fault(
                (*where, "quantity"), f"read {shown(value)}", "write how many there are in the engine, such as 2"
            )
        return value


def found_diameters(engine: Engine, state: str, side: str) -> dict[str, Found]:
    """Diameters of bushes and pins as found on a side in a state, by joint; of joints that were measured so.

    Parameters
    ----------
    engine, state, side : Engine, str, str
        As read.
    """
    document = Source(engine.text, engine.name).document() if engine.text else {}
    found: dict[str, Any] = dict(document.get("wear", {}).get("clearance", {}))
    for name in engine.lineage(state):
        for layer in ("both", side):
            found |= document["state"][name].get(layer, {}).get("wear", {}).get("clearance", {})
    return {joint: _found(value, engine.unit) for joint, value in found.items() if _by_diameters(value)}


def _by_diameters(value: Any) -> bool:
    return isinstance(value, dict) and {"bush", "pin"} <= set(value)


def _found(value: Mapping[str, Any], unit: str) -> Found:
    taking = Taking(unit, PLAIN)
    spans = {}
    for word in ("bush", "pin"):
        try:
            read = [float(own.value) for own in ovality(taking, value[word], word)]
        except FigureFault:  # told when the file was read
            raise AssertionError(word) from None
        spans[word] = Span(min(read), max(read))
    return Found(**spans)
