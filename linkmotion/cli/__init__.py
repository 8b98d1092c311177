"""Commands. Each is one library call and one view of what it gave; heavy imports wait until one is given."""

from __future__ import annotations

import os
import sys
from typing import NoReturn

import typer

from linkmotion.cli import on_the_bench as on_the_bench  # registers its commands
from linkmotion.cli import on_the_engine as on_the_engine
from linkmotion.cli import showing as showing
from linkmotion.cli.app import app

ALL_WITHIN, BAD_INPUT = 0, 2


def main() -> NoReturn:
    """Run a command; wrong input ends with one or two plain lines and 2."""
    code, words = ALL_WITHIN, sys.argv[1:] or ["--help"]
    try:
        code = app(words, standalone_mode=False) or ALL_WITHIN
        sys.stdout.flush()
    except typer.Abort:
        sys.exit("stopped")
    except ValueError as error:
        if type(error).__module__.split(".")[0] != "linkmotion":
            raise
        print(error, file=sys.stderr)
        sys.exit(BAD_INPUT)
    except BrokenPipeError:  # whoever read the output has had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
    except OSError as error:
        print(
            f"{error.filename}: {(error.strerror or str(error)).lower()}\n  choose a place that can be written",
            file=sys.stderr,
        )
        sys.exit(BAD_INPUT)
    except Exception as error:
        if not hasattr(error, "format_message"):  # what typer has to say of the words on the command line
            raise
        print(
            f"linkmotion: {error.format_message()}\n  linkmotion COMMAND --help tells what a command takes",
            file=sys.stderr,
        )
        sys.exit(BAD_INPUT)
    sys.exit(code)
