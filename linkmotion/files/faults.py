"""What is said when a file is wrong: file, line, key, what was read, and the remedy, in two lines at most."""

from __future__ import annotations

import re
from difflib import get_close_matches

_BETWEEN_KEYS = re.compile(r"(?<=[^\W\d])\.(?=[^\W\d\s])")
_LONGEST, _LONGEST_KEY = 560, 80  # characters shown of a sentence, and of a key


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
    letter : str
        Of the dimension, as on the measuring sheets, or "".
    problem, remedy : str
        What is wrong; what to do.
    plain : str
        Both for who has fields before them and no file: without keys, and nothing as a file has it.
    """

    def __init__(
        self,
        file: str,
        problem: str,
        remedy: str,
        line: int | None = None,
        key: str = "",
        letter: str = "",
        plain: str = "",
    ) -> None:
        self.file, self.line, self.key, self.letter = file, line, one_line(key, _LONGEST_KEY), letter
        self.problem, self.remedy = one_line(problem), one_line(remedy)
        self.plain = one_line(plain) if plain else f"{self.problem}. {sentence(self.remedy)}"
        self.plain += "" if self.plain.endswith((".", "?", "!")) else "."
        place = f"{printable(file)}, line {line}" if line else printable(file)
        named = f"{self.key} ({letter})" if letter else self.key
        super().__init__(f"{place}: {f'{named}: ' if key else ''}{self.problem}\n  {self.remedy}")


def sentence(text: str) -> str:
    """Text with a capital at its head.

    Parameters
    ----------
    text : str
        On one line.
    """
    return f"{text[:1].upper()}{text[1:]}"


def spoken(text: str) -> str:
    """Text in which keys are said as words: ``crank_radius`` as crank radius, ``valve.steam_lap`` as valve, steam lap.

    Parameters
    ----------
    text : str
        Of a fault, or a key's dotted path.
    """
    apart = _BETWEEN_KEYS.sub(", ", text.replace("_", " "))
    return apart.replace('"', "")


def printable(text: str) -> str:
    """Text without signs that steer a terminal: a mark stands for each.

    Parameters
    ----------
    text : str
        On one line: its end is such a sign too.
    """
    return "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in text)


def one_line(text: str, most: int = _LONGEST) -> str:
    """Text on one line, a mark for signs that cannot be printed, cut where it is absurdly long.

    Parameters
    ----------
    text : str
        Of any number of lines.
    most : int
        Characters kept.
    """
    clean = printable(" ".join(text.split()))
    return clean if len(clean) <= most else clean[: most - 1] + "…"


def nearest(word: str, known: list[str] | tuple[str, ...]) -> str:
    """Remedy for an unknown word: the nearest known one, or all of them.

    Parameters
    ----------
    word, known : str, list or tuple of str
        As read; those that there are.

    Examples
    --------
    >>> nearest("steam_lp", ["steam_lap", "port_width"]), nearest("x", ["mm", "in"])
    ("did you mean 'steam_lap'?", 'known here: mm, in')
    """
    word = word[:_LONGEST_KEY]  # likeness is looked for letter by letter
    close = get_close_matches(word, known, n=1, cutoff=0.6)
    return f"did you mean {close[0]!r}?" if close else f"known here: {', '.join(known)}"
