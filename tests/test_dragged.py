"""The dragged valve in closed form against the plain recurrence, in both directions of running."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from linkmotion.sampled_events import Samples
from linkmotion.valve import Edge
from linkmotion.wear.dragged import Dragged, Faces
from linkmotion.wear.running import play

Array = NDArray[Any]
COUNT, ROWS = 720, 60
ANGLE = np.arange(COUNT) * 2 * np.pi / COUNT
LAPS = (24.0, -1.0, 24.0, -1.0)
SENSES = (1, -1, -1, 1)


def motions(play_of_each: float, bumps: float) -> tuple[Array, Array]:
    """Driven motions and half their play, mm: both wander from row to row; bumps make some rise and fall more often."""
    rng = np.random.default_rng(7)
    size, phase = rng.uniform(30.0, 60.0, (ROWS, 1)), rng.uniform(0, 2 * np.pi, (ROWS, 1))
    x = size * np.cos(ANGLE + phase) + 3.0 * np.cos(2 * ANGLE - phase) + bumps * np.cos(23 * ANGLE)
    freedom = np.abs(np.cos(ANGLE - rng.uniform(0, 2 * np.pi, (ROWS, 1)))) + 0.4  # with corners, as lost motion has
    return x, play_of_each * rng.uniform(0.0, 0.5, (ROWS, 1)) * freedom


def edges() -> list[Edge]:
    rng = np.random.default_rng(4)
    return [Edge(sense, lap + rng.normal(0.0, 0.2, ROWS)) for sense, lap in zip(SENSES, LAPS, strict=True)]


def both_ways(x: Array, half: Array, forward: bool) -> tuple[Dragged, Samples]:
    """The closed form, and the recurrence in the direction of running."""
    run = (x, half) if forward else (np.roll(own[:, ::-1], 1, axis=-1) for own in (x, half))
    return Dragged(Faces(x - half, x + half), forward), Samples(play(*run))


def alike(one: Dragged, other: Samples) -> None:
    rng = np.random.default_rng(3)
    assert np.max(np.abs(one.least - other.least)) < 1e-12
    assert np.max(np.abs(one.most - other.most)) < 1e-12
    for angle in (0.0, np.pi, *rng.uniform(0, 2 * np.pi, (20, ROWS))):
        assert np.max(np.abs(one.at(angle) - other.at(angle))) < 1e-11
    for own, plain in zip(one.openings(edges()), other.openings(edges()), strict=True):
        assert own.shape == plain.shape == (len(LAPS), ROWS)
        assert np.array_equal(np.isnan(own), np.isnan(plain))
        apart = np.angle(np.exp(1j * (own - plain)))  # the same moment may be told a turn apart
        assert np.nanmax(np.abs(apart)) < 1e-10


@pytest.mark.parametrize("forward", [True, False])
@pytest.mark.parametrize("amount", [0.0, 0.05, 0.5, 5.0])
def test_the_closed_form_is_the_recurrence(amount: float, forward: bool) -> None:
    x, half = motions(amount, 0.0)
    dragged, plain = both_ways(x, half, forward)
    assert dragged.faces.odd.size == (4 if amount == 5.0 else 0)  # where a corner of the play makes a turn of its own
    alike(dragged, plain)
    opens, _closes = dragged.openings(edges())
    assert np.count_nonzero(~np.isnan(opens)) > 3 * ROWS
    assert np.max(x.max(-1) - dragged.most) >= 0.3 * amount  # the play is seen


@pytest.mark.parametrize("forward", [True, False])
def test_motions_that_turn_more_often_and_valves_that_hardly_move_are_followed_sample_by_sample(forward: bool) -> None:
    x, half = motions(1.0, 0.0)
    x[::3] += motions(1.0, 2.0)[0][::3] - motions(1.0, 0.0)[0][::3]
    x[1::6] /= 100.0
    half[1::6] += 1.0
    dragged, plain = both_ways(x, half, forward)
    assert 10 < dragged.faces.odd.size < ROWS
    assert set(range(1, ROWS, 6)) <= set(dragged.faces.odd.tolist())
    alike(dragged, plain)


def test_without_play_both_are_the_gear_s_own_motion_to_the_last_bit() -> None:
    x, half = motions(0.0, 0.0)
    alone, with_none = (Dragged(Faces(*faces), True) for faces in ((x, x), (x - half, x + half)))
    assert np.array_equal(alone.most, x.max(-1))
    for one, other in zip(alone.openings(edges()), with_none.openings(edges()), strict=True):
        assert np.array_equal(one, other, equal_nan=True)
