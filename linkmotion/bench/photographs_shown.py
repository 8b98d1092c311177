"""Photographs of a folder as the bench shows them: only files that the folder holds, by its own list."""

from __future__ import annotations

import base64
from pathlib import Path

from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.files.engine_folder import EngineFolder
from linkmotion.files.faults import FileError
from linkmotion.files.photographs import LARGEST_PICTURE, picture_kind
from linkmotion.views.embedded import NotShown, embedded, upright

SVG = "image/svg+xml"
WHOLE = 6000  # pixels along the longer side of one that is looked at nearly: a large drawing at 200 to the inch


def photographs_in(folder: FolderOfEngines) -> dict[str, Path]:
    """The photographs of a folder and of those within, by their names from the folder on."""
    found = (path for path in EngineFolder(folder.path).photos if folder.holds(path))
    return {path.relative_to(folder.path).as_posix(): path for path in found}


def photograph(folder: FolderOfEngines, name: str, whole: bool = False) -> tuple[str, bytes]:
    """One of them: what kind of picture it is, and the picture, upright and without what a camera notes of its owner.

    Parameters
    ----------
    folder, name : FolderOfEngines, str
        That holds it; from the folder on.
    whole : bool
        Whether it is to be looked at pixel by pixel; else no larger than a page needs.

    Raises
    ------
    FileError
        There is none of this name, or it cannot be shown.
    """
    path = photographs_in(folder).get(name)
    if path is None:
        raise FileError(name[:80], "there is no such photograph in this folder", "load the page anew")
    try:
        if path.stat().st_size > LARGEST_PICTURE:
            raise FileError(path.name, "this picture is larger than 60 megabytes", "save it smaller")
        with path.open("rb") as file:
            kind = picture_kind(file.read(1024))
        if whole and kind != SVG:
            return upright(path, kind, WHOLE)
        head, data = embedded(path, kind).split(",", 1)
    except (OSError, NotShown):
        raise FileError(path.name, "this picture is damaged and cannot be shown", "save it anew") from None
    return head.removeprefix("data:").removesuffix(";base64"), base64.b64decode(data)
