"""Why a setting is advised as it is: what it puts back, what must be mended otherwise, what heat has to do with it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from linkmotion.gears.sensitivity import Key
from linkmotion.studies.figures.figure import MM
from linkmotion.studies.setting.advice import Work
from linkmotion.studies.setting.foreseen import Foreseen
from linkmotion.studies.setting.known import Repair
from linkmotion.views.diagnosis_view import named

if TYPE_CHECKING:
    from linkmotion.views.setting_words import Words

DEAD_CENTRES = (
    "First find the true dead centres (trammel from both sides; linkmotion tram): half a degree out there moves the "
    "leads as much as a return crank or eccentric half a degree out."
)
_LEAST = 0.005  # mm: heat that carries the valve by less is not worth a word


def at_first(words: Words) -> Iterator[str]:
    """What the work puts back, how surely, and what could be put back and is not."""
    for number, work in enumerate(words.advice.works, 1):
        if work.undoes is not None:
            yield _undone(words, number, work)
    for own in words.advice.not_put_back:
        each = words.advice.problem.adjustments[own.number]
        done = words.done(each, own.steps)
        yield (
            f"{_where(each.side)}: {_off(words, own.off.key, own.off.by)}; {done} would put it back. This choice leaves it "
            f"as it stands{'' if 'least work' in words.advice.names else ': put back, more targets would be out'}."
        )
    if words.choices.moving_sound_parts:
        yield "As you asked, parts that stand at their figures are moved too: they then follow what is wrong elsewhere."


def _undone(words: Words, number: int, work: Work) -> str:
    assert work.undoes is not None
    off = work.undoes
    told = f"{words.where(work)}: {number} puts back what is off its drawing: {_off(words, off.key, off.by)}"
    if off.sure < 1:
        told += f" ({100 * min(off.sure, 0.99):.0f} % sure by the readings; measure it first)"
    if off.alike:
        told += f". These readings cannot tell it from {' or '.join(named(key) for key in off.alike[:3])}: measure both"
    return f"{told}."


def mended(words: Words, foreseen: list[Foreseen]) -> Iterator[str]:
    """What no adjustment mends, and whether the advice is for the engine with it or without."""
    repairs = words.choices.repairs
    for own in repairs:
        yield _repair(words, own)
    if repairs:
        it = "that" if len(repairs) == 1 else "all that"
        yield (
            f"This advice is for the engine once {it} is mended; do not set it so before."
            if words.once_mended
            else f"This advice is for the engine with {it} left as it is; for the engine with it mended: --once-mended."
        )
    for each in foreseen:
        allowed = words.advice.problem.targets.lost_motion
        if each.lost > allowed:
            yield (
                f"✗ {each.side} side: lost motion {words.size(MM, each.lost)} at the spindle, {words.size(MM, allowed)} is "
                "allowed: no adjustment mends it; renew pins and bushes (linkmotion wear ranks them)."
            )
        if each.slot_worn:
            yield f"{each.side} side: the slot is worn, and is taken to stay so (linkmotion cleanup)."


def _repair(words: Words, own: Repair) -> str:
    off = _off(words, own.off.key, own.off.by)
    if own.part:
        off = f"once adjusted as far as it goes, {off} still"
    told = f"{own.side} side: {off}: no adjustment mends it; renew or alter it"
    sure = f" ({100 * min(own.off.sure, 0.99):.0f} % sure by the readings; measure it first)" if own.off.sure < 1 else ""
    alike = f", or {' or '.join(named(key) for key in own.off.alike[:3])}" if own.off.alike else ""
    return f"{told}{alike}{sure}."


def _off(words: Words, key: Key, by: float) -> str:
    return f"{named(key)} is {words.off(key, by)} {'more' if by > 0 else 'less'} than drawn"


def in_service(words: Words, foreseen: list[Foreseen]) -> Iterator[str]:
    """How a cold setting allows for heat."""
    for own in foreseen:
        if own.in_service is None:
            continue
        yield f"{own.side} side: it gets warm, so the targets are judged in service; readings are always taken cold."
        if abs(own.grows) > _LEAST:
            ahead, behind = ("ahead", "back") if own.grows > 0 else ("back", "ahead")
            yield (
                f"{own.side} side: warm, spindle, rods and frame grow and carry the valve {words.size(MM, abs(own.grows))} "
                f"{ahead} of where it stands cold (mean of all notches). It is set cold by so much further {behind}, "
                "so that it is right in service: expect the leads to differ by that when they are read cold."
            )


def _where(side: str) -> str:
    return "both sides" if side == "both" else f"{side} side"

