"""The card model as one PDF of A4 sheets."""

from __future__ import annotations

import io
import textwrap
import warnings
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import matplotlib
import numpy as np
from matplotlib.backends.backend_pdf import PdfPages

from linkmotion.sides import side_words
from linkmotion.studies.card.card_model import CardModel
from linkmotion.studies.card.packing import MARGIN, PAPER, Laid, packed, parted
from linkmotion.studies.card.shapes import Mark, Note
from linkmotion.studies.card.tiles import FOOT_LINE, Tile, tiles
from linkmotion.views.card.board import board_labels, draw_assembled, draw_tile
from linkmotion.views.card.ink import Sheet, width_of
from linkmotion.views.card.pieces import draw_pieces
from linkmotion.views.card.words import CARE, Named, how, questions, ratio, stack, steps, to_try, wanted
from linkmotion.views.progress import Told, untold

_LOOK = {"pdf.fonttype": 42, "hatch.linewidth": 0.3, "text.parse_math": False, "font.family": "DejaVu Sans"}
_TEXT, _HEAD, _TITLE = 1.9, 2.5, 3.1  # height of capitals, mm
_ROW = 3.75  # mm a row of a table takes
_FROM_FRONT = 45.0  # crank angle of the picture on the first sheet, degrees


@dataclass(frozen=True, eq=False)
class Layout:
    """Where everything stands on the sheets, which follow one another as told, board, pieces."""

    tiles: tuple[Tile, ...]
    pieces: tuple[tuple[Laid, ...], ...]


def layout(model: CardModel) -> Layout:
    """Lay a model out on sheets."""
    every = [*(one.piece for one in model.moving), *model.loose]
    sheets = packed(part for piece in every for part in parted(piece))
    return Layout(tuple(tiles(model.board.bounds, model.board.holes, model.board.printed)), tuple(sheets))


def as_pdf(model: CardModel, engine: str, state: str, laid: Layout | None = None, told: Told = untold) -> bytes:
    """The whole model as a PDF: instructions, board, pieces. ``told`` hears of every sheet."""
    laid = layout(model) if laid is None else laid
    named = Named.of(model)
    numbers = dict(named.numbers)
    for pieces in laid.pieces:
        for one in pieces:
            numbers.setdefault(one.piece.name, named.numbers.get(one.piece.name.split(", part ")[0], ""))
    out = io.BytesIO()
    with matplotlib.rc_context(_LOOK), warnings.catch_warnings():  # type: ignore[arg-type]
        warnings.filterwarnings("ignore", "Glyph .* missing")
        count = 2 + len(laid.tiles) + len(laid.pieces)
        sheets = [_first(model, named, engine, state, count), _second(model, named)]
        titles = ["what it is", "how it goes together"]
        labels = board_labels(model, named.letters, named.numbers, laid.tiles)
        sheets += [draw_tile(model, tile, laid.tiles, labels) for tile in laid.tiles]
        titles += [f"board, sheet {tile.name}" for tile in laid.tiles]
        sheets += [draw_pieces(pieces, named.letters, numbers) for pieces in laid.pieces]
        titles += ["pieces to cut out"] * len(laid.pieces)
        with PdfPages(out, metadata={"CreationDate": None, "Title": f"Card model of {engine}"}) as pdf:
            for i, (sheet, title) in enumerate(zip(sheets, titles, strict=True), 1):
                _foot(sheet, f"{_short(engine)} · {ratio(model.scale)} · {title} · {i} of {len(sheets)}")
                pdf.savefig(sheet.figure)
                told(i, len(sheets))
    return out.getvalue()


def _short(name: str) -> str:
    return textwrap.shorten(name, 62, placeholder=" …")


def _foot(sheet: Sheet, words: str) -> None:
    """A bar of 100 mm to be measured, and what sheet this is."""
    y = MARGIN + 1.2
    bar = np.array([MARGIN, MARGIN + 100.0]) + 1j * y
    sheet.mark(Mark(bar, "heavy"))
    for x in range(0, 101, 10):
        sheet.mark(Mark(np.array([0j, (2.2 if x % 50 == 0 else 1.2) * 1j]) + complex(MARGIN + x, y), "line"))
    sheet.write(Note("100 mm when printed at 100 %", MARGIN + 50.0 + 1j * (y + 4.2), 1.6))
    size = min(1.5, 1.5 * (sheet.paper[0] - 2 * MARGIN - 106) / width_of(words, 1.5))
    sheet.write(Note(words, complex(sheet.paper[0] - MARGIN, y + 1.0), size, 0.0, "right"))


class _Column:
    """Words set one under another."""

    def __init__(self, sheet: Sheet, top: float) -> None:
        self.sheet, self.y = sheet, top

    def head(self, text: str, size: float = _HEAD) -> None:
        self.y -= 1.6 * size
        for line in _wrapped(text, size, PAPER[0] - 2 * MARGIN - 8, "bold"):
            self.sheet.write(Note(line, complex(MARGIN + 4, self.y), size, 0.0, "left"), weight="bold")
            self.y -= 1.9 * size

    def lines(self, text: str, mark: str = "", size: float = _TEXT) -> None:
        indent = 5.5 if mark else 0.0
        if mark:
            self.sheet.write(Note(mark, complex(MARGIN + 4, self.y), size, 0.0, "left"), weight="bold")
        for line in _wrapped(text, size, PAPER[0] - 2 * MARGIN - 8 - indent):
            self.sheet.write(Note(line, complex(MARGIN + 4 + indent, self.y), size, 0.0, "left"))
            self.y -= 1.85 * size
        self.y -= 0.7 * size

    def table(
        self, heads: Sequence[str], rows: Iterable[Sequence[str]], widths: Sequence[float], size: float = 1.65
    ) -> None:
        self._row(heads, widths, size, "bold")
        for row in rows:
            self._row(row, widths, size)

    def _row(self, cells: Sequence[str], widths: Sequence[float], size: float, weight: str = "normal") -> None:
        x, deepest = MARGIN + 4.0, 1
        for cell, width in zip(cells, widths, strict=True):
            wrapped = _wrapped(cell, size, width - 2.5, weight)
            for i, line in enumerate(wrapped):
                self.sheet.write(Note(line, complex(x, self.y - 1.75 * size * i), size, 0.0, "left"), weight=weight)
            deepest, x = max(deepest, len(wrapped)), x + width
        self.y -= 1.75 * size * deepest + 0.5 * size


def _wrapped(text: str, size: float, width: float, weight: str = "normal") -> list[str]:
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and width_of(longer, size, weight) > width:
            lines.append(line)
            longer = word
        line = longer
    return [*lines, line]


def _first(model: CardModel, named: Named, engine: str, state: str, count: int) -> Sheet:
    """What it is, a picture of it, what is wanted, cautions."""
    sheet = Sheet(PAPER)
    column = _Column(sheet, PAPER[1] - MARGIN - 2)
    column.head(f"Card model: {engine}", _TITLE)
    gear = model.motion.gear.name
    where = "as drawn" if state == "drawing" else f"state {state!r}, {side_words(model.motion.side.side)}"
    column.lines(
        f"{gear[0].upper()}{gear[1:]} valve gear, {ratio(model.scale)}, {where}; seen from the side with the front to "
        "the right. Every pin stands in its place to scale, so that the valve does what the engine's does: turn the "
        "wheel clockwise to run forward."
    )
    x0, y0, x1, y1 = model.board.bounds
    height = min(120.0, (PAPER[0] - 2 * MARGIN - 8) * (y1 - y0) / (x1 - x0))
    area = (MARGIN + 4, column.y - height, PAPER[0] - MARGIN - 4, column.y)
    draw_assembled(sheet, model, named.numbers, area, _shown(model))
    column.y -= height + 3.5
    column.head("What is wanted")
    for line in wanted(model, named, count):
        column.lines(line, "·")
    column.head("What to look for")
    for i, line in enumerate(questions(model), 1):
        column.lines(line, f"{i}")
    column.lines("The program's own figures, to compare with what you read off:")
    rows = [line.split("|") for line in to_try(model)]
    room = max(2, int((column.y - MARGIN - FOOT_LINE - 26.0) / _ROW))
    if len(rows) > room:
        rows = [rows[i] for i in np.linspace(0, len(rows) - 1, room).round().astype(int)]
    column.table(("notch", "valve travel on the model", "cutoff, front", "cutoff, back"), rows, (70, 48, 30, 30))
    column.head("Take care")
    column.lines(CARE)
    return sheet


def _shown(model: CardModel) -> tuple[int, int]:
    """Notch and wheel position of the picture."""
    wheel = model.motion.shape[1]
    return 0, round(_FROM_FRONT / 360.0 * wheel) % wheel


def _second(model: CardModel, named: Named) -> Sheet:
    """Steps, joints, layers."""
    sheet = Sheet(PAPER)
    column = _Column(sheet, PAPER[1] - MARGIN - 2)
    column.head("How it goes together")
    for i, line in enumerate(steps(model, named), 1):
        column.lines(line, f"{i}")
    column.head("Joints: holes of one letter lie over one another")
    rows = [
        (named.letters[joint.name], joint.name, stack(model, joint, named), how(model, joint, named))
        for joint in model.joints
        if joint.name in named.letters
    ]
    column.table(("", "pin", "pieces, from the board up", "how"), rows, (8, 32, 78, 64))
    column.head("Pieces, in the order in which they are put on")
    column.lines("  ".join(named.piece(one.name).replace(" ", "\u00a0") + "," for one in model.moving).rstrip(","))
    column.lines("To be glued: " + ", ".join(f"{named.piece(p.name)} × {p.copies}" for p in model.loose) + ".")
    for joint, piece in model.fouls:
        letter = named.letters.get(joint, joint)
        column.lines(
            f"Mind: {named.piece(piece)} comes against the fastener {letter} in some place: keep that fastener short."
        )
    if model.left_out:
        column.lines("No room for a hole of its own: " + ", ".join(model.left_out) + ".")
    return sheet
