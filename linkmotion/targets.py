"""What the user wants held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

_BETWEEN_SIDES = "side_"


@dataclass(frozen=True)
class Targets:
    """What the user wants held.

    Defaults are common practice, no source: 1/64 in. of lead, 2 % of stroke (5 % near mid gear), 1/16 in. of lost
    motion.

    Attributes
    ----------
    lead_difference, cutoff_difference
        Between the ends of one cylinder: mm; percent of stroke.
    side_lead_difference, side_cutoff_difference
        Between the sides of the engine, same end: mm; percent of stroke.
    mid_cutoff_difference
        Of both, in a notch that drives the engine neither way, percent of stroke: near mid gear the valve moves so
        little while the piston goes half its stroke that a hair of it is percents.
    lost_motion
        At the spindle, wheel held, mm.
    lead, lead_within
        Lead wanted in every notch and how near, mm; not looked at unless given.
    chosen : frozenset of str
        Those that the user chose; the others are the defaults.
    """

    lead_difference: float = 0.4
    cutoff_difference: float = 2.0
    side_lead_difference: float = 0.4
    side_cutoff_difference: float = 2.0
    mid_cutoff_difference: float = 5.0
    lost_motion: float = 1.5
    lead: float | None = None
    lead_within: float = 0.4
    chosen: frozenset[str] = frozenset()

    def apart(self, what: str, between: str, drives: str) -> float:
        """What leads or cutoffs may differ by.

        Parameters
        ----------
        what : str
            "lead" or "cutoff".
        between : str
            "ends" of one cylinder or "sides" of the engine.
        drives : str
            Which way the notch drives the engine: "forward", "backward" or "both" (near mid gear).

        Returns
        -------
        float
            Of leads mm, of cutoffs percent of stroke.

        Examples
        --------
        >>> Targets().apart("cutoff", "ends", "forward"), Targets().apart("cutoff", "ends", "both")
        (2.0, 5.0)
        """
        if what == "cutoff" and drives == "both":
            return self.mid_cutoff_difference
        return getattr(self, f"{_BETWEEN_SIDES * (between == 'sides')}{what}_difference")  # type: ignore[no-any-return]


def targets_for(sides: Sequence[str]) -> tuple[str, ...]:
    """Names of the targets that mean anything of an engine.

    Parameters
    ----------
    sides : sequence of str
        The engine's: with one alone there is nothing between them.

    Examples
    --------
    >>> [name for name in targets_for(("left", "right")) if name not in targets_for(("middle",))]
    ['side_lead_difference', 'side_cutoff_difference']
    """
    named = (own.name for own in fields(Targets) if own.name != "chosen")
    return tuple(name for name in named if len(sides) > 1 or not name.startswith(_BETWEEN_SIDES))
