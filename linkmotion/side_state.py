"""One side of an engine in one state: its gear ready to be turned, and how it is looked at."""

from __future__ import annotations

from dataclasses import dataclass, replace

from linkmotion.gears import Gear
from linkmotion.gears.book import Valve
from linkmotion.gears.reverser import Notch
from linkmotion.wear.condition import SOUND, Condition

AS_IT_STANDS, SET_AFRESH, IN_SERVICE = STANDINGS = ("as it stands", "set afresh", "in service")
"""How a state is looked at: cold, its valve where it is on its spindle; its valve put again where the drawing's rule
has it; and warm."""


@dataclass(frozen=True)
class SideState:
    """A gear ready to be turned: one side in one state, its notches as reverser positions."""

    side: str
    state: str
    gear: Gear
    rack: Gear  # the side's gear as drawn, on which a die height is turned into an arm angle
    own_notches: frozenset[str]  # notches that the state gives itself
    condition: Condition = SOUND
    last_set: SideState | None = None  # the side as its valve was last set by its rule, where that was in another state

    @property
    def placed(self) -> SideState:
        """The side as it was when its valve got its place on the spindle: itself, where it gives that place."""
        return self if self.last_set is None or self.gear.valve.central_at is not None else self.last_set

    @property
    def rule(self) -> Valve | None:
        """Its valve set by the rule that it is set afresh by; None where neither it nor the drawing has one."""
        ruled = next((gear.valve for gear in (self.gear, self.rack) if gear.valve.set_by is not None), None)
        if ruled is None:
            return None
        return replace(self.gear.valve, central_at=None, set_by=ruled.set_by, set_in=ruled.set_in)

    @property
    def on_reassembly(self) -> str:
        """How it will be looked at once it is put together again: set afresh, where there is a rule for that."""
        return AS_IT_STANDS if self.rule is None else SET_AFRESH

    def alike(self, other: SideState) -> bool:
        """Whether another side has the same gear in the same condition, its rack and its valve's place the same.

        Parameters
        ----------
        other : SideState
            Of any state; its notches and its name are not looked at.
        """
        mine, its = (
            (own.gear, own.rack, own.condition, own.placed.gear, own.placed.condition) for own in (self, other)
        )
        return mine == its

    def altered(self, gear: Gear | None = None, condition: Condition | None = None) -> SideState:
        """The side with another gear or condition, its valve left where it is on its spindle.

        Parameters
        ----------
        gear, condition : Gear, Condition, optional
            What takes the place of its own; kept where not given.
        """
        return replace(
            self,
            gear=self.gear if gear is None else gear,
            condition=self.condition if condition is None else condition,
            last_set=self.placed,
        )

    @property
    def notches(self) -> dict[str, Notch]:
        """Named positions of the reverser."""
        return self.gear.notches
