"""Each inline table by which an angle can be taken."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from linkmotion.files import length_forms
from linkmotion.files.faults import nearest
from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.gathered import Waiting
from linkmotion.files.source import shown
from linkmotion.files.taken_forms import Form, Taking, said
from linkmotion.gears.keys import ByReadings

PLAIN = (length_forms.TAKINGS,)
"""By which every angle can."""
_SENSES = ("leads", "follows")


def by_readings(ways: tuple[ByReadings, ...], unit: str) -> tuple[Form, ...]:
    """Forms of an angle that can be taken from lengths (in ``unit`` where bare) in some ways."""
    return (*PLAIN, *(_form(way, unit) for way in ways))


def _form(way: ByReadings, unit: str) -> Form:
    def work(taking: Taking, table: Mapping[str, Any]) -> Waiting:
        lengths = replace(taking, unit=unit, forms=length_forms.PLAIN)
        read = {word: lengths.figure(table[word], word) for word in way.words}
        sense = table.get("sense", "leads")
        if sense not in _SENSES:
            raise FigureFault(f"read {shown(sense)}", nearest(str(sense), _SENSES), ("sense",))
        told = {word: replace(taken, how=said(table[word], unit)) for word, taken in read.items()}
        return Waiting(way, told, sense == "leads")

    return Form(way.words, ("sense",), work)
