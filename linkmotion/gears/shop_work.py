"""The work by which a dimension is altered on an engine, in the words of the shop.

Steps, limits and hours are what is usual, from memory; what an engine really has is for its file to say. Nothing here
has a source: it is common practice.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ShopWork:
    """An adjustment that gears have, in the words of the shop.

    Attributes
    ----------
    name : str
        The part.
    more, less : str
        What is done for a positive and a negative amount, with ``{}`` for the amount.
    order : int
        Place in the order of work: what upsets everything after it comes first, the valve on its spindle last.
    hours : float
        Cost of doing it at all, whatever the amount.
    inches, mm, degrees : (float, int)
        Usual step in the unit (inches for files of inches), and most steps either way.
    shared : bool
        True where it alters both sides at once.
    offered : bool
        Whether it is assumed where the engine file says nothing.
    way : int
        −1 where more of it is less of the dimension.
    """

    name: str
    more: str
    less: str
    order: int
    hours: float
    inches: tuple[float, int] = (1 / 64, 8)
    mm: tuple[float, int] = (0.5, 6)
    degrees: tuple[float, int] = (0.25, 6)
    shared: bool = False
    offered: bool = True
    way: int = 1


def lengthened(name: str, order: int, hours: float, *, way: int = 1, offered: bool = True) -> ShopWork:
    """The work of setting a rod longer or shorter.

    Parameters
    ----------
    name, order, hours, way, offered
        As of :class:`ShopWork`.
    """
    more, less = f"lengthen the {name} by {{}}", f"shorten the {name} by {{}}"
    return ShopWork(name, more, less, order, hours, way=way, offered=offered)


def turned_upon(name: str, upon: str, *, offered: bool = True) -> ShopWork:
    """The work of turning an eccentric on its axle and keying it afresh.

    Parameters
    ----------
    name, offered
        As of :class:`ShopWork`.
    upon : str
        What it is turned on.
    """
    words = f"turn the {name} on its {upon} so that it stands {{}} further"
    return ShopWork(name, f"{words} ahead", f"{words} back", 2, 8.0, offered=offered)
