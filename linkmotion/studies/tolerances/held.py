"""What must be held, answered as a whole: as made with nothing adjusted, and after setting."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from linkmotion.engine import SideState, Targets
from linkmotion.gears.sensitivity import Key
from linkmotion.studies.assess import SideEvents
from linkmotion.studies.setting.adjustments import Adjustment
from linkmotion.studies.tolerances.after_setting import AfterSetting, after_setting, loosest_after_setting
from linkmotion.studies.tolerances.limits import Hold, Kept, holds, kept
from linkmotion.studies.tolerances.loosest import YIELD, Loosest, loosest, reachable
from linkmotion.studies.tolerances.setting_law import SettingLaw
from linkmotion.studies.tolerances.spread import (
    SAMPLES,
    SEED,
    Sampled,
    Spread,
    linear_spread,
    model_of,
    monte_carlo,
    toleranced_side,
)
from linkmotion.studies.tolerances.tolerance import Tolerance

Progress = Callable[[int, int], None]


@dataclass(frozen=True, eq=False)
class Held:
    """Gears made to tolerances, and what of the targets they keep.

    Attributes
    ----------
    side : SideEvents
        At its figures.
    tolerances : dict
        The present ones, by (table, key).
    targets : Targets
        What is to be held.
    linear, sampled : Spread, Sampled
        The figures with nothing adjusted, by derivatives and of the gears turned.
    kept : Kept
        How many engines keep the targets so.
    loosest : Loosest or None
        The loosest set with nothing adjusted, if it was sought.
    after : AfterSetting or None
        The same after setting, where there is anything to set this side by.
    adjustments : tuple of Adjustment
        All that was given to set the engine by.
    """

    side: SideEvents
    tolerances: dict[Key, Tolerance]
    targets: Targets
    linear: Spread
    sampled: Sampled
    kept: Kept
    loosest: Loosest | None = None
    after: AfterSetting | None = None
    adjustments: tuple[Adjustment, ...] = ()

    @property
    def share(self) -> float:
        """Of engines that keep every target, 0 to 1: after setting, where there is anything to set by."""
        return self.after.kept.share if self.after else self.kept.share

    @property
    def missed(self) -> tuple[tuple[Hold, float], ...]:
        """Targets that the drawing itself does not keep, with the figure."""
        return reachable(self.kept.holds, self.sampled.nominal)[1]


def hold(
    setup: SideState,
    side: SideEvents,
    tolerances: dict[Key, Tolerance],
    targets: Targets,
    adjustments: Sequence[Adjustment] = (),
    notches: Sequence[str] | None = None,
    wanted: float = YIELD,
    samples: int = SAMPLES,
    seed: int = SEED,
    executor: Executor | None = None,
    told_of: Callable[[str], Progress | None] = lambda _stage: None,
    search: bool = True,
) -> Held:
    """Make gears to tolerances, set them, and look for the loosest set either way.

    Parameters
    ----------
    setup, side : SideState, SideEvents
        A side as its file has it, and as :func:`~linkmotion.studies.tolerances.spread.toleranced_side` gives it.
    tolerances, targets, notches, wanted, samples, seed, executor
        As for :func:`~linkmotion.studies.tolerances.loosest.loosest`.
    adjustments : sequence of Adjustment
        What the engine can be set by; without any the gears are left as they are made.
    told_of : callable
        From the name of a stage to what is called with (variants done, variants in all).
    search : bool
        Whether to look for the loosest set.
    """
    names, drawn = list(notches or side.notches), (samples, seed, executor)
    model = model_of(side, tolerances, names)
    linear = linear_spread(side, tolerances, names, model)
    sampled = monte_carlo(side, tolerances, names, *drawn, told_of("present tolerances"), model)
    sides = len(side.gear.sides)
    limits = holds(targets, sampled.figures, sides)
    sought = search and bool(reachable(limits, sampled.nominal)[0])
    asked = (side, tolerances, targets, names, wanted, *drawn)
    best = loosest(*asked, told_of("loosest set"), model) if sought else None
    share, given = kept(limits, sampled.values, sides), tuple(adjustments)
    found = Held(side, tolerances, targets, linear, sampled, share, best, adjustments=given)
    if not adjustments:
        return found
    whole = toleranced_side(setup) if notches else side
    law = SettingLaw.of(whole, tolerances, adjustments, targets, names)
    if law is None:
        return found
    after = after_setting(law, sampled, targets, seed)
    if sought:
        told = told_of("loosest set after setting")
        then = loosest_after_setting(law, *asked, told, model)
        after = replace(after, loosest=then)
    return replace(found, after=after)
