"""``linkmotion diagnose``: which dimension errors explain the readings taken on the engine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from linkmotion.commands.diagnosis_data import side_data
from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import Engine
from linkmotion.face.diagnosis import diagnosed
from linkmotion.face.side_diagnosis import SideDiagnosis
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import LengthError, format_length, parse_length
from linkmotion.files.outputs import PICTURE, OutputFile, Outputs
from linkmotion.files.readings_file import Readings, read_readings
from linkmotion.files.side_named import sides_read
from linkmotion.sides import BOTH, side_words, sides_words
from linkmotion.studies.diagnosis.study import TooFewReadings
from linkmotion.studies.figures.dimensions import CENTRAL
from linkmotion.studies.figures.disturbances import EYE
from linkmotion.studies.figures.looseness import LOOSE
from linkmotion.valve import ENDS
from linkmotion.views.printout import Answer, Aside, Block, Heading, Point, print_json, show
from linkmotion.views.progress import Told, progress


@dataclass(frozen=True)
class DiagnoseRequest:
    """What the user asked for.

    Attributes
    ----------
    engine, readings : Path
        The files.
    side : str
        Which is looked at: by its name, or "both" for every one there is.
    fault : str
        How far a length that is wrong is usually off, as the shop writes it; "" for 1 % of the crank radius.
    picture : Path or None
        SVG file for the plots.
    json : bool
        Whether to print everything as JSON.
    replace : bool
        Whether the user's own files may be written over.
    """

    engine: Path
    readings: Path
    side: str = BOTH
    fault: str = ""
    picture: Path | None = None
    json: bool = False
    replace: bool = False


def run_diagnose(request: DiagnoseRequest) -> int:
    """Diagnose every side that was read; 1 when anything is wrong or does not fit, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    drawn = Outputs((request.engine, request.readings), request.replace).file(request.picture, PICTURE)
    engine = engine_with(request.engine)
    with telling(engine, request.engine):
        readings = read_readings(request.readings, engine)
        sides = sides_read(engine, request.engine, readings, request.side)
        with progress() as begin:
            told = begin(f"which dimensions explain the readings of the {sides_words(sides, ' and the ')}")
            found = diagnosis_of(engine, request, readings, sides, told)
    if drawn is not None:
        _draw(found, readings.unit, (engine.name, f"read against the state {readings.state}"), drawn)
    if request.json:
        sides_found = [side_data(own) for own in found]
        print_json("diagnose", readings.unit,
                   {"engine": engine.name, "state": readings.state, "sides": sides_found})  # fmt: skip
    else:
        show(blocks(found, engine, readings))
    return int(any(own.found.first or not own.found.fits for own in found))


def diagnosis_of(
    engine: Engine, request: DiagnoseRequest, readings: Readings, sides: list[str], progress: Told | None = None
) -> list[SideDiagnosis]:
    """The diagnosis of some sides that were read.

    Parameters
    ----------
    engine, request : Engine, DiagnoseRequest
        As read; what was asked for.
    readings, sides : Readings, list of str
        As read; the sides, which have readings.
    progress : callable, optional
        Told how many steps are done, and how many there are.

    Raises
    ------
    FileError
        There are too few readings.
    """
    wide = _usually_off(request.fault, readings.unit)
    try:
        return list(diagnosed(engine, readings, sides, wide, request.engine, progress))
    except TooFewReadings as error:
        told_of = "take more: leads and greatest openings at both ends in several notches tell most"
        raise FileError(readings.name, str(error), told_of) from None


def _usually_off(fault: str, unit: str) -> float | None:
    """How far off a wrong length usually is, as the shop writes it, mm."""
    try:
        wide = parse_length(fault, unit) if fault else None
    except LengthError as error:
        raise FileError("--fault", str(error), "give a length") from None
    if wide is not None and not wide > 0:
        raise FileError("--fault", f"read {fault!r}", "give how far off a wrong length usually is, more than nothing")
    return wide


def blocks(found: list[SideDiagnosis], engine: Engine, readings: Readings) -> Iterator[Block]:
    """What is told of a diagnosis: of each side its first sentence, then all of it.

    Parameters
    ----------
    found, engine, readings : list of SideDiagnosis, Engine, Readings
        As :func:`diagnosis_of` has them.
    """
    from linkmotion.views.diagnosis_tables import explanations_table, readings_table, suspects_table
    from linkmotion.views.diagnosis_view import Words
    from linkmotion.views.tables import CAUTION

    written = [Words(own.found, readings.unit, own.angles) for own in found]
    told = [list(words.sentences()) for words in written]
    for own, sentences in zip(found, told, strict=True):
        yield Answer(f"{side_words(own.found.side)}: {sentences[0]}")
    for own, words, sentences in zip(found, written, told, strict=True):
        count = len(own.found.readings)
        yield Heading(
            f"{engine.name}: {side_words(own.found.side)}, {count} readings against the state {readings.state!r}"
        )
        yield from (Point(sentence) for sentence in sentences[1:])
        yield suspects_table(words)
        if own.found.first:
            yield explanations_table(words)
        yield readings_table(words)
    yield Aside(_legend(found[0], readings.unit))
    yield from (Aside(_taken(own, readings.unit)) for own in found)
    yield Aside(CAUTION)


def _legend(own: SideDiagnosis, unit: str) -> str:
    """What was taken for granted."""
    given = zip(own.priors.keys, own.priors.wrong, strict=True)
    sizes = [size for key, size in given if key not in own.angles and key != CENTRAL]
    none, one, two = (f"{100 * chance:.0f}" for chance in own.priors.number)
    return (
        "Taken for granted: every dimension within its tolerance (the engine file's; a general workshop "
        f"tolerance where it names none); none, one or two ({none}, {one}, {two} % likely) wrong by far more, a length "
        f"usually by some {format_length(float(np.median(sizes)), unit)} (--fault), an angle by a degree. Common "
        "practice, no source. 'wrong': how probable that is of each dimension after the readings; 'off' and 19 in 20: "
        "if it is, whatever else is, and by so much that these readings feel it (three of their uncertainties); of an "
        "explanation: likewise, if what it names is wrong and nothing else."
    )


def _taken(own: SideDiagnosis, unit: str) -> str:
    """How the readings were taken, as their file says or as is assumed."""
    found, method = own.found, own.found.method
    doubts = [f"{end} {method.doubt(end):g}°" for end in ENDS if end in method.dead_centres]
    silent_ends = " and ".join(end for end in ENDS if end not in method.dead_centres)
    doubts += [f"{silent_ends} {EYE:g}° (taken as by eye: nothing is said)"] if silent_ends else []
    centres = " and ".join(doubts)
    at_dead_centre = [reading for reading in found.readings if reading.kind in ("lead", "valve")]
    silent = sum(not reading.came for reading in at_dead_centre)
    turned = f"for {silent} of {len(at_dead_centre)} readings at dead centre it is not said how the wheel was turned"
    play = format_length(found.loose.most, unit)
    known = f"{play} at the spindle, by clearances or lost motion as given"
    assumed = f"from nothing to {format_length(LOOSE, unit)} at every joint, {play} at the spindle (nothing is said)"
    place, springs = (format_length(mm, unit) for mm in (found.disturbances[0].before, found.disturbances[1].before))
    return (
        f"Reckoned with, {side_words(found.side)}, as no fault of the gear: dead centres within {centres}; play "
        f"{known if found.loose.known else assumed}; the valve within {place} of its place on the spindle; the axle "
        f"within {springs} of its running height{'; ' + turned if silent else ''}."
    )


def _draw(found: list[SideDiagnosis], unit: str, of: tuple[str, ...], into: OutputFile) -> None:
    from linkmotion.views.diagnosis_plots import diagnosis_svg
    from linkmotion.views.diagnosis_view import Words

    words = [Words(own.found, unit, own.angles) for own in found]
    into.write(diagnosis_svg([own.found for own in found], words, of))
