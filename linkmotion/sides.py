"""The sides of an engine by name, and in words: the one place that tells a left side from a middle cylinder.

An engine file holds each side of an engine, a gear of its own; or one cylinder that has no other side, such as the
middle one of three. Which, the gear's class says (``Gear.sides``), and an engine answers for it (``Engine.sides``).
A layer of a state, a repair or a choice may stand for every side there is: "both".
"""

from __future__ import annotations

from collections.abc import Sequence

BOTH = "both"
PAIR = ("left", "right")
MIDDLE = ("middle",)
SIDE_NAMES = (*PAIR, *MIDDLE)
"""Every name that a side has in some engine's files."""
_IN_WORDS = {"": "between the sides", BOTH: "both sides", MIDDLE[0]: "middle cylinder"}


def side_words(side: str, sides: Sequence[str] = PAIR, alike: bool = False) -> str:
    """A side in words.

    Parameters
    ----------
    side : str
        By its name; "both" for every one there is, "" for what is between them.
    sides : sequence of str
        The engine's, where ``side`` may be "both".
    alike : bool
        Whether it stands for every side, these being alike.

    Examples
    --------
    >>> side_words("left"), side_words("both"), side_words("left", alike=True), side_words("")
    ('left side', 'both sides', 'both sides alike', 'between the sides')
    >>> side_words("middle"), side_words("both", ("middle",))
    ('middle cylinder', 'middle cylinder')
    """
    if alike:
        return f"{_IN_WORDS[BOTH]} alike"
    own = own_name(side, sides)
    return _IN_WORDS.get(own, f"{own} side")


def sides_words(sides: Sequence[str], link: str = " and ") -> str:
    """Several sides in words.

    Parameters
    ----------
    sides : sequence of str
        By name, one at least.
    link : str
        What stands between two.

    Examples
    --------
    >>> sides_words(("left", "right")), sides_words(("right",)), sides_words(("middle",))
    ('left and right side', 'right side', 'middle cylinder')
    """
    return side_words(link.join(sides))


def own_name(side: str, sides: Sequence[str]) -> str:
    """A side's name, where "both" may stand for the only one that there is.

    Parameters
    ----------
    side, sides : str, sequence of str
        As for :func:`side_words`.

    Examples
    --------
    >>> own_name("both", ("left", "right")), own_name("both", ("middle",))
    ('both', 'middle')
    """
    return sides[0] if side == BOTH and len(sides) == 1 else side


def sides_meant(side: str, sides: Sequence[str]) -> tuple[str, ...]:
    """The sides that a name stands for.

    Parameters
    ----------
    side, sides : str, sequence of str
        One of the engine's, or "both" for each of them; the engine's.
    """
    return tuple(sides) if side == BOTH else (side,)


def one_of(side: str | None, sides: Sequence[str]) -> str:
    """A side, seen to be one of an engine's; the first where none is named.

    Parameters
    ----------
    side, sides : str or None, sequence of str
        By its name; the engine's.

    Raises
    ------
    KeyError
        It is not.
    """
    if side is not None and side not in sides:
        raise KeyError(f"no side {side!r} of this engine; there is {', '.join(sides)}")
    return sides[0] if side is None else side
