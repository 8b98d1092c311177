"""A readings file to be filled in: a line for everything that a fitter can read in an engine's notches."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from linkmotion.engine import Engine
from linkmotion.files.cells import table
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.files.readings_method import NOT_NOTED
from linkmotion.files.readings_source import COLUMNS
from linkmotion.studies.assess import SideEvents

_HEAD = """\
# Readings file for linkmotion. Put what was read in place of each "?", and take out every line that was not read.
# A bare length is in {unit_name}; also "3.2 mm", "1/8 in", "5 thou". Two takings of one reading: ["3.1 mm", "3.2 mm"].
# lead: steam opening at that end's dead centre; a minus sign where the edge still overlaps (blind).
# opening: greatest steam opening in a turn. cutoff, release, admission, compression: "76 %" of the stroke from that
#   end's dead centre, "12.5°" of crank angle past it, or the piston's distance from it, such as "15 1/4 in".
# die height: {die}, engine on front dead centre.
# More rows, where you can read them: kind = "valve" (place of the valve ahead of the middle between its two
#   line-and-line marks, at a dead centre as front or back, or as reads with at = crank angle from front dead centre in
#   the direction of running) and kind = "lost motion" (free movement of the spindle, wheel held: reads, at, direction).
# dead_centres: "by trammel" (from both sides, 0.1° either way), "by eye" (0.5°), or how near: "0.07°", as
#   linkmotion tram prints it; each end's own as {{ front = "0.05°", back = "0.08°" }}.
# turned: how the wheel was turned to each reading, so that the play was taken up: "forward", "backward", "both ways"
#   (the mean of both is what was read), or "not noted". A row may have its own. A row of lost motion tells the play.
#   Where the wheel was held and the spindle pushed before it was read, as far as the play lets it, the play is all on
#   one side: say "pushed forward" or "pushed back" (back is toward the axle). Both, a row each, tell the play too.
# Rods that hang on their pins lie on one side of the play there by their own weight, wheel held: push and pull the
#   spindle hard enough to lift them when reading lost motion, and before every lead turn as the wheel will run.
# within: how far a reading may be out either way; 19 in 20 should lie as near as that. A row may have its own.
# A length may stand as it was taken, no sum worked by hand: "61.35 - 56.80", or with its own ±, "3.2 ± 0.1 mm".
# by, on (2026-11-30), with, note and photo (a picture's name beside this file) may be given too: under state, of a
#   side, of a row; linkmotion history tells them.
"""
_METHOD = (("dead_centres", "by eye"), ("turned", NOT_NOTED))


def form(engine: Engine, side: SideEvents, sides: tuple[str, ...], unit: str, notches: tuple[str, ...]) -> str:
    """Text of a TOML form, with a "?" for each figure to be read.

    Parameters
    ----------
    engine, side : Engine, SideEvents
        Whose; which tells in which direction each notch drives.
    sides : tuple of str
        Those that will be read: "left", "right".
    unit : str
        Of bare lengths.
    notches : tuple of str
        Those that will be read; all, if empty.
    """
    lines = [_HEAD.format(unit_name=UNIT_NAMES[unit], die=side.gear.die_read), "[readings]"]
    lines += [f"{name} = {_quoted(value)}" for name, value in _said(engine, side.state, unit)]
    lines += ['within = "?"', 'within_percent = "?"', *(f"{name} = {_quoted(value)}" for name, value in _METHOD)]
    for name in sides:
        lines += ["", f"[{name}]", "readings = ["]
        for own in asked(side, notches):
            cells = [f"notch = {_quoted(own.notch)}", f'kind = "{own.kind}"']
            cells += [f'direction = "{own.direction}"'] if own.direction else []
            cells += ['front = "?"', 'back = "?"'] if own.ended else ['reads = "?"']
            lines.append(f"    {{ {', '.join(cells)} }},")
        lines.append("]")
    return "\n".join(lines) + "\n"


def csv_form(engine: Engine, side: SideEvents, sides: tuple[str, ...], unit: str, notches: tuple[str, ...]) -> str:
    """The same as CSV.

    Parameters
    ----------
    engine, side, sides, unit, notches
        As for :func:`form`.
    """
    rows: list[tuple[str, ...]] = [*_said(engine, side.state, unit), ("within", "?"), ("within_percent", "?"), *_METHOD]
    rows.append(COLUMNS)
    for name in sides:
        for own in asked(side, notches):
            boxes = ("?", "?", "") if own.ended else ("", "", "?")
            rows.append((name, own.notch, own.direction, own.kind, "", *boxes, "", ""))
    return _HEAD.format(unit_name=UNIT_NAMES[unit], die=side.gear.die_read) + table(rows)


def _said(engine: Engine, state: str, unit: str) -> list[tuple[str, str]]:
    return [("engine", engine.name), ("state", state), ("unit", unit)]


@dataclass(frozen=True)
class Asked:
    """A reading that is asked for.

    Attributes
    ----------
    notch, kind, direction : str
        As in a row of the file; ``direction`` is "" where it does not matter.
    ended : bool
        Whether it is read at both ends.
    """

    notch: str
    kind: str
    direction: str = ""
    ended: bool = True


def asked(side: SideEvents, notches: tuple[str, ...] = ()) -> Iterator[Asked]:
    """What can be read in each notch, or in those wanted."""
    for i, notch in enumerate(side.notches):
        if notches and notch not in notches:
            continue
        yield Asked(notch, "lead")
        yield Asked(notch, "opening")
        for direction in side.driven(i):
            yield Asked(notch, "cutoff", direction)
        if side.gear.slot is not None:
            yield Asked(notch, "die height", ended=False)


def _quoted(words: str) -> str:
    """Words as a TOML string."""
    return '"' + words.replace("\\", "\\\\").replace('"', '\\"') + '"'
