"""Why a setting is advised as it is: what it puts back, what must be mended otherwise, what heat has to do with it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from linkmotion.gears.sensitivity import marked, numbers
from linkmotion.sides import BOTH, side_words
from linkmotion.studies.figures.figure import MM
from linkmotion.studies.setting.advice import GEAR, RANGE, SOUND_PARTS, STEPS
from linkmotion.studies.setting.choices import LEAST
from linkmotion.studies.setting.foreseen import Foreseen
from linkmotion.studies.setting.known import Repair
from linkmotion.studies.setting.side import Off
from linkmotion.views.diagnosis_view import named

if TYPE_CHECKING:
    from linkmotion.views.setting_words import Words

DEAD_CENTRES = (
    "First find the true dead centres (trammel from both sides; linkmotion tram): half a degree out there moves the "
    "leads as much as a return crank or eccentric half a degree out."
)
_WHY = {
    STEPS: "Finer steps would do it: the least steps given are too coarse.",
    RANGE: "More of these adjustments would do it than their limits allow.",
    SOUND_PARTS: "Moving parts that stand at their figures would do it, if you ask for that (--move-sound-parts); the "
    "part that is wrong is better mended.",
    GEAR: "These adjustments cannot do it, however far they are taken, while the leads and cutoffs of every notch stay "
    "near the drawing's: ",
}
_ELSE = "something else is not as it should be."
_TOLD_ABOVE = "what is told above, that no adjustment mends, may be why (--once-mended tells what is left without it)."
_NAMED = 4  # parts named in a sentence
_LEAST = 0.005  # mm: heat that carries the valve by less is not worth a word


def at_first(words: Words) -> Iterator[str]:
    """What of the work is not sure, and what could be put back and is not."""
    for number, work in enumerate(words.advice.works, 1):
        if work.undoes is not None and work.undoes.sure < 1:
            told = f"{words.where(work)}: {named(work.undoes.key)} is {_sure(work.undoes)} to be off"
            these = "these parts against the drawing, which alone tells them apart," if work.undoes.alike else "it"
            yield f"{told}: measure {these} before {number} is done."
    yield from _not_told(words)
    for own in words.advice.not_put_back:
        each = words.advice.problem.adjustments[own.number]
        why = "" if words.advice.names == (LEAST,) else ", for put back more targets would be out"
        yield (
            f"{_where(each.side)}: {_off(words, own.off)}. This choice leaves it so{why}; to put it back, "
            f"{words.done(each, own.steps)}."
        )
    if words.choices.moving_sound_parts:
        yield "As you asked, parts that stand at their figures are moved too: they then follow what is wrong elsewhere."


def _not_told(words: Words) -> Iterator[str]:
    """What the readings cannot tell from the valve's place, and what they leave undecided."""
    moved = {work.adjustment.side for work in words.advice.works if work.adjustment.trims}
    for own in words.advice.problem.estimates:
        side = own.side.side
        undone = [work.undoes for work in words.advice.works if work.adjustment.on(side)]
        measured = {off.key for off in undone if off is not None and off.sure == 1}  # off by the file, and put back
        untold = [key for key in own.as_valve if key not in measured]
        if untold and side in moved:
            parts = " or ".join(named(key) for key in untold)
            yield (
                f"{_where(side)}: these readings cannot tell the valve's place on its spindle from {parts}: moving the "
                "valve is the least work, and comes first. Measure the part itself to know, a rod between its pins."
            )
        if own.undecided is not None:
            sure, parts = _percent(own.undecided.sure), " or ".join(named(key) for key in own.undecided.keys[:_NAMED])
            yield (
                f"{_where(side)}: {sure} sure by the readings that something is off, not enough to alter it: {parts}. "
                "Measure these parts against the drawing."
            )


def _percent(share: float) -> str:
    return f"{100 * min(share, 0.99):.0f} %"


def _sure(off: Off) -> str:
    """How surely a dimension is off, by the readings."""
    sure = f"{_percent(off.sure)} sure by the readings"
    others = " or ".join(named(key) for key in off.alike[:_NAMED])
    more = f" or {len(off.alike) - _NAMED} more" if len(off.alike) > _NAMED else ""
    return f"{sure} (they cannot tell it from {others}{more})" if others else sure


def mended(words: Words, foreseen: list[Foreseen]) -> Iterator[str]:
    """What no adjustment mends, and whether the advice is for the engine with it or without."""
    repairs = words.choices.repairs
    yield from of_sides((own.side, _repair(words, own)) for own in repairs)
    if repairs:
        it = "that" if len({_repair(words, own) for own in repairs}) == 1 else "all that"
        yield (
            f"This advice is for the engine once {it} is mended; do not set it so before."
            if words.once_mended
            else f"This advice is for the engine with {it} left as it is; for the engine with it mended: --once-mended."
        )
    allowed = words.advice.problem.targets.lost_motion
    loose = [(own.side, words.size(MM, own.lost)) for own in foreseen if own.lost > allowed]
    told = f"at the spindle, {words.size(MM, allowed)} is allowed: no adjustment mends it; renew pins and bushes"
    lost = of_sides((side, f"lost motion {size} {told} (linkmotion wear ranks them).") for side, size in loose)
    yield from (f"✗ {sentence}" for sentence in lost)
    stays = "the slot is worn, and is taken to stay so (linkmotion cleanup)."
    yield from of_sides((own.side, stays) for own in foreseen if own.slot_worn)


def _repair(words: Words, own: Repair) -> str:
    off = _off(words, own.off)
    if own.part:
        off += " once it is adjusted as far as it goes"
    told = f"{off}: no adjustment mends it; renew or alter it{_or_slipped(words, own)}{_or_opposite(words, own)}"
    return f"{told}." if own.off.sure == 1 else f"{told}, when it is measured: it is {_sure(own.off)}."


def _or_slipped(words: Words, own: Repair) -> str:
    """What else would explain it where the file gives an angle alone of a part that keeps its shape when it slips."""
    table = own.off.key[0]
    off = {each.key for side in words.advice.problem.estimates if side.side.side == own.side for each in side.off}
    slips = [part for key, part in marked(words.gear, "slips").items() if key[0] == table and key in off]
    if not slips or own.off.sure < 1 or not hasattr(getattr(words.gear, table), "slipped"):
        return ""
    return (
        f", unless the {slips[0]} has only turned where it is fixed, which leaves its own shape as it was: then the "
        f'file wants angle_slip = {{ "{slips[0]}" = … }} in wear, not another angle'
    )


def _or_opposite(words: Words, own: Repair) -> str:
    """What else would explain an angle that is as much the other way: a side drawn so, where the file says it not."""
    table, key = own.off.key
    gear = next(each.side.gear for each in words.advice.problem.estimates if each.side.side == own.side)
    found = numbers(gear)[own.off.key] if own.off.key in marked(gear, "hand") else 0.0
    if found * (found - own.off.by) >= 0.0:
        return ""
    return f", unless this side is drawn the other way round: then the file wants {key} in [drawing.{own.side}.{table}]"


def _off(words: Words, off: Off) -> str:
    return f"{named(off.key)} is {words.more_than_drawn(off)}"


def barred(words: Words) -> Iterator[str]:
    """What keeps targets from being met."""
    if barrier := words.advice.barrier:
        named = bool(words.choices.repairs) and not words.once_mended
        why = (_TOLD_ABOVE if named else _ELSE) if barrier == GEAR else ""
        yield f"These targets cannot all be met. {_WHY[barrier]}{why}"


def in_service(words: Words, foreseen: list[Foreseen]) -> Iterator[str]:
    """How a cold setting allows for heat."""
    warm = [own for own in foreseen if own.in_service is not None]
    judged = "it gets warm, so the targets are judged in service; readings are always taken cold."
    yield from of_sides((own.side, judged) for own in warm)
    yield from of_sides((own.side, _allowed_for(words, own.grows)) for own in warm if abs(own.grows) > _LEAST)


def _allowed_for(words: Words, grows: float) -> str:
    ahead, behind = ("ahead", "back") if grows > 0 else ("back", "ahead")
    return (
        f"what grows with the heat carries the valve {words.size(MM, abs(grows))} {ahead} (mean of all notches). The "
        f"setting allows for that: what is right in service stands so much further {behind} when it is read cold; the "
        "table has both."
    )


def of_sides(told: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Sentences with the sides of which they are ("": between the sides), what is the same of both in one."""
    sides: dict[str, list[str]] = {}
    for side, sentence in told:
        sides.setdefault(sentence, []).append(side)
    for sentence, own in sides.items():
        where = _where(own[0] if len(own) == 1 else BOTH)
        yield f"{where}: {sentence}" if where else sentence


def _where(side: str) -> str:
    return side_words(side) if side else ""
