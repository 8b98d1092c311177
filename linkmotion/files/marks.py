"""The mark by which linkmotion knows a file again that it wrote, as long as nobody has changed it.

A line of words in a place that the format keeps for remarks, with the SHA-256 of the whole file (its own digits taken
as noughts). Where the sum no longer fits, the file has been changed since, and is the user's.

============  ==============================================================
.svg, .html   remark behind the end of the document
.pdf          remark before ``startxref``: no object moves
.wav          LIST chunk of kind INFO, entry ISFT (the software that wrote it)
.dxf          remark (group 999) before the first section
============  ==============================================================
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from pathlib import Path

_MARK = re.compile(rb"linkmotion wrote this(?: \(([a-z ]+)\))?; its sum, unless changed: ([0-9a-f]{64})")
_NOUGHTS = b"0" * 64
_BORDER = 4096  # bytes at either end of a file within which the mark stands


@dataclass(frozen=True)
class Mark:
    """What the mark of a file says.

    Attributes
    ----------
    group : str
        Name of the set of files that were written together, or "" for a file by itself.
    sound : bool
        Whether the file is still as linkmotion wrote it.
    """

    group: str
    sound: bool


def marked(data: bytes, ending: str, group: str = "") -> bytes:
    """The bytes of a file with the mark in them.

    Parameters
    ----------
    data : bytes
        The whole file.
    ending : str
        How the file's name ends, such as ".svg": one of the table above.
    group : str
        Name of the set that it belongs to, in small letters, or "".

    Raises
    ------
    ValueError
        Files of that ending have no place for a mark.
    """
    words = f"linkmotion wrote this{f' ({group})' if group else ''}; its sum, unless changed: ".encode() + _NOUGHTS
    match ending:
        case ".svg" | ".html" | ".htm":
            whole = data.rstrip() + b"\n<!-- " + words + b" -->\n"
        case ".pdf":
            end = data.rindex(b"startxref")
            whole = data[:end] + b"% " + words + b"\n" + data[end:]
        case ".wav":
            whole = _with_chunk(data, words)
        case ".dxf":
            whole = b"999\n" + words + b"\n" + data
        case _:
            raise ValueError(f"no place for a mark in {ending!r}")
    at = whole.index(words) + len(words) - len(_NOUGHTS)
    return whole[:at] + hashlib.sha256(whole).hexdigest().encode() + whole[at + len(_NOUGHTS) :]


def mark_of(path: Path) -> Mark | None:
    """The mark of a file; None where it bears none or cannot be read.

    Parameters
    ----------
    path : Path
        Of any file.
    """
    try:
        with path.open("rb") as file:
            head = file.read(_BORDER)
            file.seek(max(0, path.stat().st_size - _BORDER))
            if not _MARK.search(head) and not _MARK.search(file.read()):
                return None
        data = path.read_bytes()
    except OSError:
        return None
    found = list(_MARK.finditer(data))
    sound = [own for own in found if _sum_without(data, own) == own[2].decode()]
    own = (sound or found)[-1]
    return Mark((own[1] or b"").decode(), bool(sound))


def _sum_without(data: bytes, own: re.Match[bytes]) -> str:
    return hashlib.sha256(data[: own.start(2)] + _NOUGHTS + data[own.end(2) :]).hexdigest()


def _with_chunk(data: bytes, words: bytes) -> bytes:
    """A WAV with one more chunk; a RIFF file holds its own length, and its chunks are even."""
    text = words + b"\0" * (2 - len(words) % 2)  # ends with a nought
    entry = b"INFOISFT" + len(text).to_bytes(4, "little") + text
    body = data[8:] + b"\0" * (len(data) % 2) + b"LIST" + len(entry).to_bytes(4, "little") + entry
    return data[:4] + len(body).to_bytes(4, "little") + body
