"""Figures as they stand in rows: plain numbers, lengths marked as such, None for what does not occur.

Rows feed printed tables, CSV and JSON alike. A length is a number of millimetres like any other to whoever reckons
with it; that it is one is known to whoever writes it in the unit of the reader.
"""

from __future__ import annotations

from typing import Any

from linkmotion.studies.figures.figure import MM


class Length(float):
    """A length, mm."""


class PerLength(float):
    """So much for each mm."""


def plain(value: Any) -> float | None:
    """A figure that is no length; None where it does not occur (NaN).

    Parameters
    ----------
    value : number
        Of Python or numpy.
    """
    number = float(value)
    return None if number != number else number


def length(value: Any) -> Length | None:
    """A length; None where it does not occur (NaN).

    Parameters
    ----------
    value : number
        mm.
    """
    number = float(value)
    return None if number != number else Length(number)


def measured(value: Any, unit: str) -> float | None:
    """A figure that is a length where its unit is "mm"; None where it does not occur (NaN).

    Parameters
    ----------
    value, unit : number, str
        "mm", "percent" or "degrees".

    Examples
    --------
    >>> type(measured(3.0, "mm")).__name__, type(measured(3.0, "percent")).__name__, measured(float("nan"), "mm")
    ('Length', 'float', None)
    """
    return length(value) if unit == MM else plain(value)
