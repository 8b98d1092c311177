"""A new engine's file, begun with its blanks; and the example to try things on."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.files.lines_edit import with_figure
from linkmotion.files.outputs import STARTER, Outputs
from linkmotion.files.starter import starter
from linkmotion.gears import GEARS

EXAMPLE = "example shunter"
_LONGEST = 120  # characters of an engine's name


def begin(folder: FolderOfEngines, asked: Any) -> str:
    """Begin a file as a page asks: its name.

    Parameters
    ----------
    folder, asked : FolderOfEngines, as read from JSON
        Where; ``engine`` and ``file`` names ("": made of the engine's), ``gear`` and ``unit``.

    Raises
    ------
    FileError
        Something of it cannot be; no file is begun.
    """
    match asked:
        case {"engine": str(engine), "file": str(file), "gear": str(gear), "unit": str(unit)}:
            pass
        case _:
            raise FileError("new engine", "this cannot be understood", "load the page anew")
    engine = " ".join(engine.split())
    if not engine or len(engine) > _LONGEST or not engine.isprintable():
        raise FileError("engine", "the engine needs a name", f"of up to {_LONGEST} letters")
    if gear not in GEARS or unit not in UNIT_NAMES:
        raise FileError("new engine", "no such gear or unit", "choose of the lists")
    path = folder.new(file.strip() or file_name(engine))
    Outputs(()).file(path, STARTER).write(with_figure(starter(gear, unit), ("engine", "name"), engine))
    return path.stem


def file_name(engine: str) -> str:
    """A file's name made of an engine's."""
    plain = "".join(c if c.isalnum() else " " for c in engine)
    return " ".join(plain.split()).lower()[:40].rstrip() or "engine"


def example(folder: FolderOfEngines) -> str:
    """Put the example into a folder: its name.

    Raises
    ------
    FileError
        There is one of its name already, or it cannot be written.
    """
    path = folder.new(EXAMPLE)
    text = (files(__package__) / "assets" / "example_shunter.toml").read_text("utf-8")
    Outputs(()).file(path, STARTER).write(text)
    return path.stem
