"""The command line's app, and choices that commands share."""

from __future__ import annotations

from enum import StrEnum

import typer

ABOUT = "Valve events of steam-locomotive valve gear, from dimensions you can measure."
app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help=ABOUT,
)


class Side(StrEnum):
    """Sides to be looked at."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"


class Running(StrEnum):
    """Directions of running to be listed."""

    DRIVEN = "driven"
    FORWARD = "forward"
    BACKWARD = "backward"
    BOTH = "both"


@app.callback(help=ABOUT)
def _commands() -> None:
    """Let the app have commands, however few."""
