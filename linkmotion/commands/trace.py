"""``linkmotion trace``: an engine's figures scaled off a drawing or a photograph, each with its doubt."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import PICTURE, STARTER, OutputFile, Outputs
from linkmotion.files.picked_state import picked_state_text
from linkmotion.files.picks_file import PicksFile, read_picks
from linkmotion.gears.sensitivity import declared, numbers
from linkmotion.linkage import LinkageError
from linkmotion.studies.assess import NotchError, SideEvents, assess_side
from linkmotion.studies.picked_parts import PickedParts
from linkmotion.studies.row_figures import length, measured
from linkmotion.studies.scaled_off import PictureError, ScaledOff, scaled_off
from linkmotion.studies.side_drawing import elevation_of
from linkmotion.views.printout import Answer, Aside, Block, Command, Point, print_json, show

NAME = "from the picture"
_PARALLAX = (
    "Scaled off holds for one plane: what stands nearer to the camera, or further, than the points known is seen too "
    "large or too small, by its distance from that plane over the camera's; no doubt here reckons with that."
)


@dataclass(frozen=True)
class TraceRequest:
    """What the user asked for.

    Attributes
    ----------
    engine, picks : Path
        Engine file of a near relation, with the same gear; points put on an image.
    state : str
        State of it from which the search starts, and on which the new one is based.
    write : Path or None
        Engine file to be written, with the figures as a new state.
    name : str
        Name of that state.
    picture : Path or None
        The gear drawn over the image.
    json, replace : bool
        Whether to print everything as JSON; whether the user's own picture may be written over.
    """

    engine: Path
    picks: Path
    state: str = DRAWING
    write: Path | None = None
    name: str = NAME
    picture: Path | None = None
    json: bool = False
    replace: bool = False


@dataclass(frozen=True, eq=False)
class Traced:
    """What was found: the figures, the engine with them, and how it stands in the image."""

    picks: PicksFile
    found: ScaledOff
    text: str
    turned: SideEvents | None
    gear: tuple[Elevation, dict[str, complex]] | None
    refused: str

    @property
    def missed(self) -> list[tuple[str, float]]:
        """How far points stand from where the gear with these figures has them, mm."""
        return [] if self.gear is None else self.found.missed(self.gear[1])


def run_trace(request: TraceRequest) -> int:
    """Scale off; 1 when something does not fit or the gear cannot be turned with the figures, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    outputs = Outputs((request.engine, request.picks), request.replace)
    picture, output = outputs.file(request.picture, PICTURE), outputs.file(request.write, STARTER)
    engine = engine_with(request.engine, [request.state])
    if request.name in engine.state_names:
        raise FileError(str(request.engine), f"there is a state {request.name!r} already", "choose another with --name")
    traced = _traced(request, engine)
    outputs_of_picture = Outputs((traced.picks.picture,), request.replace)
    for path in (request.picture, request.write):
        if path is not None:
            outputs_of_picture.refuse_input(path)
    if output is not None:
        output.write(traced.text)
    if picture is not None:
        _draw(picture, traced, engine, request)
    if request.json:
        print_json("trace", engine.unit, _data(traced, engine, request))
    else:
        show(_blocks(traced, engine, request))
    return int(bool(traced.found.strained) or traced.turned is None)


def _traced(request: TraceRequest, engine: Engine) -> Traced:
    with telling(engine, request.engine):
        side = assess_side(engine.side_state(request.state, "left"))
        elevation = elevation_of(side, engine)
    gear = side.gear
    keys = {key: str(declared(gear, key)["kind"]) for key in numbers(gear)}
    picks = read_picks(request.picks, engine.unit, PickedParts(elevation, ()).nameable(), keys)
    try:
        found = scaled_off(elevation, picks.picks, picks.as_drawn)
    except PictureError as error:
        raise FileError(str(request.picks), error.problem, error.remedy) from None
    of = f"{picks.picture.name} by the points of {request.picks.name}"
    text = picked_state_text(engine, request.name, found, picks.side, of, request.state)
    made = parse_engine(text, str(request.write or request.engine))
    return _turned(made, request.name, picks, found, text)


def _turned(made: Engine, state: str, picks: PicksFile, found: ScaledOff, text: str) -> Traced:
    """The engine with its new figures turned, and as it stands in the image."""
    setup = made.side_state(state, "right" if picks.side == "right" else "left")
    try:
        side = assess_side(setup)
    except NotchError as error:
        return Traced(picks, found, text, None, None, str(error))
    except (LinkageError, ValueError) as error:
        return Traced(picks, found, text, None, None, str(error))
    elevation = elevation_of(side, made)
    middle = elevation.paths.settings[len(side.notches) // 2]
    try:
        places = found.stands(side.gear, middle) if "wheel" in found.found.poses else None
    except LinkageError as error:
        return Traced(picks, found, text, side, None, f"as it stands in the image it does not close: {error}")
    return Traced(picks, found, text, side, None if places is None else (elevation, elevation.completed(places)), "")


def _draw(picture: OutputFile, traced: Traced, engine: Engine, request: TraceRequest) -> None:
    from linkmotion.views.lettering import Head
    from linkmotion.views.style import FULL, as_svg
    from linkmotion.views.traced_plot import plot_traced, read_image

    image = read_image(traced.picks.picture)
    high, wide = image.shape[:2]
    points = {name: traced.picks.picks.put(name)[0] for name in traced.picks.picks.points}
    view = traced.found.found.view
    side = "both sides" if traced.picks.side == "both" else f"{traced.picks.side} side"
    begun = "the drawing" if request.state == DRAWING else request.state
    title = f"{traced.picks.picture.name}, and the gear scaled off it laid over"
    head = Head(title, (engine.name, f"{side}, begun from {begun}; crosses: points put"))
    size = (FULL, max(1.0, FULL * high / wide))
    picture.write(as_svg(lambda ax: plot_traced(image, view, points, traced.gear, ax), size, head=head))


def _data(traced: Traced, engine: Engine, request: TraceRequest) -> dict[str, Any]:
    found = traced.found
    return {
        "engine": engine.name, "state": request.state, "name": request.name, "picture": traced.picks.picture.name,
        "pixels_per_mm": found.found.view.pixels,
        "figures": [
            {"letter": own.letter, "dimension": ".".join(own.key), "unit": own.unit,
             "scaled": measured(own.value, own.unit), "doubt": measured(own.doubt, own.unit),
             "drawing": measured(own.drawn, own.unit), "differs": own.differs}
            for own in found.figures
        ],
        "as_drawn": [".".join(key) for key in found.as_drawn],
        "not_told": [".".join(own.key) for own in found.untold],
        "misfits": [{"what": name, "deviations": by} for name, by in found.strained],
        "points_off": [{"pin": pin, "by": length(by)} for pin, by in traced.missed],
        "turns": traced.turned is not None, "refused": traced.refused or None,
    }  # fmt: skip


def _blocks(traced: Traced, engine: Engine, request: TraceRequest) -> Iterator[Block]:
    from linkmotion.views.scaled_words import ScaledWords
    from linkmotion.views.tables import CAUTION

    words = ScaledWords(traced.found, traced.picks, engine.unit)
    turns = "The gear turns in every notch with these figures."
    if traced.turned is None:
        turns = f"WITH THESE FIGURES THE GEAR CANNOT BE TURNED: {traced.refused}."
    yield Answer(words.answer(turns), traced.picks.picture.name)
    yield words.table()
    yield from (Point(sentence) for sentence in words.sentences())
    yield from (Point(sentence) for sentence in words.off(traced.missed))
    if traced.turned is not None and traced.refused:
        yield Point(traced.refused)
    if request.picture is not None:
        yield Answer(f"{request.picture}: the gear drawn over the image.", str(request.picture))
    if request.write is not None:
        yield Answer(f"{request.write}: the engine with the state {request.name!r}.", str(request.write))
        yield Command(f'linkmotion check {request.write} --state "{request.name}"')
    assumed = (
        f"Assumed, since the file does not say: {'; '.join(traced.picks.assumed)}. " if traced.picks.assumed else ""
    )
    yield Aside(f"{assumed}± holds 19 times in 20. {_PARALLAX}")
    yield Aside(CAUTION)
