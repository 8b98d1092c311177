"""What a command prints: the answer first, then tables and sentences, in lines that fit the terminal.

A terminal has its own width; a pipe or file has 80 columns, unless COLUMNS says otherwise. Signs that the stream's
encoding lacks are made plain before anything is laid out, so that columns stand true.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, TextIO

from rich.cells import cell_len

from linkmotion.files.results import as_json
from linkmotion.views.grid import Grid
from linkmotion.views.signs import ESCAPED, carried
from linkmotion.views.wrap import Line, wrapped

PIPE, LEAST = 80, 40
"""Columns of a pipe, and the fewest for which anything is laid out."""


@dataclass(frozen=True)
class Answer:
    """The answer, in one sentence; ``file`` is a name in it that is never broken."""

    words: str
    file: str = ""


@dataclass(frozen=True)
class Command:
    """A command to be given next, in one line however long, since it is copied."""

    words: str


@dataclass(frozen=True)
class Heading:
    """What the next lines are about."""

    words: str


@dataclass(frozen=True)
class Said:
    """A sentence or more; ``file`` is a name in it that is never broken."""

    words: str
    file: str = ""


@dataclass(frozen=True)
class Aside:
    """How to read it, what was assumed, what to beware of."""

    words: str


@dataclass(frozen=True)
class Point:
    """One of several things to be told; ``mark`` stands before it."""

    words: str
    mark: str = "·"


Block = Answer | Command | Heading | Said | Aside | Point | Grid
OUT = "✗"
"""Mark of what is out of target or wrong."""


def show(blocks: Iterable[Block]) -> None:
    """Print on standard output."""
    from rich.console import Console
    from rich.text import Text

    class Raising(Console):
        """Tells a broken pipe instead of ending the run with 1."""

        def on_broken_pipe(self) -> None:
            raise

    out = sys.stdout
    console = Raising(file=out, highlight=False, emoji=False, markup=False)
    for line in laid_out(blocks, columns_of(out), encoding_of(out)):
        console.print(Text(line.text, style=line.style), soft_wrap=True)


def laid_out(blocks: Iterable[Block], width: int, encoding: str) -> Iterator[Line]:
    """The lines of a printout.

    Parameters
    ----------
    blocks, width, encoding : iterable of Block, int, str
        What is told; columns and encoding of the stream.
    """

    def plain(text: str) -> str:
        return carried(text, encoding)

    last: Block | None = None
    for block in blocks:
        if last is not None and (isinstance(block, Grid) or isinstance(last, Grid)):
            yield Line("")
        last = block
        if isinstance(block, Grid):
            yield from block.with_signs(plain).laid_out(width)
            continue
        mark = f" {plain(block.mark)} " if isinstance(block, Point) else "  " * isinstance(block, Command)
        file = block.words if isinstance(block, Command) else getattr(block, "file", "")
        style = {Answer: "bold", Heading: "bold", Aside: "dim"}.get(type(block), "")
        for text in wrapped(plain(block.words), width, mark, " " * cell_len(mark), plain(file)):
            yield Line(text, style)


def columns_of(stream: TextIO) -> int:
    """Columns that a stream shows: as COLUMNS says, as its terminal has, else 80; 40 at least.

    Parameters
    ----------
    stream : text stream
        Such as standard output.
    """
    asked = os.environ.get("COLUMNS", "")
    if asked.isdecimal() and int(asked) > 0:
        return max(int(asked), LEAST)
    try:
        if stream.isatty():
            return max(os.get_terminal_size(stream.fileno()).columns or PIPE, LEAST)
    except (OSError, ValueError):
        pass
    return PIPE


def encoding_of(stream: TextIO) -> str:
    """A stream's encoding."""
    return getattr(stream, "encoding", None) or "utf-8"


def print_json(command: str, unit: str, data: dict[str, Any], indent: int | None = 1) -> None:
    """Print a command's answer as JSON, letters that the encoding lacks as its own escapes.

    Parameters
    ----------
    command, unit, data, indent
        As for :func:`linkmotion.files.results.as_json`.
    """
    print_data(as_json(command, unit, data, indent))


def print_data(text: str) -> None:
    r"""Print JSON or CSV as it is; letters that the encoding lacks as ``\uXXXX``, so that none is lost."""
    print(carried(text, encoding_of(sys.stdout), ESCAPED), end="")


def complain(words: str, file: str = "") -> None:
    """Print what is wrong on the error stream: the first line as it is, the remedy set in under it.

    Parameters
    ----------
    words, file : str
        Lines; a name in them that is never broken.
    """
    err = sys.stderr
    for number, text in enumerate(words.split("\n")):
        told, before = carried(text.strip(), encoding_of(err)), "  " * bool(number)
        for line in wrapped(told, columns_of(err), before, "  ", carried(file, encoding_of(err))):
            print(line, file=err)
