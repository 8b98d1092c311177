"""``linkmotion tram``: true dead centres from wheel marks, and what leads read off them are wrong by."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import LengthError, parse_length
from linkmotion.files.side_named import sides_asked
from linkmotion.files.source import Source, dotted
from linkmotion.files.tram_file import TramMarks, read_tram_marks
from linkmotion.sides import BOTH, side_words
from linkmotion.studies.assess import SideEvents, assess_side
from linkmotion.studies.row_figures import Length, PerLength
from linkmotion.studies.setting.lead_errors import LeadErrors, lead_errors
from linkmotion.studies.setting.tram import Tram, find_dead_centres
from linkmotion.studies.setting.tram_marks import TramError
from linkmotion.views.printout import Block, print_json, show

_DEGREES = re.compile(r"\s*([0-9.]+)\s*(?:°|deg|degrees)\s*")


@dataclass(frozen=True)
class TramRequest:
    """What the user asked for: marks, or leads read so far off dead centre; lengths as the shop writes them."""

    engine: Path
    marks: Path | None = None
    out_by: str = ""
    tyre: str = ""
    state: str = DRAWING
    side: str = BOTH
    notches: tuple[str, ...] = ()
    json: bool = False


def run_tram(request: TramRequest) -> int:
    """Find the dead centres and what leads read off them are wrong by; 1 when the pairs do not agree, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    if request.marks is None and not request.out_by:
        raise FileError("linkmotion tram", "neither marks nor --out-by", "give a file of marks, or --out-by '1/8 in'")
    engine = engine_with(request.engine, [request.state], request.notches)
    request = replace(request, side=sides_asked(engine, request.engine, request.side)[0])
    found = trammed(request, engine)
    if request.json:
        print_json("tram", engine.unit, _data(engine, request, found.tram, found.errors))
    else:
        show(blocks(found, request, engine))
    return int(found.tram is not None and not found.tram.agree)


@dataclass(frozen=True)
class Trammed:
    """What marks came to: the marks and the dead centres (None without marks), the tyre in mm, and errors of leads."""

    marks: TramMarks | None
    tram: Tram | None
    diameter: float | None
    errors: LeadErrors


def trammed(request: TramRequest, engine: Engine) -> Trammed:
    """The dead centres, and what leads read off them are wrong by.

    Parameters
    ----------
    request, engine : TramRequest, Engine
        What was asked for; as read.

    Raises
    ------
    FileError
        Wrong input.
    """
    with telling(engine, request.engine):
        side = assess_side(engine.side_state(request.state, request.side), request.notches or None)
    marks, tram = _found(request, engine, side)
    diameter = _diameter(request, engine, marks)
    return Trammed(marks, tram, diameter, lead_errors(side, _out_by(request, engine, tram, diameter)))


def blocks(found: Trammed, request: TramRequest, engine: Engine, in_files: bool = True) -> Iterator[Block]:
    """What is told of it, the dead centres first.

    Parameters
    ----------
    found, request, engine : Trammed, TramRequest, Engine
        As :func:`trammed` has them.
    in_files : bool
        Whether it is told what to write into a readings file.
    """
    from linkmotion.views.tram_view import tram_blocks

    title = f"{engine.name}, {request.state}, {side_words(request.side)}"
    assumed = found.marks.assumed if found.marks else ()
    yield from tram_blocks(title, engine.unit, found.tram, found.errors, found.diameter, assumed, in_files)


def _found(request: TramRequest, engine: Engine, side: SideEvents) -> tuple[TramMarks | None, Tram | None]:
    if request.marks is None:
        return None, None
    marks = read_tram_marks(request.marks, engine.unit)
    try:
        return marks, find_dead_centres(side.gear.crank, marks.pairs, marks.accuracy)
    except TramError as error:
        where = () if error.pair is None else ("pair", str(error.pair))
        line = Source.read(request.marks).line(where) if where else None
        raise FileError(str(request.marks), error.problem, error.remedy, line, dotted(where)) from None


def _diameter(request: TramRequest, engine: Engine, marks: TramMarks | None) -> float | None:
    if not request.tyre:
        return marks.diameter if marks else None
    return _length(request.tyre, "--tyre", engine.unit)


def _out_by(request: TramRequest, engine: Engine, tram: Tram | None, diameter: float | None) -> float:
    """Degrees: as asked, or the most that halving alone would leave."""
    if not request.out_by:
        assert tram is not None
        return max(abs(centre.error) + centre.doubt for centre in tram.centres.values())
    angle = _DEGREES.fullmatch(request.out_by)
    if angle:
        degrees = float(angle[1])
    else:
        along = _length(request.out_by, "--out-by", engine.unit)
        if diameter is None:
            told = "a length along a tyre of unknown size"
            raise FileError("--out-by", told, "give --tyre, or degrees: --out-by '0.5°'")
        degrees = math.degrees(2 * along / diameter)
    if not 0 < degrees <= 45:
        raise FileError("--out-by", f"{degrees:.4g}° off dead centre", "give more than nothing, up to 45°")
    return degrees


def _length(text: str, option: str, unit: str) -> float:
    try:
        return parse_length(text, unit)
    except LengthError as error:
        raise FileError(option, str(error), "correct this figure") from None


def _data(engine: Engine, request: TramRequest, tram: Tram | None, errors: LeadErrors) -> dict[str, Any]:
    found: dict[str, Any] = {"engine": engine.name, "state": request.state, "side": request.side}
    if tram is not None:
        found["dead_centres"] = [asdict(centre) for centre in tram.centres.values()]
        found |= {
            "play": None if tram.play is None else Length(tram.play),
            "play_within": Length(tram.play_doubt),
            "pairs_agree": tram.agree,
        }
        found |= {"degrees_late_per_unit_of_play": {end: PerLength(late) for end, late in tram.per_play.items()}}
        found |= {"degrees_apart": tram.apart, "degrees_apart_drawn": tram.apart_drawn}
    rows = [
        {
            "notch": notch,
            "end": end,
            "lead": Length(errors.lead[end][i]),
            "past_dead_centre": Length(errors.after[end][i]),
            "short_of_dead_centre": Length(errors.before[end][i]),
        }
        for i, notch in enumerate(errors.notches)
        for end in errors.lead
    ]
    found["leads_read_wrong"] = {"out_by_degrees": errors.out_by, "notches": rows}
    return found
