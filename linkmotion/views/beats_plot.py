"""The beats round the wheel, and along one turn in milliseconds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from linkmotion.events import FORWARD
from linkmotion.sides import sides_words
from linkmotion.studies.steam.beats import LEAST, Beat, Beats
from linkmotion.views.beats_words import heard
from linkmotion.views.labels import spread
from linkmotion.views.lettering import Head, figure_key, width
from linkmotion.views.style import BEHIND, FULL, INK, SIDE_COLOURS, SMALL, as_svg, axes_or_new, label, mark, patch

MOST = 12  # cases in one picture
_ABREAST = 3  # rings in a row
_RING, _LANE = 2.35, 0.62  # inches: a ring with its words; a lane of the strip


def plot_beats(case: Beats, ax: Any = None) -> Any:
    """Where the left crank stands when each beat is heard: ring and beats as the wheel turns, front to the right.

    Broad grey ticks: the even places. A mark points to its side; filled: front end, open: back end; the stronger the
    beat, the larger the mark.

    Parameters
    ----------
    case : Beats
        Of one notch and direction.
    ax : matplotlib axes, optional
        New ones unless given; returned.
    """
    ax = axes_or_new(ax)
    ring = np.exp(1j * np.linspace(0, 2 * np.pi, 181))
    ax.plot(ring.real, ring.imag, color=INK, lw=1.0)
    ax.plot(0, 0, "o", color=INK, ms=3)
    clockwise = case.direction == FORWARD
    _arrow(ax, clockwise)
    for beat in case.sounding:
        at, even = (_place(angle, clockwise) for angle in (beat.angle, beat.angle - beat.late))
        ax.plot([0.82 * even.real, 1.18 * even.real], [0.82 * even.imag, 1.18 * even.imag], color=BEHIND, lw=4,
                solid_capstyle="butt", zorder=1)  # fmt: skip
        ax.plot([0, at.real], [0, at.imag], color=SIDE_COLOURS[beat.side], lw=1.0, zorder=2)
        ax.plot(at.real, at.imag, **_mark(beat, case), zorder=3)
        out = at * (1.42 + 0.36 * abs(at.real))  # a label is wider than high
        ax.text(out.real, out.imag, f"{beat.name}\n{_late(beat)}", ha="center", va="center", fontsize=SMALL)
    silent = [beat.name for beat in case.beats if beat.silent]
    words = f"\nsilent: {', '.join(silent)}" if silent else ""
    ax.set_title(f"{label(case.state)}\n{label(case.notch)}, running {case.direction}{words}", loc="center")
    ax.set(xlim=(-2.35, 2.35), ylim=(-1.75, 1.75), aspect="equal")
    ax.set_axis_off()
    return ax


def plot_strip(cases: Sequence[Beats], revolutions: float, ax: Any = None) -> Any:
    """One turn in milliseconds from left to right, a lane for each case: every beat with how late it comes."""
    ax, turn = axes_or_new(ax), 60_000 / revolutions
    for lane, case in enumerate(cases):
        ax.axhline(lane, color=INK, lw=0.8, zorder=1)
        for beat in case.sounding:
            at, even = (turn * (angle % 360) / 360 for angle in (beat.angle, beat.angle - beat.late))
            ax.plot([even, even], [lane - 0.22, lane + 0.22], color=BEHIND, lw=4, solid_capstyle="butt", zorder=1.5)
            ax.plot(at, lane, **_mark(beat, case), zorder=3)
        _name_beats(ax, case, lane, turn)
    ax.set_yticks(range(len(cases)), [_case(case) for case in cases])
    ax.set(xlim=(0, turn), ylim=(len(cases) - 0.45, -0.62))
    ax.set_xlabel(
        f"time over one turn at {revolutions:.0f} revolutions a minute, ms from front dead centre of the left side"
    )
    ax.tick_params(axis="y", length=0)
    ax.grid(visible=False, axis="y")
    return ax


def _name_beats(ax: Any, case: Beats, lane: int, turn: float) -> None:
    """Each beat's name above it and how late it comes below, kept off one another."""
    points = 350.0 / turn  # the strip is that wide, at least
    sounding = sorted(case.sounding, key=lambda beat: beat.angle)
    wide = max((width(beat.name) for beat in sounding), default=0.0) + 4
    places = spread([turn * beat.angle / 360 * points for beat in sounding], wide)
    for beat, place in zip(sounding, places, strict=True):
        late = beat.late / 360 * turn
        ms = "in its place" if abs(late) < 0.5 else f"{abs(late):.0f} ms {'late' if late > 0 else 'early'}"
        x = float(np.clip(place, wide / 2, 350 - wide / 2)) / points
        ax.text(x, lane - 0.3, beat.name, ha="center", va="bottom", fontsize=SMALL)
        ax.text(x, lane + 0.28, ms, ha="center", va="top", fontsize=SMALL)


def _case(case: Beats) -> str:
    return f"{label(case.state, 22)}\n{label(case.notch, 22)}"


def _place(angle: float, clockwise: bool) -> complex:
    return complex(np.exp(1j * np.radians(-angle if clockwise else angle)))


def _mark(beat: Beat, case: Beats) -> dict[str, Any]:
    loudest = max(abs(each.strength) for each in case.sounding) or 1.0
    return mark(beat.side, beat.end) | {"ms": 4 + 6 * abs(beat.strength) / loudest, "mew": 1.4}


def _late(beat: Beat) -> str:
    return "in its place" if abs(beat.late) < LEAST else f"{abs(beat.late):.1f}° {'late' if beat.late > 0 else 'early'}"


def _arrow(ax: Any, clockwise: bool) -> None:
    """Which way the wheel turns."""
    turn = np.exp(1j * np.radians(np.linspace(200.0, 262.0, 16)) * (-1 if clockwise else 1)) * 0.5
    ax.plot(turn.real, turn.imag, color=INK, lw=0.9)
    ends = [(place.real, place.imag) for place in turn[[-1, -2]]]
    ax.annotate("", xy=ends[0], xytext=ends[1], arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 0.9})


def beats_svg(cases: Sequence[Beats], revolutions: float, engine: str) -> bytes:
    """A ring for each case, under them the strip, and over them what is heard, in words."""
    across = min(len(cases), 2 if len(cases) == 4 else _ABREAST)
    down = -(-len(cases) // across)

    def draw(axes: Any) -> None:
        grid = np.reshape(axes, (down + 1, across))
        flat = list(np.ravel(grid[:-1]))
        for case, ax in zip(cases, flat, strict=False):
            plot_beats(case, ax)
        for ax in flat[len(cases) :]:
            ax.set_visible(False)
        figure, last = grid[0][0].figure, grid[-1][0].get_subplotspec().get_gridspec()
        for ax in grid[-1]:
            ax.remove()
        plot_strip(cases, revolutions, figure.add_subplot(last[-1, :]))
        figure_key(figure, _said(cases[0]))

    told = tuple(words for case in cases for words in heard(case, revolutions, of=len(cases) > 1))
    sides = list(dict.fromkeys(beat.side for beat in cases[0].beats))
    under = f"{', '.join(dict.fromkeys(label(case.state) for case in cases))}; {sides_words(sides)}"
    heights = [*[_RING] * down, _LANE * len(cases) + 0.35]
    head = Head("Exhaust beats", (engine, under, *told))
    return as_svg(draw, (FULL, sum(heights) + 0.3), (down + 1, across), heights=heights, head=head)


def _said(case: Beats) -> list[tuple[str, dict[str, Any]]]:
    marks = {beat.name: mark(beat.side, beat.end) | {"ms": 7, "mew": 1.4} for beat in case.beats}
    even = patch(BEHIND)
    return [*sorted(marks.items()), ("even place", even)]
