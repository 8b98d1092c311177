"""Commands. Each is one library call and one view of what it gave; heavy imports wait until one is given."""

from __future__ import annotations

try:
    import os
    import sys
    from copy import copy
    from functools import cache
    from typing import Any, NoReturn

    import typer
    from typer.core import TyperGroup

    from linkmotion.cli import ending
    from linkmotion.cli import in_the_browser as in_the_browser  # registers its commands
    from linkmotion.cli import on_the_bench as on_the_bench
    from linkmotion.cli import on_the_engine as on_the_engine
    from linkmotion.cli import recording as recording
    from linkmotion.cli import showing as showing
    from linkmotion.cli.app import app as app
except BaseException as error:  # Ctrl-C while this is loaded; a class being made wraps it up (Python 3.11)
    if isinstance(error, KeyboardInterrupt) or isinstance(error.__cause__, KeyboardInterrupt):
        raise SystemExit(130) from None
    raise

ALL_WITHIN, BAD_INPUT = 0, 2
_GONE = {"live": "what live did is done on the bench now: linkmotion bench FOLDER"}
"""Commands of earlier versions, too unlike what does their work now for the nearest name to be found."""
_WHOLE = ("is not a whole number", "give one, such as 200")
_NUMBERS = {
    "float_parsing": ("is not a number", "give one, such as 45 or 12.5"),
    "int_parsing": _WHOLE,
    "int_from_float": _WHOLE,
    "greater_than_equal": ("is too little", "give {ge:g} or more"),
    "less_than_equal": ("is too much", "give {le:g} or less"),
}
"""What the library finds in a number on the command line, in plain words: what is wrong, what to do."""


def main() -> NoReturn:
    """Run a command; wrong input ends with one or two plain lines and 2, an interruption silently with 130.

    141 is the reader's going away, or standard output closed: as the shell counts them.
    """
    try:
        closed = ending.streams_closed()
        ending.prepare()
        os.environ.setdefault("OMP_NUM_THREADS", "1")  # numpy's products are small: its threads would only wait
        code = _run(sys.argv[1:] or in_the_browser.words_alone())
    except BaseException as error:
        status = ending.stopped()
        if status is None and not isinstance(error, KeyboardInterrupt):
            raise
        ending.leave(status or 130)
    ending.leave(ending.READER_GONE if closed and code != BAD_INPUT else code)


def _run(words: list[str]) -> int:
    """Run a command; its exit status."""
    try:
        code = _obeyed(words)
        sys.stdout.flush()
    except BrokenPipeError:  # whoever read the output has had enough
        return ending.READER_GONE
    except ValueError as error:
        if type(error).__module__.split(".")[0] != "linkmotion":
            raise
        return _refused(str(error), getattr(error, "file", ""))
    except OSError as error:
        name = str(error.filename) if error.filename is not None else "standard output"
        told = f"{name}: {(error.strerror or str(error)).lower()}\n  choose a place that can be written"
        return _refused(told, name)
    except Exception as error:
        if not hasattr(error, "format_message"):  # what typer has to say of the words on the command line
            raise
        if number := _number_refused(error):
            return _refused(number)
        remedy = _GONE.get(words[0] if words else "", "linkmotion COMMAND --help tells what a command takes")
        told = error.format_message().replace("Value error, ", "")  # a word of the library that checks choices
        return _refused(f"linkmotion: {told}\n  {remedy}")
    return code


def _number_refused(error: Any) -> str:
    """What was given for a number that it cannot be, and what to give; "" where something else is wrong."""
    told: list[Any] = getattr(error.__cause__, "errors", list)()
    if not told or not getattr(error, "param", None):
        return ""
    what, remedy = _NUMBERS.get(told[0]["type"], ("", ""))
    read, limits = str(told[0]["input"]), told[0].get("ctx", {})
    return f"{error.param.opts[0]}: {read!r} {what}\n  {remedy.format(**limits)}" if what else ""


def _obeyed(words: list[str]) -> int:
    """Run a command as typer has it, but for its own ways of ending: it takes a broken pipe for 1."""
    command = _with_only(words[0] if words else "")
    try:
        with command.make_context("linkmotion", words) as context:
            command.invoke(context)
    except typer.Exit as ended:
        return int(ended.exit_code)
    return ALL_WITHIN


@cache
def _with_only(name: str) -> TyperGroup:
    """The app with the command of this name alone, since to make all takes 40 ms; with all where there is none such."""
    own = copy(app)
    named = [each for each in app.registered_commands if name == (each.name or getattr(each.callback, "__name__", ""))]
    own.registered_commands = named or app.registered_commands
    return typer.main.get_group(own)


def _refused(words: str, file: str = "") -> int:
    """Say what is wrong, in lines that fit, and what to do."""
    from linkmotion.views.printout import complain

    complain(words, file)
    return BAD_INPUT
