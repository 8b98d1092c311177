"""Declaring a key of the dimension book: its kind, its meaning, and all that follows from what it is.

A key is a field of a table made by one of the functions here. What the key is the length of, what slips about
it, what a bend carries away, how heat reaches it and by what work it is altered on an engine stands where the key is
declared, so that no other room need name a gear's tables.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import MISSING, dataclass, field
from typing import Any

from linkmotion.gears.shop_work import ShopWork

TOWARD = {"ahead": 1, "behind": -1, "above": 1j, "below": -1j}


def key_in_words(key: tuple[str, str]) -> str:
    """A dimension in words.

    Parameters
    ----------
    key : (table, key)
        As in an engine file.

    Examples
    --------
    >>> key_in_words(("eccentric_rod", "length"))
    'eccentric rod: length'
    """
    return f"{key[0]}: {key[1]}".replace("_", " ").replace(".", " ")


@dataclass(frozen=True)
class Fault:
    """Something wrong with the figures of a gear before it is turned: which key, what, and the remedy."""

    table: str
    key: str
    problem: str
    remedy: str


def in_mm(
    meaning: str,
    default: Any = MISSING,
    *,
    signed: bool = False,
    zero: bool = False,
    frame: str = "",
    rod: str = "",
    pin: tuple[str, str] | None = None,
    slot: str = "",
    edge: tuple[str, str] | None = None,
    work: ShopWork | None = None,
    how: str = "",
) -> Any:
    """Key holding a length, mm.

    Parameters
    ----------
    meaning : str
        In words, for starter files and messages.
    default : optional
        Without one the key must be given; None: it may be left out.
    signed, zero : bool
        Positive unless ``signed``, or ``zero`` is allowed.
    frame : str
        Which coordinate of a place fixed on the frame it is: "x", "y", or "line" (a height of the cylinder
        line): an axle that rises in its horns, or a warm frame, changes those.
    rod : str
        Name of the rod of the linkage whose length it is: it can bow, and grows with heat.
    pin : (str, str)
        Pin of the link and the side to which the length places it, one of :data:`TOWARD`.
    slot : str
        "radius", "offset" or "lean" of the slot's centre line, "top" or "bottom" of the die pin's reach along it.
    edge : (str, str)
        "steam" or "exhaust", whose lap it is, or "port", whose width; and at which end ("": alike at both).
    work : ShopWork
        How it is altered on an engine.
    how : str
        How it is measured and with what, where that does not follow from what it is.
    """
    marks = {"frame": frame, "rod": rod, "pin": pin, "slot": slot, "edge": edge, "work": work, "how": how}
    return _key("length", meaning, default, signed=signed, zero=zero, **marks)


@dataclass(frozen=True)
class ByReadings:
    """A way to take an angle as a difference of lengths.

    Attributes
    ----------
    words : tuple of str
        What the lengths read are called in an engine file.
    beside : tuple of str
        Keys of the same table, one of which must be given.
    law : callable
        The angle (degrees) by the gear without it, the lengths by their words (mm), and whether it leads; in numpy's
        analytic functions.
    """

    words: tuple[str, ...]
    beside: tuple[str, ...]
    law: Callable[[Any, Mapping[str, Any], bool], Any]


def in_degrees(
    meaning: str,
    default: Any = MISSING,
    *,
    slips: str = "",
    slot: str = "",
    hand: bool = False,
    work: ShopWork | None = None,
    readings: tuple[ByReadings, ...] = (),
) -> Any:
    """Key holding an angle, degrees.

    Parameters
    ----------
    meaning, default, slot, work
        As for :func:`in_mm`.
    slips : str
        Name of what has turned when the angle is no longer as keyed (an eccentric on the axle); a table whose other
        figures then change too has a method ``slipped(degrees, crank_radius)`` that gives it anew.
    hand : bool
        Whether it is as much the other way on the other side of the engine, which is then drawn by itself.
    readings : tuple of ByReadings
        Ways to take it from lengths.
    """
    marks = {"slips": slips, "slot": slot, "hand": hand, "work": work, "readings": readings}
    return _key("angle", meaning, default, signed=True, zero=True, **marks)


def one_of(meaning: str, choices: tuple[str, ...], default: Any = MISSING) -> Any:
    """Key holding one of a few words.

    Parameters
    ----------
    meaning, default
        As for :func:`in_mm`.
    choices : tuple of str
        The words.
    """
    return _key("words", meaning, default, choices=choices)


def in_form(
    meaning: str, kind: str, default: Any = None, *, work: ShopWork | None = None, die_places: bool = True
) -> Any:
    """Key with a form of its own.

    Parameters
    ----------
    meaning, default, work
        As for :func:`in_mm`.
    kind : str
        The form, of those that engine files know ("notches", "setting", "pressure").
    die_places : bool
        Whether a notch may also be given by the place of a die that the reverser carries along a slot.
    """
    return _key(kind, meaning, default, work=work, die_places=die_places)


def in_table(meaning: str, table: type[Any]) -> Any:
    """Key holding a small table of its own, given or not.

    Parameters
    ----------
    meaning : str
        As for :func:`in_mm`.
    table : type
        Its dataclass.
    """
    return _key("table", meaning, None, table=table)


def _key(kind: str, meaning: str, default: Any, **more: Any) -> Any:
    metadata = {"kind": kind, "meaning": meaning, **{name: value for name, value in more.items() if value is not None}}
    return field(metadata=metadata) if default is MISSING else field(default=default, metadata=metadata)
