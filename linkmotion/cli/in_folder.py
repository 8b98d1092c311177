"""An engine's folder in place of its file: each input is found there unless it is given."""

from __future__ import annotations

from pathlib import Path

import typer

_FOLDER = "linkmotion.folder"  # in the context: the folder that was given


def engine_in(context: typer.Context, path: Path) -> Path:
    """The engine file that is meant, where a folder may be given.

    Parameters
    ----------
    context, path : typer.Context, Path
        Of the command; as named by the user.

    Raises
    ------
    FileError
        A folder with no engine file, or with several.
    """
    try:
        folder = path.is_dir()
    except OSError:  # a name that no file can have is told where the file is read
        return path
    if not folder or context.resilient_parsing:
        return path
    from linkmotion.files.engine_folder import EngineFolder

    context.meta[_FOLDER] = path
    return EngineFolder(path).engine()


def needed_readings(context: typer.Context, path: Path | None) -> Path | None:
    """The readings file: as given, else that of the engine in the folder that was given.

    Raises FileError where there is none, or neither a file nor a folder was given; typer.BadParameter is not used, so
    that the answer has the form of every other.
    """
    from linkmotion.files.faults import FileError

    found = readings_in(context, path)
    if found is None and not context.resilient_parsing:
        remedy = "give the readings file too, or the engine's folder; linkmotion form writes a file to fill in"
        raise FileError(f"linkmotion {context.info_name}", "which readings?", remedy)
    return found


def readings_in(context: typer.Context, path: Path | None) -> Path | None:
    """The readings file: as given, else that of the engine in the folder that was given, else none."""
    folder = context.meta.get(_FOLDER)
    if path is not None or folder is None:
        return path
    from linkmotion.files.engine_file import read_engine
    from linkmotion.files.engine_folder import EngineFolder

    there = EngineFolder(folder)
    return there.readings_of(read_engine(there.engine()).name)


def spots_in(context: typer.Context, path: Path | None, state: str) -> Path | None:
    """The readings file with distances: as given, else that of the folder that was given, if there is one.

    Parameters
    ----------
    context, path, state : typer.Context, Path, str
        Of the command; as given; where a state is given instead, none is looked for.
    """
    folder = folder_given(context)
    if path is not None or folder is None or state:
        return path
    from linkmotion.files.engine_file import read_engine
    from linkmotion.files.engine_folder import EngineFolder

    there = EngineFolder(folder)
    return there.spots_of(read_engine(there.engine()).name)


def marks_in(context: typer.Context, path: Path | None) -> Path | None:
    """The file of wheel marks: as given, else that of the folder that was given, else none."""
    folder = context.meta.get(_FOLDER)
    if path is not None or folder is None or context.params.get("out_by"):
        return path
    from linkmotion.files.engine_folder import EngineFolder

    return EngineFolder(folder).marks_of()


def folder_given(context: typer.Context) -> Path | None:
    """The folder that was given in place of the engine file, if one was."""
    found: Path | None = context.meta.get(_FOLDER)
    return found
