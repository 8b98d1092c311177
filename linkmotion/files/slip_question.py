"""The question asked of a file whose figures make no gear: which of them may be wrong by a slip of the pen.

It is asked alike wherever a fault is found: in one figure as it is read, in a check of several, or in a gear that
cannot pass.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from linkmotion.engine import Engine
from linkmotion.files.faults import spoken
from linkmotion.files.lengths import UNITS
from linkmotion.files.source import Where, dotted

_MOST = 1e12  # in any unit: what is more is no slip of the pen


@dataclass(frozen=True)
class SlipQuestion:
    """What is asked.

    Attributes
    ----------
    words, plain : str
        The question, with what would come of it; the same without keys as a file has them.
    place : tuple of str or None
        Where the figure stands in the file; None where it may be one of several.
    passes : bool
        Whether the gear would pass with it; else its figures would go together, no more.
    """

    words: str
    plain: str
    place: Where | None
    passes: bool


def slip_question(engine: Engine, state: str, side: str, notch: str | None = None) -> SlipQuestion | None:
    """Ask for the figures that alone keep a side from passing in a state; None where there is no such.

    Where figures do not go together, and with none of them altered the gear would pass, those are asked for that
    make them go together.

    Parameters
    ----------
    engine, state, side
        Which side, as read.
    notch : str, optional
        One in which it is known not to pass.
    """
    from linkmotion.studies.slips import slips, slips_in_figures  # loads the studies

    setup, then = engine.side_state(state, side), "Then the gear would pass"
    likely = slips(setup, notch)
    sure = bool(likely)
    if not likely:
        likely, then = slips_in_figures(setup), "Then the figures would go together"
    if not likely:
        return None
    unit = float(UNITS[engine.unit])
    pairs = [
        (slip.path, slip.given / each, slip.instead / each)
        for slip, each in ((slip, 1.0 if slip.angle else unit) for slip in likely)
    ]
    asked = ", or ".join(slipped(*own) for own in pairs)
    said = ", or ".join(f"{instead:.6g} and not {given:.6g} ({spoken(dotted(path))})" for path, given, instead in pairs)
    alone = likely[0].path if len({slip.path for slip in likely}) == 1 else None
    place = None if alone is None else (*engine.layer_of(alone, state, side), *alone)
    return SlipQuestion(f"is it {asked}? {then}", f"is it {said}? {then}", place, sure)


def slipped(path: Where, given: float, instead: float) -> str:
    """A figure and what it may have to be, as they are written in the file.

    Parameters
    ----------
    path : tuple of str
        Of its key.
    given, instead : float
        In the file's unit, or degrees.
    """
    return f"{dotted(path)} = {given:.6g}: {instead:.6g}"


def figures_meant(given: object, taken: Callable[[float], bool]) -> list[float]:
    """Figures of which one may be meant by a number that its key cannot have.

    Parameters
    ----------
    given
        As it was read; nothing is meant by what is no number.
    taken : callable
        Whether the key can have a figure.
    """
    from linkmotion.studies.slips import FACTORS

    if isinstance(given, bool) or not isinstance(given, int | float) or abs(given) > _MOST:
        return []
    return [given * factor for factor in FACTORS if taken(given * factor)]
