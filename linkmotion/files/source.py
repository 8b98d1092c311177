"""The text of a file and the places in it, so that every fault can name its line."""

from __future__ import annotations

import codecs
import re
import stat
import tomllib
from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Any

from linkmotion.engine_layers import parted
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lines import key_lines, line_of
from linkmotion.files.syntax import remedy, written_key

LARGEST = 1_000_000  # bytes: an engine file is a few thousand
STARTER = "linkmotion begin writes a starter file"
BLANK = "?"  # where a starter file or a form wants a figure
BOM = codecs.BOM_UTF8.decode("utf-8")
TEXT = ("utf-8-sig",)
TABLE = ("utf-8-sig", "cp1252")  # as spreadsheets save CSV
Where = tuple[str, ...]


class Source:
    """The text of a file under the name by which the user called it; its keys' letters, where they are known."""

    def __init__(self, text: str, name: str) -> None:
        self.text, self.name = text, name
        self.letters: Mapping[tuple[str, str], str] = {}

    @classmethod
    def read(cls, path: str | Path, encodings: tuple[str, ...] = TEXT) -> Source:
        """Read a plain text file of reasonable size.

        Parameters
        ----------
        path : path
            As named by the user.
        encodings : tuple of str
            The first of them in which it can be read is taken.

        Raises
        ------
        FileError
            It is not there, larger than :data:`LARGEST`, or no text.
        """
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
        stopped: int | None = None
        for encoding in encodings:
            try:
                text = data.decode(encoding)
                if encoding in TEXT or "\0" not in text:  # in cp1252 nearly every byte is a sign
                    return cls(text, name)
            except UnicodeDecodeError as error:
                stopped = error.start if stopped is None else stopped
        raise FileError(name, f"not a text file (byte {stopped})", "save it as plain text, UTF-8")

    @cached_property
    def lines(self) -> Mapping[Where, int]:
        """Line of every key."""
        return key_lines(self.text)

    def line(self, where: Where) -> int | None:
        """Line of a key, or of the nearest table around it; None where there is none.

        Parameters
        ----------
        where : tuple of str
            Path of the key, indices of lists as texts; here and below.
        """
        return line_of(self.lines, where)

    def fault(self, where: Where, problem: str, remedy: str, plain: str = "") -> FileError:
        """A fault at a key: the error to raise, with its line.

        Parameters
        ----------
        where, problem, remedy, plain : tuple of str, str, str, str
            Path of the key; what is wrong; what to do; both without keys, where they have such.
        """
        return FileError(self.name, problem, remedy, self.line(where), dotted(where), self._letter(where), plain)

    def _letter(self, where: Where) -> str:
        """The letter of the dimension that a key gives, in whichever layer."""
        table, *keys = parted(where)[1] or ("",)
        found = (self.letters.get((table, ".".join(keys[:count]))) for count in range(len(keys), 0, -1))
        return next((letter for letter in found if letter), "")

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
        last = self.text.rstrip().count("\n") + 1
        line, at = (int(found[2]), int(found[3]) - 1) if found and found[2] else (last, None)
        said = (found[1] if found else said).lower()
        written = [*self.text.split("\n"), ""][line - 1]
        told = f"not valid TOML: {said}"
        plain = "this line cannot be read"
        return FileError(self.name, told, remedy(said, written, at), line, written_key(written), plain=plain)

    def known(self, table: Mapping[str, Any], where: Where, known: list[str]) -> None:
        """See that a table has only keys that are known; FileError at the first that is not.

        Parameters
        ----------
        table, where : dict, tuple of str
            As read; its path.
        known : list of str
            The keys.
        """
        for key in table:
            if key not in known:
                raise self.fault((*where, key), "unknown", nearest(key, known))

    def filled(self, document: dict[str, Any], meaning: Callable[[Where], str]) -> None:
        """See that no blank of a starter file or a form is left; FileError tells all that are at once.

        Parameters
        ----------
        document : dict
            The whole file, as read.
        meaning : callable
            From the path of the first blank to what is wanted there.
        """
        blanks = sorted(_blanks(document), key=lambda where: self.line(where) or 0)
        if blanks:
            more, first = self._together(blanks[1:]), blanks[0]
            rest = f", and {len(blanks) - 1} more: {more}" if more else ""
            raise self.fault(first, f"'?' is still to be filled in{rest}", meaning(first))

    def _together(self, places: list[Where]) -> str:
        """Keys, those of one table after its name; rows of lists by their lines."""
        tables: dict[str, list[str]] = {}
        rows: list[int] = []
        for where in places:
            if any(part.isdigit() for part in where):
                rows.append(self.line(where) or 0)
            else:
                tables.setdefault(dotted(where[:-1]), []).append(dotted(where[-1:]))
        told = [f"{table}.{', .'.join(keys)}" for table, keys in tables.items()]
        return "; ".join([*told, *([f"in lines {min(rows)} to {max(rows)}"] if rows else [])])

    def table(self, value: Any, where: Where) -> dict[str, Any]:
        """A value that must be a table; FileError where it is none.

        Parameters
        ----------
        value, where : object, tuple of str
            As read; path of its key; here and below.
        """
        if isinstance(value, dict):
            return value
        raise self.fault(where, f"read {shown(value)}, wanted a table", f"write [{dotted(where)}] on a line of its own")

    def words(self, value: Any, where: Where) -> str:
        """A value that must be words that can be printed; FileError where it is not."""
        if not isinstance(value, str):
            read = shown(value)
            raise self.fault(where, f"read {read}, wanted words in quotes", f'write {where[-1]} = "…"',
                             f"read {read}: wanted are words")  # fmt: skip
        return self.printable(value, where)

    def printable(self, words: str, where: Where) -> str:
        """Words that are shown to the reader, without signs that steer a terminal; FileError where there are such."""
        if not words.isprintable():
            raise self.fault(where, f"{words!a} holds signs that cannot be printed", "write plain words")
        return words


def _blanks(document: dict[str, Any]) -> Iterator[Where]:
    """Where a "?" stands for a figure, in the order of the text."""
    inside: list[tuple[Where, Any]] = [((), document)]  # a stack: files may nest deeper than Python's own
    while inside:
        where, value = inside.pop()
        if isinstance(value, dict):
            inside += [((*where, str(key)), each) for key, each in reversed(value.items())]
        elif isinstance(value, list):
            inside += [((*where, str(i)), each) for i, each in reversed(list(enumerate(value)))]
        elif value == BLANK:
            yield where


def shown(value: Any) -> str:
    """What was read, briefly, as it was written rather than as Python has it.

    Parameters
    ----------
    value : object
        Of any kind that TOML has.

    Examples
    --------
    >>> shown(True), shown({"die": 0}), shown("7 mm")
    ('true', 'a table', "'7 mm'")
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict | list):
        return "a table" if isinstance(value, dict) else "a list"
    if isinstance(value, int) and value.bit_length() > 128:
        return "a whole number of very many digits"  # Python refuses to print the longest
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:39]}…"


def dotted(where: Where) -> str:
    """A path as it is written in TOML.

    Parameters
    ----------
    where : tuple of str
        Of a key.

    Examples
    --------
    >>> dotted(("state", "as found", "left"))
    'state."as found".left'
    """
    return ".".join(part if re.fullmatch(r"[\w-]+", part, re.ASCII) else f'"{part}"' for part in where)
