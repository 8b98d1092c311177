"""``linkmotion trace``: an engine's figures scaled off a drawing or a photograph, each with its doubt."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import DRAWING, Engine
from linkmotion.face.traced import NAME, Traced, traced
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import PICTURE, STARTER, OutputFile, Outputs
from linkmotion.sides import side_words
from linkmotion.studies.row_figures import length, measured
from linkmotion.views.printout import Answer, Aside, Block, Command, Point, print_json, show

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
    with telling(engine, request.engine):
        found = traced(engine, request.picks, request.state, request.name, str(request.write or request.engine))
    outputs_of_picture = Outputs((found.picks.picture,), request.replace)
    for path in (request.picture, request.write):
        if path is not None:
            outputs_of_picture.refuse_input(path)
    if output is not None:
        output.write(found.text)
    if picture is not None:
        _draw(picture, found, engine, request)
    if request.json:
        print_json("trace", engine.unit, _data(found, engine, request))
    else:
        show(_blocks(found, request))
    return int(bool(found.found.strained) or found.turned is None)


def _draw(picture: OutputFile, own: Traced, engine: Engine, request: TraceRequest) -> None:
    from linkmotion.views.lettering import Head
    from linkmotion.views.style import FULL, as_svg
    from linkmotion.views.traced_plot import plot_traced, read_image

    image = read_image(own.picks.picture)
    high, wide = image.shape[:2]
    points = {name: own.picks.picks.put(name)[0] for name in own.picks.picks.points}
    view = own.found.found.view
    side = side_words(own.picks.side, engine.sides)
    begun = "the drawing" if request.state == DRAWING else request.state
    title = f"{own.picks.picture.name}, and the gear scaled off it laid over"
    head = Head(title, (engine.name, f"{side}, begun from {begun}; crosses: points put"))
    size = (FULL, max(1.0, FULL * high / wide))
    picture.write(as_svg(lambda ax: plot_traced(image, view, points, own.gear, ax), size, head=head))


def _data(own: Traced, engine: Engine, request: TraceRequest) -> dict[str, Any]:
    found = own.found
    return {
        "engine": engine.name, "state": request.state, "name": request.name, "picture": own.picks.picture.name,
        "pixels_per_mm": found.found.view.pixels,
        "figures": [
            {"letter": each.letter, "dimension": ".".join(each.key), "unit": each.unit,
             "scaled": measured(each.value, each.unit), "doubt": measured(each.doubt, each.unit),
             "drawing": measured(each.drawn, each.unit), "differs": each.differs,
             "points": list(found.parts.told_by(each.key))}
            for each in found.figures
        ],
        "as_drawn": [".".join(key) for key in found.as_drawn],
        "not_told": [".".join(each.key) for each in found.untold],
        "misfits": [{"what": name, "deviations": by} for name, by in found.strained],
        "points_off": [{"pin": pin, "by": length(by)} for pin, by in own.missed],
        "turns": own.turned is not None, "refused": own.refused or None,
    }  # fmt: skip


def first(own: Traced) -> Answer:
    """The answer in one sentence."""
    from linkmotion.views.scaled_words import ScaledWords

    turns = "The gear turns in every notch with these figures."
    if own.turned is None:
        turns = f"WITH THESE FIGURES THE GEAR CANNOT BE TURNED: {own.refused}."
    return Answer(ScaledWords(own.found, own.picks, own.engine.unit).answer(turns), own.picks.picture.name)


def figures(own: Traced, points: bool = False) -> Iterator[Block]:
    """The figures, and what is to be said of them; ``points``: with those that tell each."""
    from linkmotion.views.scaled_words import ScaledWords

    words = ScaledWords(own.found, own.picks, own.engine.unit)
    yield words.table(points)
    yield from (Point(sentence) for sentence in words.sentences())
    yield from (Point(sentence) for sentence in words.off(own.missed))
    if own.turned is not None and own.refused:
        yield Point(own.refused)


def cautions(own: Traced) -> Iterator[Block]:
    """What was assumed, what a doubt is, and what none of them reckons with."""
    from linkmotion.views.tables import CAUTION

    assumed = f"Assumed, since the file does not say: {'; '.join(own.picks.assumed)}. " if own.picks.assumed else ""
    yield Aside(f"{assumed}± holds 19 times in 20. {_PARALLAX}")
    yield Aside(CAUTION)


def _blocks(own: Traced, request: TraceRequest) -> Iterator[Block]:
    yield first(own)
    yield from figures(own)
    if request.picture is not None:
        yield Answer(f"{request.picture}: the gear drawn over the image.", str(request.picture))
    if request.write is not None:
        yield Answer(f"{request.write}: the engine with the state {request.name!r}.", str(request.write))
        yield Command(f'linkmotion check {request.write} --state "{request.name}"')
    yield from cautions(own)
