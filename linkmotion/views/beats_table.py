"""The exhaust beats in a table, and in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from linkmotion.engine import Engine
from linkmotion.files.quantities import format_pressure, usual_pressure
from linkmotion.studies.steam.beats import LEAST, Beat, Beats
from linkmotion.studies.steam.indicator import ASSUMED
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import Answer


def _title_of(case: Beats) -> str:
    """Which case it is."""
    return f"{case.state}, notch {case.notch}, running {case.direction}"


def before(case: Beats, found: Sequence[Beats]) -> Beats | None:
    """The first of the same notch and direction of running, when it is another: what a case is set against."""
    alike = next(each for each in found if (each.notch, each.direction) == (case.notch, case.direction))
    return None if alike is case else alike


def verdict(found: Sequence[Beats]) -> Answer:
    """How even the beats are, in one sentence."""
    if not any(each.sounding for each in found):
        return Answer("No beat is heard: no end releases its steam.")
    silent = list(dict.fromkeys(beat.name for each in found for beat in each.beats if beat.silent))
    told = f"Silent: {', '.join(silent)}. " if silent else ""
    worst = max((each for each in found if each.sounding), key=lambda each: each.worst)
    if worst.worst < LEAST:
        return Answer(f"{told}The beats that are heard are even." if silent else "The beats are even.")
    beat = max(worst.sounding, key=lambda beat: abs(beat.late))
    where = f" ({_title_of(worst)})" if len(found) > 1 else ""
    way = "late" if beat.late > 0 else "early"
    return Answer(
        f"{told}No beat is further from its even place than the {beat.name}, {abs(beat.late):.1f}° {way}{where}."
    )


def beats_table(case: Beats, beside: Beats | None, revolutions: float, pressure: str) -> Grid:
    """The beats in the order in which they come.

    Parameters
    ----------
    case, beside : Beats, Beats or None
        Which; what it is set against, if anything.
    revolutions : float
        Of the wheel per minute, for how late a beat comes in milliseconds.
    pressure : str
        Unit of pressures.
    """
    heads = ["wheel at\n°", "since last\n°", "of even\n%", "late\n°", "late\nms", f"let go\n{pressure}"]
    short = ["wheel\nat °", "since\nlast °", "of\neven %", "late\n°", "late\nms", f"let go\n{pressure}"]
    columns = [Column(head, own) for head, own in zip(heads, short, strict=True)]
    columns += [Column("moved\n°")] if beside else []
    title = _title_of(case) + (f" (moved: from {beside.state})" if beside else "")
    table = Grid(title, [Column("beat", key=True), *columns])
    for beat in case.beats:
        if beat.silent:
            table.row(beat.name, "silent", *("–" for _ in columns[1:]))
            continue
        cells = [f"{beat.angle:.1f}", f"{beat.interval:.1f}", f"{100 * beat.interval / case.even:.1f}"]
        cells += [
            f"{beat.late:+.1f}",
            f"{beat.late / (6e-3 * revolutions):+.0f}",
            format_pressure(beat.strength, pressure),
        ]
        if beside:
            other = _same(beat, beside)
            cells.append("–" if other.silent else f"{beat.late - other.late:+.1f}")
        table.row(beat.name, *cells)
    return table


def sentences(case: Beats, beside: Beats | None) -> Iterator[str]:
    """The beats in plain words: all of them, then what has changed."""
    if not case.sounding:
        yield "No beat is heard: no end releases its steam."
        return
    yield _sentence("; ".join(beat.words for beat in case.beats))
    if beside is None:
        return
    pairs = [(beat, _same(beat, beside)) for beat in case.sounding]
    moved = [(beat, beat.late - other.late) for beat, other in pairs if not other.silent]
    beat, by = max(moved, key=lambda pair: abs(pair[1]), default=(case.sounding[0], 0.0))
    if abs(by) < LEAST:
        yield f"They come as in {beside.state}."
    else:
        way = "later" if by > 0 else "earlier"
        yield f"Most changed from {beside.state}: the {beat.name} beat, {abs(by):.1f}° {way}."


def legend(found: Sequence[Beats], engine: Engine) -> Iterator[str]:
    """How the tables are to be read, and what was assumed."""
    even, wheels = found[0].even, engine.wheels
    yield (
        f"Even beats come {even:g}° apart, the even places laid where they suit best; late: after its even place "
        "(−: early). The slanting connecting rod alone makes beats a little uneven. Wheel at: left crank from front "
        "dead centre, in the direction of running. Let go: pressure at release above the back pressure."
    )
    if len(found[0].work.ahead) > 1:
        yield f"The {wheels.leads} crank leads by {wheels.lead_angle:g}° running forward."
    assumed = [key for key in ("pressure", "back_pressure", "clearance") if key in found[0].work.steam.assumed]
    if assumed:
        yield f"Assumed for the pressure let go (no beat is moved by it): {assumed_words(assumed, engine.unit)}."


def assumed_words(keys: Sequence[str], length_unit: str) -> str:
    """What was assumed of the steam, in words; pressures in the unit that goes with one of lengths."""
    unit = usual_pressure(length_unit)

    def told(key: str) -> str:
        value = getattr(ASSUMED, key)
        if key in ("pressure", "back_pressure"):
            return f"{format_pressure(value, unit)} {unit}"
        return f"{value} %" if key == "clearance" else str(value)

    return ", ".join(f"{key.replace('_', ' ')} {told(key)}" for key in keys)


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


def _same(beat: Beat, case: Beats) -> Beat:
    return next(other for other in case.beats if other.name == beat.name)
