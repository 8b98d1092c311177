"""How a state stands: as it stands, what setting its valves afresh would mend, and what heat makes of it in service."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from linkmotion.engine import AS_IT_STANDS, DRAWING, IN_SERVICE, SET_AFRESH, Engine
from linkmotion.studies.assess import Assessment, afresh_at, assess
from linkmotion.studies.findings import Finding, findings
from linkmotion.studies.row_figures import Length

MOVED = 0.02  # mm: no nut sets a valve nearer


@dataclass(frozen=True, eq=False)
class Stand:
    """An engine in one state, looked at in one way, and what is to be said of it."""

    assessment: Assessment
    findings: list[Finding]

    @property
    def name(self) -> str:
        """How it is looked at: "as it stands", "set afresh" or "in service"."""
        return self.assessment.standing

    @property
    def out(self) -> list[Finding]:
        """What is out of target."""
        return [finding for finding in self.findings if finding.out]


@dataclass(frozen=True, eq=False)
class StateStands:
    """A state in every way in which there is something to tell of it.

    Attributes
    ----------
    stands : Stand
        As it stands.
    afresh : Stand or None
        Its valves set again by the rule; None where none would move, or there is no rule.
    in_service : Stand or None
        Warm; None where the state gives no heat.
    moved : dict of float
        Side → by how much its valve moves on its spindle when it is set afresh, mm, + ahead.
    """

    stands: Stand
    afresh: Stand | None
    in_service: Stand | None
    moved: dict[str, float]

    @property
    def state(self) -> str:
        """Which."""
        return self.stands.assessment.state

    def __iter__(self) -> Iterator[Stand]:
        """Every way in which it is looked at, as it stands first."""
        return (own for own in (self.stands, self.afresh, self.in_service) if own is not None)

    @property
    def places(self) -> dict[str, float]:
        """Side → place of the spindle pin with the valve central, mm along its guide, as it stands."""
        return {side.side: side.central_at for side in self.stands.assessment.sides}

    @property
    def wrong(self) -> bool:
        """Whether a target is out as it stands, or in service."""
        return any(own.out for own in self if own.name != SET_AFRESH)

    def left_by_setting(self, finding: Finding) -> Finding | None:
        """What is left of a finding when the valves are set afresh; None where that mends it.

        Parameters
        ----------
        finding : Finding
            As it stands; ``afresh`` must be there.
        """
        assert self.afresh is not None
        return next((own for own in self.afresh.out if own.place == finding.place), None)


def how_it_stands(
    engine: Engine, state: str = DRAWING, sides: Iterable[str] | None = None, notches: Iterable[str] | None = None
) -> StateStands:
    """Look at a state as it stands, set afresh and in service.

    Parameters
    ----------
    engine, state, sides, notches
        As for :func:`~linkmotion.studies.assess.assess`.

    Raises
    ------
    NotchError, KeyError
        As :func:`~linkmotion.studies.assess.assess`.
    """
    sides = engine.sides if sides is None else tuple(sides)
    notches = None if notches is None else tuple(notches)

    def stand(standing: str) -> Stand:
        found = assess(engine, state, sides, notches, standing)
        return Stand(found, findings(found))

    stands, moved = stand(AS_IT_STANDS), dict.fromkeys(sides, 0.0)
    if all(engine.side_state(state, side).rule is not None for side in sides):
        for own in stands.assessment.sides:
            moved[own.side] = own.central_at - afresh_at(engine.side_state(state, own.side))
    afresh = stand(SET_AFRESH) if any(abs(by) > MOVED for by in moved.values()) else None
    heat = any(any(engine.condition(state, side).heat.values()) for side in sides)
    return StateStands(stands, afresh, stand(IN_SERVICE) if heat else None, moved)


def valve_rows(state: StateStands) -> Iterator[dict[str, Any]]:
    """A row for each side: where its valve is, in what state it was set there, and how far setting would move it.

    Parameters
    ----------
    state : StateStands
        As :func:`how_it_stands` gives it.
    """
    engine = state.stands.assessment.engine
    for side, place in state.places.items():
        yield {
            "state": state.state,
            "side": side,
            "central_at": Length(place),
            "set_in_state": engine.side_state(state.state, side).placed.state,
            "moved_by_setting_afresh": Length(state.moved[side]),
        }
