"""Results out: one JSON and one CSV for every command, in the file's own unit.

A JSON answer begins with ``linkmotion`` (the version), ``command`` and ``unit``; all its keys are described in
``output_schema.json``. Lengths are in the unit (a row that says its own ``unit`` "mm" says this one instead), angles in
degrees, events in percent of the stroke. Every figure is rounded to six decimals, whatever its unit: a length to a
millionth of an inch or finer than the gear can be known, and no figure hangs on the last bits of the machine. What
does not occur is null, and an empty cell in CSV. The headings of a CSV are the keys of the JSON rows; that of a length
says its unit in brackets, unless the row has a ``unit`` of its own.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, is_dataclass
from importlib.metadata import version
from typing import Any

import numpy as np

from linkmotion.files.cells import table
from linkmotion.files.lengths import UNITS, format_length
from linkmotion.gears import Gear
from linkmotion.studies.figures.figure import DEGREES, MM
from linkmotion.studies.findings import Finding
from linkmotion.studies.row_figures import Length, PerLength, measured

DECIMALS = 6


def in_unit(data: Any, unit: str) -> Any:
    """Data as it is written: lengths in a unit, figures rounded, None for what does not occur.

    Parameters
    ----------
    data : dict, list, figure or words
        Nested as one likes; lengths marked (:class:`linkmotion.studies.row_figures.Length`).
    unit : str
        "mm", "in", "ft" or "thou".

    Examples
    --------
    >>> in_unit({"lead": Length(3.175), "cutoff": [76.12345678, float("nan")], "unit": "mm"}, "in")
    {'lead': 0.125, 'cutoff': [76.123457, None], 'unit': 'in'}
    """
    if data is None or isinstance(data, str | bool | int):
        return data
    if isinstance(data, Mapping):
        return {key: unit if (key, each) == ("unit", MM) else in_unit(each, unit) for key, each in data.items()}
    if is_dataclass(data) and not isinstance(data, type):
        return in_unit(asdict(data), unit)
    if isinstance(data, np.ndarray | np.generic):
        return in_unit(data.tolist(), unit)
    if isinstance(data, float):
        return _rounded(data, float(UNITS[unit]))
    return [in_unit(each, unit) for each in data]


def _rounded(value: float, mm: float) -> float | None:
    if not math.isfinite(value):
        return None
    shown = value / mm if isinstance(value, Length) else value * mm if isinstance(value, PerLength) else value
    return round(float(shown), DECIMALS) + 0.0  # no minus before nothing


def as_json(command: str, unit: str, data: Mapping[str, Any], indent: int | None = 1) -> str:
    """The answer of a command as one JSON object.

    Parameters
    ----------
    command, unit : str
        For its head; lengths are written in the unit.
    data : dict
        As :func:`in_unit` takes it.
    indent : int or None
        In lines; or on one.
    """
    head = {"linkmotion": version("linkmotion"), "command": command, "unit": unit}
    return json.dumps(head | in_unit(data, unit), indent=indent, ensure_ascii=False, allow_nan=False) + "\n"


def as_csv(rows: Iterable[Mapping[str, Any]], unit: str, lengths: Iterable[str] = ()) -> str:
    """Rows as CSV.

    Parameters
    ----------
    rows : iterable of dict
        One at least, all with the same keys.
    unit : str
        In which lengths are written.
    lengths : iterable of str
        Columns whose headings say the unit.
    """
    written, known = in_unit(list(rows), unit), set(lengths)
    titles = [f"{key} ({unit})" if key in known else key for key in written[0]]
    return table([titles, *(["" if value is None else value for value in row.values()] for row in written)])


def derived_rows(gear: Gear) -> dict[str, dict[str, Any]]:
    """A gear's derived figures by their names, each with its unit (mm or degrees).

    Parameters
    ----------
    gear : Gear
        As it stands.
    """
    units = {"length": MM, "angle": DEGREES}
    return {
        words: {"figure": measured(value, units[kind]), "unit": units[kind]}
        for words, (value, kind) in gear.derived().items()
    }


def finding_row(finding: Finding, unit: str) -> dict[str, Any]:
    """A finding; its sentence has its figures in a unit.

    Parameters
    ----------
    finding, unit : Finding, str
        In mm; the unit of the sentence alone.
    """
    return {
        "what": finding.what,
        "out_of_target": finding.out,
        "side": finding.side or "between",
        "notch": finding.notch,
        "direction": finding.direction,
        "size": measured(finding.size, finding.unit),
        "limit": measured(finding.limit, finding.unit),
        "unit": finding.unit,
        "words": sentence(finding, unit),
    }


def sentence(finding: Finding, unit: str, fraction_of: int | None = None) -> str:
    """A finding's sentence with its figures in a unit.

    Parameters
    ----------
    finding, unit : Finding, str
        In mm, percent of the stroke; "mm", "in", "ft" or "thou".
    fraction_of : int, optional
        Of an inch, to whose nearest lengths in inches and feet are shown; decimals unless given.
    """

    def figures(digits: int | None, fraction: int | None) -> list[str]:
        if finding.unit == "percent":
            return [f"{value:.{1 if digits is None else digits}f} %" for value in (finding.size, finding.limit)]
        return [format_length(v, unit, digits=digits, fraction_of=fraction) for v in (finding.size, finding.limit)]

    size, limit = figures(None, fraction_of if unit in ("in", "ft") else None)
    digits = 2
    while size == limit and finding.size > finding.limit and digits < 8:  # show that the one is more than the other
        size, limit = figures(digits, None)
        digits += 1
    return finding.words.format(size=size, limit=limit)
