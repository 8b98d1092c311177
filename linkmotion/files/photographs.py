"""Photographs that an engine file names: where each is, or why it cannot be shown and what to do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from linkmotion.files.source import Where
from linkmotion.files.whole import leads_into
from linkmotion.record import Record

LARGEST_PICTURE = 60_000_000  # bytes: the finest photographs of a hand-held camera have half of it
_STARTS = {b"\x89PNG\r\n\x1a\n": "image/png", b"\xff\xd8\xff": "image/jpeg", b"GIF8": "image/gif"}


@dataclass(frozen=True)
class Photograph:
    """A photograph of a record.

    Attributes
    ----------
    where : tuple of str
        Path of the table whose record names it.
    name : str
        As written.
    path : Path
        Where it should be.
    kind : str
        Such as "image/png", by its content; "" where it cannot be shown.
    problem, remedy : str
        Why not, and what to do; "" where it can.
    """

    where: Where
    name: str
    path: Path
    kind: str = ""
    problem: str = ""
    remedy: str = ""


def photographs(records: Mapping[Where, Record], folder: Path) -> list[Photograph]:
    """Every photograph that some records name.

    Parameters
    ----------
    records, folder : mapping, Path
        By path in the file; the folder in which the engine file is.
    """
    return [_found(where, name, folder) for where, record in records.items() for name in record.photos]


def _found(where: Where, name: str, folder: Path) -> Photograph:
    path = folder / name
    beside = f"put it there, or correct its name in {'.'.join(where)}"
    try:
        if not leads_into(path, folder):
            return Photograph(
                where, name, path, "", "is a link that leads out of the folder", "put a copy in its place"
            )
        if not path.is_file():
            return Photograph(where, name, path, "", "is not there", beside)
        size = path.stat().st_size
        with path.open("rb") as file:
            kind = picture_kind(file.read(1024))
    except OSError as error:
        return Photograph(where, name, path, "", (error.strerror or "cannot be read").lower(), beside)
    if not kind:
        return Photograph(where, name, path, "", "is no picture that a page can show", "save it as PNG or JPEG")
    if size > LARGEST_PICTURE:
        return Photograph(where, name, path, "", "is larger than 60 megabytes", "save it smaller")
    return Photograph(where, name, path, kind)


def picture_kind(head: bytes) -> str:
    """What kind of picture a file is, by its first bytes; "" of any other file.

    Parameters
    ----------
    head : bytes
        A kilobyte is enough.

    Examples
    --------
    >>> picture_kind(b"GIF89a..."), picture_kind(b"<svg xmlns='...'>"), picture_kind(b"six months of measuring")
    ('image/gif', 'image/svg+xml', '')
    """
    for start, kind in _STARTS.items():
        if head.startswith(start):
            return kind
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "image/webp"
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n")
    return "image/svg+xml" if text.startswith((b"<svg", b"<?xml", b"<!--")) and b"<svg" in text else ""


def missing(found: Iterable[Photograph]) -> list[tuple[str, str]]:
    """What is wrong with each that cannot be shown, and the remedy."""
    return [
        (f"photograph {own.name} of {'.'.join(own.where)} {own.problem}", own.remedy) for own in found if own.problem
    ]
