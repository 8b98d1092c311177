"""Published figures as data: one TOML file for each work, digits and units as printed.

A figure is held to half a unit of its last printed place, absolute. A fraction does not show by its denominator how
finely it was rounded (1/8 of an inch may be 8/64): its row gives the ``rounding``, and beside it why. A figure that
does not agree keeps that tolerance, gives its ``reason``, and gives ``correct``, what the book should have printed.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

FOLDER = Path(__file__).parent
EVIDENCE = ("published figure", "published rule", "published in words", "derived from published data")
_DEGREES = re.compile(r"(\d+)°(\d+)′")


@dataclass(frozen=True, kw_only=True)
class Source:
    """A work, and where it was read."""

    work: str
    author: str
    edition: str
    read_in: str


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One printed figure, or one rule worked out for one set of data.

    Attributes
    ----------
    check, rule : str
        Which product value it is held against; which rule of :mod:`rules` gives it, if one does.
    scale : str
        What the product value is multiplied by to come into the printed unit.
    rounding : str
        Of a fraction, and of nothing else: what its book rounds such figures to, "1/64".
    """

    source: Source
    id: str
    where: str
    what: str
    check: str
    data: dict[str, str]
    value: str
    unit: str
    evidence: str
    rule: str = ""
    scale: str = "1"
    rounding: str = ""
    correction: str = ""
    correct: str = ""
    reason: str = ""
    numbers: dict[str, float] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "numbers", {key: number(text) for key, text in self.data.items()})

    @property
    def agrees(self) -> bool:
        """Whether the printed value is expected to be met."""
        return not self.reason


def number(text: str) -> float:
    """A printed number: "3.3811", "66", "1 5/8", "-1/16", "43°26′"."""
    if angle := _DEGREES.fullmatch(text):
        return float(int(angle[1]) + Fraction(int(angle[2]), 60))
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
        for row in table["figure"]:
            key = f"{path.stem} {row['id']}"
            if key in figures:
                raise ValueError(f"{path.name}: two rows are called {row['id']!r}")
            figures[key] = Figure(source=source, **row)
    return figures
