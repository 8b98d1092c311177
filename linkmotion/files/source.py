"""The text of a file and the places in it, so that every fault can name its line."""

from __future__ import annotations

import re
import stat
import tomllib
from collections.abc import Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lines import key_lines, line_of

LARGEST = 1_000_000  # bytes: an engine file is a few thousand
STARTER = "linkmotion begin writes a starter file"
Where = tuple[str, ...]


class Source:
    """The text of a file under the name by which the user called it."""

    def __init__(self, text: str, name: str) -> None:
        self.text, self.name = text, name

    @classmethod
    def read(cls, path: str | Path) -> Source:
        """Read a plain text file of reasonable size."""
        name = str(path)
        try:
            status = Path(path).stat()
            plain = stat.S_ISREG(status.st_mode)
            data = b""
            if plain:
                with Path(path).open("rb") as file:
                    data = file.read(LARGEST + 1)
        except OSError as error:
            raise FileError(name, (error.strerror or "cannot be read").lower(), f"check the name; {STARTER}") from None
        except ValueError as error:  # a name that no file can have
            raise FileError(name, str(error), f"check the name; {STARTER}") from None
        if not plain:
            kind = "is a directory" if stat.S_ISDIR(status.st_mode) else "not a plain file"
            raise FileError(name, kind, f"check the name; {STARTER}")
        if len(data) > LARGEST:
            raise FileError(name, "larger than a megabyte, which no engine file is", "is this the right file?")
        try:
            return cls(data.decode("utf-8-sig"), name)
        except UnicodeDecodeError as error:
            raise FileError(name, f"not a text file (byte {error.start})", "save it as plain text, UTF-8") from None

    @cached_property
    def lines(self) -> Mapping[Where, int]:
        """Line of every key."""
        return key_lines(self.text)

    def line(self, where: Where) -> int | None:
        """Line of a key, or of the nearest table around it."""
        return line_of(self.lines, where)

    def fault(self, where: Where, problem: str, remedy: str) -> FileError:
        """A fault at a key."""
        return FileError(self.name, problem, remedy, self.line(where), dotted(where))

    def document(self) -> dict[str, Any]:
        """The text as TOML."""
        if not self.text.strip():
            raise FileError(self.name, "the file is empty", STARTER)
        try:
            return tomllib.loads(self.text)
        except RecursionError:
            raise FileError(
                self.name, "tables or lists are nested too deep", "an engine file needs four deep"
            ) from None
        except tomllib.TOMLDecodeError as error:
            raise self._unread(str(error)) from None

    def _unread(self, said: str) -> FileError:
        found = re.match(r"(.*?)\s*\(at (?:line (\d+), column (\d+)|end of document)\)", said)
        line = int(found[2]) if found and found[2] else self.text.rstrip().count("\n") + 1
        said = (found[1] if found else said).lower()
        written = (self.text.splitlines() or [""])[min(line, self.text.count("\n") + 1) - 1]
        key = re.match(r"\s*([^=\[\]#]+?)\s*=", written)
        remedy = 'a length with a unit or fraction stands in quotes: "1 5/16 in"'
        if re.search(r"=\s*[-+]?\d+,\d", written):
            remedy = "write a point for decimals, not a comma"
        if "overwrite" in said or "twice" in said or "duplicate" in said:
            what = f"the key {key[1]}" if key else "this key or table"
            remedy = f"{what} is given twice; keep one"
        return FileError(self.name, f"not valid TOML: {said}", remedy, line, key[1] if key else "")

    def known(self, table: Mapping[str, Any], where: Where, known: list[str]) -> None:
        """See that a table has only keys that are known."""
        for key in table:
            if key not in known:
                raise self.fault((*where, key), "unknown", nearest(key, known))

    def table(self, value: Any, where: Where) -> dict[str, Any]:
        """A value that must be a table."""
        if isinstance(value, dict):
            return value
        raise self.fault(where, f"read {shown(value)}, wanted a table", f"write [{dotted(where)}] on a line of its own")

    def words(self, value: Any, where: Where) -> str:
        """A value that must be words that can be printed."""
        if not isinstance(value, str):
            raise self.fault(where, f"read {shown(value)}, wanted words in quotes", f'write {where[-1]} = "…"')
        return self.printable(value, where)

    def printable(self, words: str, where: Where) -> str:
        """Words that are shown to the reader: no signs that steer a terminal."""
        if not words.isprintable():
            raise self.fault(where, f"{words!a} holds signs that cannot be printed", "write plain words")
        return words


def shown(value: Any) -> str:
    """What was read, briefly, as it was written rather than as Python has it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:39]}…"


def dotted(where: Where) -> str:
    """A path as it is written in TOML."""
    return ".".join(part if re.fullmatch(r"[\w-]+", part, re.ASCII) else f'"{part}"' for part in where)
