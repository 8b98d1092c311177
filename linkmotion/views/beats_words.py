"""What is heard of the beats, in words for those who cannot hear it."""

from __future__ import annotations

from collections.abc import Iterator

from linkmotion.studies.steam.beats import Beats

_HEARD, _PLAIN = (
    2.5,
    6.0,
)  # percent of an even gap: less is not heard, more is heard by anybody; common practice, no source
_LOUDER = 1.12  # times as strong: a decibel, which is about the least that is heard; common practice, no source


def heard(case: Beats, revolutions: float, of: bool = False) -> Iterator[str]:
    """How a turn of the wheel sounds: how many beats, how they limp, which is loud.

    Parameters
    ----------
    revolutions : float
        A minute.
    of : bool
        Whether to begin with which case it is.

    Examples
    --------
    "Heard in one turn of 1000 ms: 4 beats; 262, 238, 250 and 250 ms from one to the next (left front first): a slight
    limp, longest before the right back. All are equally loud."
    """
    sounding = case.sounding
    which = f"{case.state}, {case.notch}, running {case.direction}. " if of else ""
    if not sounding:
        yield f"{which}Nothing is heard."
        return
    turn = 60_000 / revolutions
    gaps = [beat.interval / 360 * turn for beat in sounding]
    names = [beat.name for beat in sounding]
    after = [*gaps[1:], gaps[0]]
    told = (
        ", ".join(f"{gap:.0f}" for gap in after[:-1]) + f" and {after[-1]:.0f}" if len(after) > 1 else f"{after[0]:.0f}"
    )
    yield (
        f"{which}Heard in one turn of {turn:.0f} ms: {len(sounding)} beat{'s' * (len(sounding) > 1)}, from the "
        f"{names[0]} on {told} ms to the next: {_limp(case)}. {_loudness(case)}"
    )


def _limp(case: Beats) -> str:
    """How uneven it sounds."""
    if len(case.sounding) < len(case.beats):
        return "one is missing" if len(case.beats) - len(case.sounding) == 1 else "some are missing"
    off = [100 * (beat.interval / case.even - 1) for beat in case.sounding]
    most, least = max(off), min(off)
    uneven = max(most, -least)
    if uneven < _HEARD:
        return "even to the ear"
    before = case.sounding[off.index(most)].name
    return f"{'a plain' if uneven > _PLAIN else 'a slight'} limp, the longest wait before the {before}"


def _loudness(case: Beats) -> str:
    ranked = sorted(case.sounding, key=lambda beat: abs(beat.strength))
    soft, loud = abs(ranked[0].strength), abs(ranked[-1].strength)
    if len(ranked) < 2 or loud < _LOUDER * soft:
        return "All are equally loud." if len(ranked) > 1 else ""
    times = f"{loud / soft:.1f} times as strong as" if soft else "heard, and nothing of"
    return f"The {ranked[-1].name} is {times} the {ranked[0].name}."
