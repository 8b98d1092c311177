"""Commands. Each is one library call and one view of what it gave; heavy imports wait until one is given."""

from __future__ import annotations

import sys
from typing import NoReturn

from linkmotion.cli import on_the_bench as on_the_bench  # registers its commands
from linkmotion.cli import on_the_engine as on_the_engine
from linkmotion.cli import showing as showing
from linkmotion.cli.app import app

ALL_WITHIN, BAD_INPUT = 0, 2


def main() -> NoReturn:
    """Run a command; wrong input ends with one or two plain lines and 2."""
    try:
        app()
    except ValueError as error:
        if type(error).__module__.split(".")[0] != "linkmotion":
            raise
        print(error, file=sys.stderr)
        sys.exit(BAD_INPUT)
    except OSError as error:
        print(
            f"{error.filename}: {(error.strerror or str(error)).lower()}\n  choose a place that can be written",
            file=sys.stderr,
        )
        sys.exit(BAD_INPUT)
    sys.exit(ALL_WITHIN)
