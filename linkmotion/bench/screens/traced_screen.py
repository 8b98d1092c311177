"""What does a drawing or a photograph say of the gear? Points put on it by eye, and what ``trace`` makes of them."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from linkmotion.bench.as_html import as_html
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import see_new_state
from linkmotion.bench.photographs_shown import photographs_in
from linkmotion.bench.points_put import (
    SAID,
    enter_known,
    enter_point,
    enter_said,
    forget,
    known,
    points,
    told_of_gear,
    wanting,
)
from linkmotion.bench.screen import Answered, Asked, Choice, Screen
from linkmotion.commands.input import telling
from linkmotion.commands.trace import cautions, figures, first
from linkmotion.engine import DRAWING, Engine
from linkmotion.face.traced import NAME, Traced, traced
from linkmotion.files.faults import FileError, one_line
from linkmotion.files.figure_edit import read_tables, typed
from linkmotion.files.file_kinds import POINTS
from linkmotion.files.journal import digest
from linkmotion.files.picked_state import picked_state_text
from linkmotion.files.picks_edit import points_form
from linkmotion.files.picks_file import DRAWING_KIND, LINE, PAPER_WITHIN, PHOTOGRAPH, WITHIN
from linkmotion.files.source import Source
from linkmotion.linkage import LinkageError
from linkmotion.sides import BOTH, sides_meant
from linkmotion.views.embedded import NotShown, upright_size
from linkmotion.views.printout import Answer, Block, Said
from linkmotion.views.traced_lines import lines_svg

LIKE = "like"
_USUAL = {"kind": "drawing", "within": WITHIN, "line": LINE, "paper": PAPER_WITHIN, "side": "both"}


def answer(asked: Asked) -> Answered:
    """The picture with its points; what follows of them the page asks for itself."""
    name, work = asked.options[POINTS], asked.work
    pictures = list(_pictures(work))
    if not name:
        if pictures:
            first_words = Answer("No points have been put on a picture yet: choose the drawing or the photograph.")
        else:
            first_words = Answer("There is no picture in this folder yet: put a drawing or a photograph into it.")
        return Answered((first_words,), {"pictures": pictures})
    path = work.beside.path(POINTS, name)
    writes = work.beside.can_write(name)
    text = Source.read(path).text
    told: dict[str, Any] = {"pictures": pictures, "name": name, "writes": writes, "like": asked.options[LIKE]}
    if writes:
        kept = work.beside.kept(name)
        kept.look()
        text = kept.text
        done, undone = kept.journal.standing()
        told |= {"worked_on": name, "version": kept.version, "can_undo": bool(done), "can_redo": bool(undone),
                 "changes": list(reversed(kept.journal.changes))[:12]}  # fmt: skip
    return Answered((), told | _desk(asked, path, read_tables(text)))


def _desk(asked: Asked, path: Path, tables: Mapping[str, Any]) -> dict[str, Any]:
    """The picture, what can be put on it, and what is known."""
    pins, keys = told_of_gear(asked.work, asked.options[LIKE])
    shown, size = _picture(asked.work, path, tables)
    own = points(tables, pins)
    head = tables.get("picture")
    head = head if isinstance(head, Mapping) else {}
    states = asked.engine.state_names
    sides = asked.engine.sides
    choices = {"kind": (DRAWING_KIND, PHOTOGRAPH), "side": (BOTH, *sides) if len(sides) > 1 else ()}
    named = NAME if NAME not in states else next(f"{NAME} {n}" for n in range(2, 99) if f"{NAME} {n}" not in states)
    return {
        "picture": shown, "size": size, "points": own, "known": known(tables), "choices_said": choices,
        "said": {key: (words, typed(head.get(key, _USUAL[key])))
                 for key, words in SAID.items() if choices.get(key, True)},
        "dimensions": [".".join(key) for key in keys], "new_state": named,
        "put_data": {own.name: own.takings for own in own},
    }  # fmt: skip


def _pictures(work: EngineAtWork) -> dict[str, Path]:
    """Pictures of the folder that have pixels."""
    return {name: path for name, path in photographs_in(work.kept.folder).items() if path.suffix.lower() != ".svg"}


def _picture(work: EngineAtWork, path: Path, tables: Mapping[str, Any]) -> tuple[str, tuple[int, int]]:
    """The picture of a points file, by its name from the folder on, and its pixels across and down."""
    head = tables.get("picture")
    file = str(head.get("file", "")) if isinstance(head, Mapping) else ""
    wanted = (path.parent / file).resolve()
    for name, own in _pictures(work).items():
        if own.resolve() == wanted:
            try:
                return name, upright_size(own)
            except NotShown:
                raise FileError(name, "this picture is damaged", "save it anew") from None
    raise FileError(path.name, f"its picture {one_line(file, 80)!r} is not in this folder", "put it back there")


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """A file begun, a point put, something known, what is said of the picture; figures asked for, and taken."""
    match wish:
        case {"do": "begin", "picture": str(picture), "kind": "drawing" | "photograph" as kind}:
            return _begun(work, picture, kind)
        case {"do": "follows", "file": str(name), "like": str(like)}:
            return _follows(work, name, _state(work, like))
        case {"do": "turn", "file": str(name), "like": str(like), "by": int() | float() as by} if abs(by) <= 360:
            return _over(_traced(work, name, _state(work, like)), float(by))
        case {"do": "state", "file": str(name), "like": str(like), "state": str(state)}:
            return _taken(work, name, _state(work, like), state)
        case {"file": str(name)}:
            return _entered(work, name, wish)
    raise FileError("entry", "this cannot be understood", "load the page anew")


def _entered(work: EngineAtWork, name: str, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    kept, like = work.beside.kept(name), _state(work, str(wish.get("like", DRAWING)))
    match wish:
        case {"do": "point"}:
            size = _picture(work, kept.path, read_tables(kept.text))[1]
            change = enter_point(kept, wish, size)
        case {"do": "known"}:
            change = enter_known(work, kept, wish, like)
        case {"do": "forget", "number": int(number), "seen": int(seen)}:
            change = forget(kept, number, seen)
        case {"do": "said"}:
            change = enter_said(work, kept, wish, like)
        case _:
            raise FileError("entry", "this cannot be understood", "load the page anew")
    done, undone = kept.journal.standing()
    return {"words": change.words if change else "nothing was changed", "version": kept.version, "undo": bool(done),
            "redo": bool(undone)}  # fmt: skip


def _state(work: EngineAtWork, like: str) -> str:
    return like if like in work.must().state_names else DRAWING


def _begun(work: EngineAtWork, picture: str, kind: str) -> Mapping[str, Any]:
    from urllib.parse import urlencode

    if picture not in _pictures(work):
        raise FileError("picture", "there is no such picture in this folder", "choose one of the list")
    return {
        "to": f"traced?{urlencode({POINTS: work.beside.begin('points', points_form(picture, work.must().name, kind))})}"
    }


def _traced(work: EngineAtWork, name: str, like: str) -> Traced:
    """What the points say; worked out once for what stands in both files."""
    path, engine = work.beside.path(POINTS, name), work.must()
    text = Source.read(path).text

    def made() -> Traced:
        with telling(engine, work.path):
            return traced(engine, path, like, _free(engine), work.path.name)

    return work.study(("traced", name, like, digest(text)), made)


def _free(engine: Engine) -> str:
    """A name that no state has."""
    return next(name for name in (NAME, *(f"{NAME} {n}" for n in range(2, 999))) if name not in engine.state_names)


def _follows(work: EngineAtWork, name: str, like: str) -> Mapping[str, Any]:
    """What follows of the points: the answer, the figures, and the gear as it is laid over the picture."""
    path = work.beside.path(POINTS, name)
    tables = read_tables(Source.read(path).text)
    missing = wanting(tables, told_of_gear(work, like)[0])
    nothing: dict[str, Any] = {"rest": "", "svg": "", "places": {}, "wrong": [], "usable": False}
    if missing:
        told: list[Block] = [Answer(f"Still to be put: {', '.join(missing)}.")]
        return nothing | {"first": as_html(told)}
    try:
        own = _traced(work, name, like)
    except FileError as error:
        key = f"{error.key.removeprefix('points.')}: " if error.key else ""
        told = [
            Answer(f"Not to be told yet: {key}{error.problem}."),
            Said(f"{error.remedy[:1].upper()}{error.remedy[1:]}."),
        ]
        return nothing | {"first": as_html(told)}
    wrong = [strained for strained, _by in own.found.strained]
    return {
        "first": as_html([first(own)]), "rest": as_html([*figures(own, points=True), *cautions(own)]),
        "wrong": wrong, "usable": bool(own.found.figures), **_over(own, 0.0),
    }  # fmt: skip


def _over(own: Traced, by: float) -> Mapping[str, Any]:
    """The gear over the picture, turned on by some degrees; and where each pin would be seen as it stands there."""
    try:
        places = own.standing(by)
    except LinkageError:
        return {
            "svg": "",
            "places": {},
            "turned": "With the wheel so the parts do not meet: the gear cannot stand there.",
        }
    if places is None or own.elevation is None:
        why = own.refused or "put the axle and the crank pin: they tell how the wheel stands"
        return {"svg": "", "places": {}, "turned": f"Not drawn: {why}."}
    view = own.found.found.view
    seen = {pin: complex(view.seen(at)) for pin, at in places.items()}
    told = f"turned on by {by:g}°" if by else "as the picture has it"
    return {"svg": lines_svg(view, own.elevation, places), "turned": f"The gear {told}.",
            "places": {pin: [round(at.real, 1), round(-at.imag, 1)] for pin, at in seen.items()}}  # fmt: skip


def _taken(work: EngineAtWork, name: str, like: str, state: str) -> Mapping[str, Any]:
    """The figures as a state of the engine's own file."""
    from urllib.parse import urlencode

    own = _traced(work, name, like)
    state = see_new_state(work.must(), state)

    def made(text: str) -> str:
        engine = work.read(text)
        of = f"{own.picks.picture.name} by the points of {name}"
        new = picked_state_text(engine, state, own.found, own.picks.side, of, like)
        work.read(new)
        return new

    words = f"new state: {state}, {len(own.found.figures)} figures scaled off {own.picks.picture.name}"
    work.kept.change(made, words, work.kept.version, (("state", state),))
    side = sides_meant(own.picks.side, work.must().sides)[0]
    return {"to": f"side?{urlencode({'state': state, 'side': side, POINTS: name})}"}


SCREEN = Screen(
    "traced",
    "From a picture",
    "What does this picture say of the gear?",
    answer,
    place=36,
    chooses=(),
    choices=(Choice(LIKE, "Begun from", lambda engine: {name: name for name in engine.state_names}),),
    template="traced.html",
    file=POINTS,
    takes=takes,
)
