"""``linkmotion card``: a model of the gear to be cut out of card."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linkmotion.commands.input import engine_with, telling
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import CARD, Outputs
from linkmotion.files.side_named import sides_asked
from linkmotion.sides import BOTH
from linkmotion.studies.assess import SideEvents, assess
from linkmotion.studies.row_figures import Length
from linkmotion.views.printout import Answer, Point, Said, print_json, show
from linkmotion.views.progress import Told, progress

if TYPE_CHECKING:
    from linkmotion.studies.card.card_model import CardModel
    from linkmotion.studies.card.shapes import Piece
    from linkmotion.views.card.card_book import Layout


@dataclass(frozen=True)
class CardRequest:
    """What the user asked for."""

    engine: Path
    state: str = "drawing"
    side: str = BOTH
    scale: str = "fit"
    into: Path | None = None
    json: bool = False
    replace: bool = False


def run_card(request: CardRequest) -> int:
    """Write the model's sheets; 1 when a piece is in the way of another or cannot be cut, else 0."""
    into = request.into or request.engine.parent / f"{request.engine.stem}-card.pdf"
    output = Outputs((request.engine,), request.replace).file(into, CARD)
    engine = engine_with(request.engine, [request.state])
    request = replace(request, side=sides_asked(engine, request.engine, request.side)[0])
    with progress() as begin:
        made = made_of_card(request, engine, begin)
    output.write(made.sheets)
    model, laid, scale, remarks = made.model, made.laid, made.model.scale, made.remarks
    if request.json:
        print_json("card", engine.unit, {"engine": engine.name} | _told(model, laid, into, remarks))
    else:
        count = 2 + len(laid.tiles) + len(laid.pieces)
        words = f"{into}: card model at 1:{scale:g}, {count} sheets of A4; print them at 100 %."
        told = Said("The first two sheets say what is wanted and how it goes together.")
        show([Answer(words, str(into)), *map(Point, remarks), told])
    return int(bool(model.fouls or made.near))


@dataclass(frozen=True)
class MadeOfCard:
    """A model: its pieces and how they lie on the sheets, the sheets as PDF, holes too near, and what is to be told."""

    model: CardModel
    laid: Layout
    sheets: bytes
    near: list[tuple[str, str, str, float]]
    remarks: list[str]


def made_of_card(request: CardRequest, engine: Engine, begin: Callable[[str], Told]) -> MadeOfCard:
    """The model of a side.

    Parameters
    ----------
    request, engine : CardRequest, Engine
        What was asked for, and of what.
    begin : callable
        From the name of a stage to what is told how far it is.

    Raises
    ------
    FileError
        The gear cannot be turned, or does not go on sheets at the scale.
    """
    from linkmotion.studies.card.card_model import card_model
    from linkmotion.studies.card.scale import too_near
    from linkmotion.views.card.card_book import as_pdf, layout

    with telling(engine, request.engine):
        side = assess(engine, request.state, [request.side]).sides[0]
    begin("pieces")
    scale, pieces = _pieces(request, side)
    near = too_near(pieces)
    begin("layers")
    model = card_model(side, scale)
    laid = layout(model)
    sheets = as_pdf(model, engine.name, request.state, laid, begin("sheets"))
    return MadeOfCard(model, laid, sheets, near, list(_remarks(model, near)))


def _pieces(request: CardRequest, side: SideEvents) -> tuple[float, list[Piece]]:
    """The scale and the pieces at it, all of which go on a sheet."""
    from linkmotion.studies.card.packing import parted, upright
    from linkmotion.studies.card.scale import pieces_at

    scale = _scale(request.scale, side)
    pieces = pieces_at(side, scale)
    for piece in pieces:
        if any(upright(part) is None for part in parted(piece)):
            problem = f"the {piece.name} does not go on a sheet at 1:{scale:g}, not even in parts"
            raise FileError("--scale", problem, "choose a smaller model, such as --scale fit")
    return scale, pieces


def _scale(text: str, side: SideEvents) -> float:
    """A scale as written (1:8, or 8), or the largest whose pieces go on a sheet."""
    from linkmotion.studies.card.scale import fitting_scale

    if text == "fit":
        return fitting_scale(side)
    try:
        one, _, many = text.rpartition(":")
        scale = float(many) / float(one or 1)
    except (ValueError, ZeroDivisionError):
        raise FileError("--scale", f"{text!r} is no scale", "write it like 1:8, or fit") from None
    if not 0.5 <= scale <= 100:
        raise FileError("--scale", f"1:{scale:g} makes no model", "choose one between 2:1 and 1:100, or fit")
    return scale


def _remarks(model: CardModel, near: list[tuple[str, str, str, float]]) -> list[str]:
    found = [f"{piece}: the holes {a} and {b} are {mm:.1f} mm apart; choose a larger model" for piece, a, b, mm in near]
    found += [
        f"{piece} comes against the fastener of {joint}; no order of layers avoids it" for joint, piece in model.fouls
    ]
    return found + [f"notch {notch}: no room for a hole of its own" for notch in model.left_out]


def _told(model: CardModel, laid: Layout, into: Path, remarks: list[str]) -> dict[str, Any]:
    """Everything; lengths are those of the card."""

    def place(point: complex) -> list[Length]:
        return [Length(point.real), Length(point.imag)]

    pieces = [
        {
            "piece": one.name,
            "height": Length(model.height[one.name]),
            "holes": [{"pin": h.pin, "at": place(h.at), "diameter": Length(2 * h.radius)} for h in one.piece.holes],
        }
        for one in model.moving
    ]
    return {
        "file": str(into),
        "scale": f"1:{model.scale:g}",
        "sheets": {"told": 2, "board": len(laid.tiles), "pieces": len(laid.pieces)},
        "pieces_from_the_board_up": pieces,
        "board": [{"pin": h.pin, "at": place(h.at), "diameter": Length(2 * h.radius)} for h in model.board.holes],
        "joints": [{"pin": j.name, "pieces": list(j.members), "on_board": j.on_board} for j in model.joints],
        "remarks": remarks,
    }
