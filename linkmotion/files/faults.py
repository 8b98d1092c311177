"""What is said when a file is wrong: file, line, key, what was read, and the remedy, in two lines at most."""

from __future__ import annotations

from difflib import get_close_matches


class FileError(ValueError):
    """A file that cannot be used, with the place and the remedy.

    Attributes
    ----------
    file : str
        As named by the user.
    line : int or None
        Where in the file.
    key : str
        Dotted path of the key, or "".
    problem, remedy : str
        What is wrong; what to do.
    """

    def __init__(self, file: str, problem: str, remedy: str, line: int | None = None, key: str = "") -> None:
        self.file, self.line, self.key = file, line, key
        self.problem, self.remedy = _one_line(problem), _one_line(remedy)
        place = f"{file}, line {line}" if line else file
        super().__init__(f"{place}: {f'{key}: ' if key else ''}{self.problem}\n  {self.remedy}")


def _one_line(text: str, most: int = 300) -> str:
    """Text on one line, unprintable signs shown as such, cut where it is absurdly long."""
    clean = "".join(c if c.isprintable() else " " for c in " ".join(text.split()))
    return clean if len(clean) <= most else clean[: most - 1] + "…"


def nearest(word: str, known: list[str] | tuple[str, ...]) -> str:
    """Remedy for an unknown word: the nearest known one, or all of them."""
    close = get_close_matches(word, known, n=1, cutoff=0.6)
    return f"did you mean {close[0]!r}?" if close else f"known here: {', '.join(known)}"
