"""Targets and findings as rows, in the reader's unit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from linkmotion.engine import Engine
from linkmotion.files.lengths import UNITS
from linkmotion.files.results import sentence
from linkmotion.studies.findings import Finding
from linkmotion.targets import targets_for


def target_rows(engine: Engine) -> Iterator[dict[str, Any]]:
    """Every target that is looked at, lengths in the file's unit.

    Parameters
    ----------
    engine : linkmotion.engine.Engine
        As read.
    """
    targets = engine.targets
    for name in (own for own in targets_for(engine.sides) if own != "lead_within"):
        value = getattr(targets, name)
        if value is not None:
            percent = "cutoff" in name
            size = value if percent else value / float(UNITS[engine.unit])
            unit = "% of stroke" if percent else engine.unit
            yield {"target": name, "figure": size, "unit": unit, "chosen": name in targets.chosen}


def finding_rows(found: Iterable[Finding], unit: str) -> Iterator[dict[str, Any]]:
    """Every finding in words, what is out first.

    Parameters
    ----------
    found : iterable of Finding
        In that order.
    unit : str
        Of lengths in the words.
    """
    for own in found:
        where = {"side": own.side or "between", "notch": own.notch, "direction": own.direction}
        yield {"out": own.out, **where, "words": sentence(own, unit)}
