"""Where a key stands in a TOML text, so that an error can name the line to mend.

`tomllib` reads the values but gives no positions. This scanner gives the positions and looks at no value.
It takes the text for valid TOML; from any other text it makes what it can, and never raises.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

Path = tuple[str, ...]

# Deeper keys are noted by their ancestor at this depth only: a bound on time and memory for absurd texts.
DEEPEST = 64

# Every character falls in one of these, so the tokens cover any text. No alternative can match the same
# characters in two ways (the repeats are possessive), so the time is proportional to the length.
_TOKEN = re.compile(
    r"""
      (?P<blank>[ \t\r]++ | \#[^\n]*+)
    | (?P<newline>\n)
    | (?P<string>
          \"{3} (?: [^"\\]++ | \\(?:[\s\S]|\Z) | "{1,2}(?!") )*+ (?: "{3,5} | \Z )
        | '{3} [\s\S]*? (?: '{3,5} | \Z )
        | " (?: [^"\\\n]++ | \\[^\n] )*+ "?
        | ' [^'\n]*+ '?
      )
    | (?P<mark>[\[\]{},.=])
    | (?P<bare>[^ \t\r\n\#"'\[\]{},.=]++)
    """,
    re.VERBOSE,
)


def key_lines(text: str) -> dict[Path, int]:
    """Give the 1-based line of every table and every key.

    An element of an array of tables has its index, as text, in its path; so has an inline table within an
    array. A table that is only named on the way to another (``a`` in ``[a.b]``) stands where it is first
    named. Other elements of arrays have no entry: they are found by their array's key (see `line_of`).

    Parameters
    ----------
    text : str
        TOML, or what is meant to be: nothing is raised.

    Examples
    --------
    >>> text = '''[cylinder]
    ... stroke = "24 in"
    ... [state."as found".left.radius_rod]
    ... length = 1372.4
    ... [[reading]]
    ... at = { notch = "3", end = "front" }
    ... '''
    >>> lines = key_lines(text)
    >>> lines["cylinder", "stroke"], lines["state", "as found", "left", "radius_rod", "length"]
    (2, 4)
    >>> lines["reading", "0"], lines["reading", "0", "at", "notch"]
    (5, 6)
    """
    return _Scanner(_tokens(text)).scan()


def line_of(lines: Mapping[Path, int], path: Sequence[str | int]) -> int | None:
    r"""Give the line of a path, or of the nearest table or key around it; None when there is none.

    Parameters
    ----------
    lines : mapping
        As :func:`key_lines` gives it.
    path : sequence
        Keys; indices may be given as numbers.

    Examples
    --------
    >>> lines = key_lines("[valve]\nsteam_lap = 22\n")
    >>> line_of(lines, ("valve", "steam_lap")), line_of(lines, ("valve", "exhaust_lap"))
    (2, 1)
    >>> line_of(lines, ("cylinder", "stroke")) is None
    True
    """
    whole = tuple(str(part) for part in path)[:DEEPEST]
    for length in range(len(whole), 0, -1):
        if (line := lines.get(whole[:length])) is not None:
            return line
    return None


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str
    line: int


@dataclass(slots=True)
class _Open:
    """An array or inline table whose end has not been met."""

    bracket: str
    path: Path
    index: int = 0  # of the element being read, in an array

    @property
    def element(self) -> Path:
        return (*self.path, str(self.index))[:DEEPEST]


_END = _Token("end", "", 0)


def _tokens(text: str) -> Iterator[_Token]:
    line = 1
    for match in _TOKEN.finditer(text):
        kind = match.lastgroup or ""
        if kind != "blank":
            yield _Token(kind, match[0], line)
        line += match[0].count("\n")


@dataclass(slots=True)
class _Scanner:
    tokens: Iterator[_Token]
    token: _Token = _END
    lines: dict[Path, int] = field(default_factory=dict)
    passed: set[Path] = field(default_factory=set)  # tables named on the way to another
    counts: dict[Path, int] = field(default_factory=dict)  # elements so far of each array of tables

    def scan(self) -> dict[Path, int]:
        table: Path = ()
        self._next()
        while self.token.kind != "end":
            if self.token.text == "[":
                table = self._header()
            else:
                self._pair(table)
            while self.token.kind not in ("newline", "end"):
                self._next()
            self._next()
        return self.lines

    def _next(self) -> None:
        self.token = next(self.tokens, _END)

    def _take(self, mark: str) -> bool:
        """Step over a mark if it comes next."""
        found = self.token.kind == "mark" and self.token.text == mark
        if found:
            self._next()
        return found

    def _header(self) -> Path:
        """Read ``[a.b]`` or ``[[a.b]]``; give the path of the table it opens."""
        line = self.token.line
        self._next()
        in_array = self._take("[")
        *outer, last = self._key() or [""]
        path: Path = ()
        for part in outer[:DEEPEST]:
            path = (*path, part)
            if path in self.counts:
                path = (*path, str(self.counts[path] - 1))
        path = (*path, last)[:DEEPEST]
        if in_array:
            self.counts[path] = self.counts.get(path, 0) + 1
            path = (*path, str(self.counts[path] - 1))[:DEEPEST]
        self._note(path, line)
        return path

    def _pair(self, table: Path) -> None:
        """Read ``key = value``."""
        path = self._keyed(table)
        if path is None:
            return
        # A stack, not recursion: a text may nest deeper than Python's own stack.
        opened: list[_Open] = []
        self._value(opened, path)
        while opened and self.token.kind != "end":
            before = self.token
            self._inside(opened)
            if self.token is before:  # nothing that belongs here
                self._next()

    def _inside(self, opened: list[_Open]) -> None:
        """Go on in the innermost open array or inline table."""
        inner = opened[-1]
        if self._take("]" if inner.bracket == "[" else "}"):
            opened.pop()
        elif self._take(","):
            inner.index += 1
        elif self.token.kind == "newline":
            self._next()
        elif inner.bracket == "[":
            if self.token.text == "{":
                self._note(inner.element, self.token.line)
            self._value(opened, inner.element)
        elif (path := self._keyed(inner.path)) is not None:
            self._value(opened, path)

    def _value(self, opened: list[_Open], path: Path) -> None:
        """Enter the array or inline table at `path`, or step over a plain value."""
        for bracket in "[{":
            if self._take(bracket):
                opened.append(_Open(bracket, path))
                return
        while self.token.kind in ("bare", "string") or self.token.text == ".":
            self._next()

    def _keyed(self, table: Path) -> Path | None:
        """Read ``key =`` and note it; None when something else comes next."""
        line = self.token.line
        key = self._key()
        if not key or not self._take("="):
            return None
        path = (*table, *key)[:DEEPEST]
        self._note(path, line)
        return path

    def _key(self) -> list[str]:
        """Read a key, dotted or not; empty when there is none."""
        parts: list[str] = []
        while self.token.kind in ("bare", "string"):
            parts.append(_unquoted(self.token))
            self._next()
            if not self._take("."):
                break
        return parts

    def _note(self, path: Path, line: int) -> None:
        if path not in self.lines or path in self.passed:
            self.lines[path] = line
        for length in range(len(path) - 1, 0, -1):
            outer = path[:length]
            if outer in self.lines:
                break
            self.lines[outer] = line
            self.passed.add(outer)


def _unquoted(token: _Token) -> str:
    """Give the key that a token spells."""
    if token.kind == "bare":
        return token.text
    if "\\" not in token.text or token.text.startswith("'"):
        return token.text[1:-1]
    try:  # tomllib knows the escapes
        return next(iter(tomllib.loads(f"{token.text} = 0")))
    except ValueError:
        return token.text
