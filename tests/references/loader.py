"""Published figures as data: one TOML file for each work, digits and units as printed.

A figure is held to half a unit of its last printed place, absolute, unless the way in which it was got allows no
more: then ``within`` says how far, and ``why``. A fraction does not show by its denominator how finely it was rounded
(1/8 of an inch may be 8/64): its row gives the ``rounding``, and beside it why. A figure that does not agree keeps its
tolerance, gives its ``reason``, and gives ``correct``, what the book should have printed. A table of figures of one
kind is a ``series``: what they share, and ``rows``, each with the data named in ``vary`` and the printed value last.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent
EVIDENCE = ("published figure", "published rule", "published in words", "derived from published data")
GOT = ("calculated", "drawn", "model", "measured", "maker's figure", "rule", "words")
"""How the print was got: off a drawn diagram, from a model, measured on an engine or a specimen, and so on."""
DOORS = ("file", "library", "formula")
"""Where it enters: an engine file through a command; the rooms of the library; a closed form or a single solve."""
_DEGREES = re.compile(r"(-?)(\d+)°(\d+)′")


@dataclass(frozen=True, kw_only=True)
class Source:
    """A work, where it was read, and what is alike for its rows."""

    work: str
    author: str
    edition: str
    read_in: str
    got: str
    door: str
    inferred: str = ""
    misprints: str = ""  # among the data: printed -> right


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One printed figure, or one rule worked out for one set of data.

    Attributes
    ----------
    check, rule : str
        Which product value it is held against; which rule of :mod:`rules` gives it, if one does.
    data, at : dict
        Numbers as printed; words (an engine file of ``gears``, a notch, a column of its table).
    scale : str
        What the product value is multiplied by to come into the printed unit.
    rounding : str
        Of a fraction, and of nothing else: what its book rounds such figures to, "1/64".
    got, door : str
        One of GOT, one of DOORS; the work's own where the row says nothing.
    inferred : str
        What was inferred, or chosen by fit.
    within, why : str
        Tolerance in the printed unit where it is not half a unit of the last place, and its reason.
    uncounted : str
        Why the row is not counted as a printed figure held: it was fitted to, or is another's again.
    """

    source: Source
    id: str
    where: str
    what: str
    check: str
    value: str
    unit: str
    evidence: str = "published figure"
    data: dict[str, str] = field(default_factory=dict)
    at: dict[str, str] = field(default_factory=dict)
    rule: str = ""
    scale: str = "1"
    rounding: str = ""
    got: str = ""
    door: str = ""
    inferred: str = ""
    within: str = ""
    why: str = ""
    correction: str = ""
    correct: str = ""
    reason: str = ""
    uncounted: str = ""
    numbers: dict[str, Any] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "numbers", {key: number(text) for key, text in self.data.items()} | self.at)
        for name in ("got", "door", "inferred"):
            object.__setattr__(self, name, getattr(self, name) or getattr(self.source, name))

    @property
    def agrees(self) -> bool:
        """Whether the printed value is expected to be met."""
        return not self.reason

    @property
    def printed(self) -> bool:
        """Whether it counts as a figure that the work prints."""
        return self.evidence == "published figure" and not self.uncounted

    @property
    def tolerance(self) -> float:
        """Absolute, in the printed unit."""
        return number(self.within) if self.within else half_unit(self.value, self.rounding)

    def meets(self, text: str, found: float, shift: int = 0) -> bool:
        """Whether a value found is as near to a text as the figure is held, the text shifted by so many units."""
        return abs(found - (number(text) + 2 * shift * self.tolerance)) <= self.tolerance


def number(text: str) -> float:
    """A printed number: "3.3811", "66", "1 5/8", "-1/16", "43°26′"."""
    if angle := _DEGREES.fullmatch(text):
        size = int(angle[2]) + Fraction(int(angle[3]), 60)
        return float(-size if angle[1] else size)
    sign = -1 if text.startswith("-") else 1
    return float(sign * sum(Fraction(part) for part in text.lstrip("-").split()))


def half_unit(text: str, rounding: str = "") -> float:
    """Half a unit of the last printed place; of minutes, half a minute; of a fraction, half of its rounding."""
    if ("/" in text) != bool(rounding):
        raise ValueError(f"{text!r}: a fraction, and nothing else, has a rounding of its own; found {rounding!r}")
    if rounding:
        return number(rounding) / 2
    if _DEGREES.fullmatch(text):
        return 0.5 / 60
    places = len(text.split()[-1].partition(".")[2])
    return float(Fraction(1, 2 * 10**places))


def accepts(printed: str, found: float, shift: int = 0, rounding: str = "") -> bool:
    """Whether a value found is within half a unit of the printed one, shifted by so many units."""
    tolerance = half_unit(printed, rounding)
    return abs(found - (number(printed) + 2 * shift * tolerance)) <= tolerance


def load() -> dict[str, Figure]:
    """All figures of all works, by file and id."""
    figures: dict[str, Figure] = {}
    for path in sorted(FOLDER.glob("*.toml")):
        table = tomllib.loads(path.read_text(encoding="utf-8"))
        source = Source(**table["source"])
        for row in _rows(table):
            key = f"{path.stem} {row['id']}"
            if key in figures:
                raise ValueError(f"{path.name}: two rows are called {row['id']!r}")
            figures[key] = Figure(source=source, **row)
    return figures


def _rows(table: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Rows of one file: its figures, and those of its series."""
    yield from table.get("figure", [])
    for series in table.get("series", []):
        shared = {key: value for key, value in series.items() if key not in ("vary", "rows", "corrected")}
        corrected = series.get("corrected", {})
        for *given, value in series["rows"]:
            row = shared | {"id": " ".join([shared["id"], *given]), "value": value}
            cells = dict(zip(series["vary"], given, strict=True))
            row["data"] = shared.get("data", {}) | {key: cell for key, cell in cells.items() if "." not in key}
            words = {key.removeprefix("at."): cell for key, cell in cells.items() if "." in key}
            row["at"] = shared.get("at", {}) | words
            if (key := " ".join(given)) in corrected:
                row["correct"], row["reason"] = corrected[key]
            yield row
        if unknown := set(corrected) - {" ".join(given) for *given, _ in series["rows"]}:
            raise ValueError(f"series {shared['id']!r} corrects rows that it has not: {unknown}")
