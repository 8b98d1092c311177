"""``linkmotion beats``: how evenly the exhaust beats come, seen and heard."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from linkmotion.commands.input import telling
from linkmotion.commands.steam_options import Case, Given, cases, engine_given, revolutions
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import PICTURE, SOUND, OutputFile, Outputs
from linkmotion.studies.steam.beats import Beats, beats
from linkmotion.views.printout import Aside, Block, Heading, Point, Said, print_json, show
from linkmotion.views.request import Request
from linkmotion.wear.running import Load

LONGEST = 600.0  # seconds of sound in one file


@dataclass(frozen=True)
class BeatsRequest:
    """What the user asked for."""

    request: Request
    steam: Given = field(default_factory=dict)
    wheels: Given = field(default_factory=dict)
    speed: str = "60 rpm"
    seconds: float = 6.0
    load: Load = Load()  # noqa: RUF009 - frozen
    within: float | None = None
    sound: Path | None = None
    picture: Path | None = None
    json: bool = False
    replace: bool = False


def run_beats(wish: BeatsRequest) -> int:
    """Find, print, draw and sound the beats; 1 when one is further from its even place than was allowed."""
    outputs = Outputs((wish.request.engine,), wish.replace)
    sounded, drawn = outputs.file(wish.sound, SOUND), outputs.file(wish.picture, PICTURE)
    engine = engine_given(wish.request, wish.steam, wish.wheels)
    rate = revolutions(wish.speed, engine)
    load = replace(wish.load, revolutions=rate)
    with telling(engine, wish.request.engine):
        found = [beats(case.assessment, case.notch, case.direction) for case in _chosen(engine, wish.request, load)]
    if sounded is not None:
        _write_sound(found, rate, wish.seconds, sounded)
    if drawn is not None:
        _draw(found, rate, engine, drawn)
    if wish.json:
        print_json("beats", engine.unit, _data(engine, found, rate, wish))
    else:
        show(_blocks(engine, found, rate, wish))
    silent = any(beat.silent for each in found for beat in each.beats)
    return int(wish.within is not None and (silent or any(each.worst > wish.within for each in found)))


def _chosen(engine: Engine, request: Request, load: Load) -> list[Case]:
    """The cases; where no notch is named, the one of the longest cutoff."""
    listed = list(cases(engine, request, load))
    if request.notches:
        return listed
    from linkmotion.views.pictures import featured

    first = featured(listed[0].assessment.sides[0])[0]
    wanted = [case for case in listed if case.notch == first]
    return wanted or listed[:1]


def _write_sound(found: Sequence[Beats], rate: float, seconds: float, into: OutputFile) -> None:
    from linkmotion.files.wav import as_wav
    from linkmotion.studies.steam.sound import RATE, sound

    if not 0.5 <= seconds <= LONGEST or seconds * len(found) > LONGEST:
        problem = f"{len(found)} cases of {seconds:g} seconds"
        raise FileError("--seconds", problem, f"give from half a second to {LONGEST:g} seconds in all")
    into.write(as_wav(sound(found, rate, seconds).samples, RATE))


def _data(engine: Engine, found: Sequence[Beats], rate: float, wish: BeatsRequest) -> dict[str, Any]:
    from linkmotion.views.beats_words import heard

    listed = [
        {"state": each.state, "notch": each.notch, "direction": each.direction, "even": each.even,
         "heard": " ".join(heard(each, rate))}
        | {"beats": [asdict(beat) | {"words": beat.words} for beat in each.beats]}
        for each in found
    ]  # fmt: skip
    return {
        "engine": engine.name,
        "angles": "degrees of the left crank from front dead centre in the direction of running",
        "revolutions_a_minute": rate,
        "assumed": list(found[0].work.steam.assumed),
        "sound": str(wish.sound) if wish.sound else None,
        "cases": listed,
    }


def _blocks(engine: Engine, found: Sequence[Beats], rate: float, wish: BeatsRequest) -> Iterator[Block]:
    from linkmotion.files.quantities import usual_pressure
    from linkmotion.views.beats_table import beats_table, before, legend, sentences, verdict
    from linkmotion.views.beats_words import heard
    from linkmotion.views.tables import CAUTION

    yield verdict(found)
    yield Heading(f"{engine.name}: exhaust beats at {rate:.0f} revolutions a minute")
    for each in found:
        yield beats_table(each, before(each, found), rate, usual_pressure(engine.unit))
        yield from map(Point, (*sentences(each, before(each, found)), *heard(each, rate)))
    if wish.sound is not None:
        yield Said(f"Sound: {wish.sound}", str(wish.sound))
    yield from map(Aside, legend(found, engine))
    yield Aside(CAUTION)


def _draw(found: Sequence[Beats], rate: float, engine: Engine, into: OutputFile) -> None:
    """Rings and strip of all cases into one SVG."""
    from linkmotion.views.beats_plot import MOST, beats_svg

    if len(found) > MOST:
        raise FileError("--picture", f"{len(found)} cases are too many for one picture", f"choose at most {MOST}")
    into.write(beats_svg(found, rate, engine.name))
