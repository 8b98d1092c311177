"""The exhaust beats in a table, and in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.table import Table

from linkmotion.engine import Engine
from linkmotion.files.quantities import format_pressure
from linkmotion.studies.steam.beats import LEAST, Beat, Beats
from linkmotion.studies.steam.indicator import ASSUMED
from linkmotion.views.tables import bare_table


def title_of(case: Beats) -> str:
    """Which case it is."""
    return f"{case.state}, notch {case.notch}, running {case.running}"


def before(case: Beats, found: Sequence[Beats]) -> Beats | None:
    """The first of the same notch and direction of running, when it is another: what a case is set against."""
    alike = next(each for each in found if (each.notch, each.running) == (case.notch, case.running))
    return None if alike is case else alike


def beats_table(case: Beats, beside: Beats | None, revolutions: float, pressure: str) -> Table:
    """The beats in the order in which they come."""
    table = bare_table(title_of(case) + (f" (moved: from {beside.state})" if beside else ""))
    table.add_column("beat", no_wrap=True)
    heads = ["wheel at\n°", "since last\n°", "of even\n%", "late\n°", "late\nms", f"let go\n{pressure}"]
    for head in (*heads, *(["moved\n°"] if beside else [])):
        table.add_column(head, justify="right", no_wrap=True)
    for beat in case.beats:
        if beat.silent:
            table.add_row(beat.name, "silent", *("–" for _ in table.columns[2:]))
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
        table.add_row(beat.name, *cells)
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
        yield f"Assumed for the pressure let go (no beat is moved by it): {assumed_words(assumed)}."


def assumed_words(keys: Sequence[str]) -> str:
    """What was assumed of the steam, in words."""
    units = {"pressure": " bar", "back_pressure": " bar", "clearance": " %"}
    return ", ".join(f"{key.replace('_', ' ')} {getattr(ASSUMED, key)}{units.get(key, '')}" for key in keys)


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


def _same(beat: Beat, case: Beats) -> Beat:
    return next(other for other in case.beats if other.name == beat.name)
