"""Pins and bushes: the schedule that ``pins`` prints, and the fit of one bush as ``bush`` has it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from linkmotion.bench.answering import entered
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.pins_typed import enter_pin, joints_of
from linkmotion.bench.screen import Answered, Asked, Choice, Link, Plot, Screen
from linkmotion.commands.bush import BushRequest, read_bush
from linkmotion.commands.pins import PinsRequest, schedule
from linkmotion.engine import Engine
from linkmotion.files.faults import FileError
from linkmotion.views.bush_table import bush_blocks
from linkmotion.views.pins_view import pins_blocks
from linkmotion.views.printout import Answer, Block, Said

_FIELDS: dict[str, tuple[str, str, str]] = {
    "seat": ("Bore in the housing, the bush's outside", "", "such as 38 mm or 1 1/2 in"),
    "housing_outside": ("Outside of the housing round the bush", "", ""),
    "bore": ("Bush bore, the pin", "", ""),
    "length": ("Length of the bush", "", ""),
    "press": ("Press fit", "H7/r6", "a class, or the interference: 2 to 4 thou"),
    "running": ("Running fit", "H8/f7", "a class, or the clearance: 0.02 to 0.05 mm"),
    "housing": ("Housing's material", "mild steel", "with figures of its own if known: cast iron, young=110"),
    "bush": ("Bush's material", "phosphor bronze", ""),
    "freezer": ("Bush cooled to, °C", "", "empty: not cooled"),
    "warm": ("Housing warmed to, °C", "", "empty: not warmed"),
}
"""Of a bush: words, what is usual, and how it is written; by the names of the request's own figures."""
_ALL = ("seat", "housing_outside", "bore", "length")


def answer(asked: Asked) -> Answered:
    """What to make of every joint; and one bush, where its figures were typed."""
    bush, wrong = _bush(asked)
    return Answered(_scheduled(asked), {"bush": bush, "wrong": wrong, "bush_unit": _unit(asked.engine)[1]})


def _unit(engine: Engine) -> tuple[str, str]:
    """Of a bush's plain numbers, and its name."""
    return ("in", "inches") if engine.unit in ("in", "ft", "thou") else ("mm", "millimetres")


def _scheduled(asked: Asked) -> list[Block | Plot | Link]:
    try:
        found = schedule(PinsRequest(asked.path, asked.state), asked.engine)
    except FileError as error:
        told = "Type the diameters and fits of the pins below: each is in the schedule as soon as it is typed."
        return [Answer(f"No schedule: {error.problem}."), Said(told)]
    return [*pins_blocks(found), Link("The schedule to print", f"sheet/pins?{asked.query}")]


def request_of(options: Mapping[str, str], unit: str) -> BushRequest:
    """A bush as the command is asked it.

    Raises
    ------
    FileError
        A temperature is none.
    """
    return BushRequest(
        seat=options["seat"], housing_outside=options["housing_outside"], bore=options["bore"],
        length=options["length"], press=options["press"], running=options["running"], housing=options["housing"],
        bush=options["bush"], freezer=_degrees("freezer", options["freezer"]),
        warm=_degrees("warm", options["warm"]), unit=unit,
    )  # fmt: skip


def _bush(asked: Asked) -> tuple[list[Block], dict[str, str]]:
    """What is told of the bush, and what is wrong at which field."""
    typed = {name: asked.options[name] for name in _FIELDS}
    if not any(typed[name] for name in _ALL):
        return [], {}
    wanting = {name: "this is wanted too" for name in _ALL if not typed[name]}
    if wanting:
        return [], wanting
    try:
        request = request_of(typed, _unit(asked.engine)[0])
        return list(bush_blocks(read_bush(request), request.unit)), {}
    except FileError as error:
        return [], dict.fromkeys(_named(error.file), f"{error.problem}; {error.remedy}")


def _named(options: str) -> list[str]:
    """Fields of the command's options that a fault names."""
    names = [name.strip().removeprefix("--").replace("-", "_") for name in options.split(",")]
    return [{"material": "bush"}.get(name, name) for name in names if {"material": "bush"}.get(name, name) in _FIELDS]


def _degrees(name: str, text: str) -> float | None:
    if not text.strip():
        return None
    try:
        return float(text.strip().removesuffix("C").removesuffix("°"))
    except ValueError:
        raise FileError(f"--{name}", f"{text!r} is no temperature", "write degrees Celsius, such as -20") from None


def _usual(value: str, hint: str) -> Callable[[Engine], Mapping[str, str]]:
    return lambda _engine: {value: hint}


def beside(asked: Asked) -> Mapping[str, Any]:
    """The sizes of every joint's pin and bush, as they are written."""
    return {"pins": joints_of(asked.work, asked.engine)}


def takes(work: EngineAtWork, wish: Mapping[str, Any]) -> Mapping[str, Any]:
    """A size of a pin or bush; the schedule is then shown anew."""
    match wish:
        case {"do": "figure", "name": str(name), "value": str(value), "seen": int(seen)}:
            change = enter_pin(work, name, value, seen)
            return entered(work, change, anew=["answer"])
    raise FileError("pins", "this cannot be understood", "load the page anew")


SCREEN = Screen(
    "pins",
    "Pins and bushes",
    "What is to be made of every pin and bush?",
    answer,
    place=38,
    chooses=("state",),
    choices=tuple(Choice(name, words, _usual(own, hint), typed=True) for name, (words, own, hint) in _FIELDS.items()),
    template="pins.html",
    takes=takes,
    beside=beside,
)
