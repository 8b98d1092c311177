"""Checking the tables of an engine file against the dimension book (by pydantic).

The models are made from the book's own dataclasses, so that a new gear or key needs nothing here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, fields, replace
from functools import lru_cache
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StrictStr,
    ValidationInfo,
    create_model,
)

from linkmotion.files import angle_forms, length_forms
from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.gathered import ByRule, Gathered, TakenFigure, Waiting
from linkmotion.files.lengths import LengthError, parse_length
from linkmotion.files.quantities import parse_pressure, usual_pressure
from linkmotion.files.source import shown
from linkmotion.files.sums import DEGREE
from linkmotion.files.taken_forms import Form, Taking
from linkmotion.gears import Arm, DieHeight
from linkmotion.gears.layout_rules import BY_RULE
from linkmotion.measuring.taken import DEGREES

_LONGEST = 1e5  # mm: nothing in a valve gear is a hundred metres long; a slip of unit is
_MOST_SLACK = 10.0  # mm: no joint or slot face that still runs is worn so far; a slip of the unit


def _checked(call: Callable[..., Any]) -> Callable[..., Any]:
    def wrapped(value: Any, info: ValidationInfo) -> Any:
        try:
            return call(value, info.context)
        except LengthError as error:
            raise ValueError(str(error)) from None

    return wrapped


def _plain(call: Callable[[Any], Any]) -> Callable[..., Any]:
    return _checked(lambda value, _context: call(value))


def _length(
    unit: str,
    signed: bool = True,
    zero: bool = True,
    most: float = _LONGEST,
    forms: tuple[Form, ...] = length_forms.PLAIN,
) -> Any:
    return Annotated[Any, BeforeValidator(_checked(_length_reader(unit, signed, zero, most, forms)))]


def _length_reader(unit: str, signed: bool, zero: bool, most: float, forms: tuple[Form, ...]) -> Callable[..., Any]:
    def read(value: Any, context: Gathered | None) -> Any:
        if value == BY_RULE:
            return ByRule()
        if isinstance(value, bool):
            raise LengthError(f"{shown(value)} is not a length; write it like 33.3 mm or 1 5/16 in")
        taken = Taking(unit, forms, None if context is None else context.wheel).taken(value)
        mm = parse_length(value, unit) if taken is None else TakenFigure(taken)
        told = repr(value) if taken is None else f"{taken.how}, {mm:g} mm,"
        if abs(mm) > _LONGEST:
            raise LengthError(f"{told} is over 100 metres; is the unit right? (file unit: {unit})")
        if abs(mm) > most:
            raise LengthError(f"{told} is over {most:g} mm; is the unit right? (file unit: {unit})")
        if mm < 0 and not signed:
            raise LengthError(f"{told} is negative; a length that is not below nothing is wanted")
        if mm == 0 and not (signed or zero):
            raise LengthError(f"{told} is no length; more than nothing is wanted")
        return mm

    return read


def _angle_reader(forms: tuple[Form, ...]) -> Callable[..., Any]:
    def read(value: Any, _context: Gathered | None) -> Any:
        if value == BY_RULE:
            return ByRule()
        taken = Taking(DEGREE, forms).taken(value)
        if isinstance(taken, Waiting):
            return taken
        if taken is None and (isinstance(value, bool) or not isinstance(value, int | float)):
            raise LengthError(
                f"read {shown(value)}; an angle is a plain number of degrees, such as 2.5, or a sum '90 - 6 1/2'"
            )
        found = value if taken is None else TakenFigure(replace(taken, unit=DEGREES))
        if not -360 <= found <= 360:  # also turns away nan and inf
            raise LengthError(f"read {shown(value)}; an angle from -360 to 360 degrees is wanted")
        return float(value) if taken is None else found

    return read


_degrees = _angle_reader(angle_forms.PLAIN)
Degrees = Annotated[Any, BeforeValidator(_checked(_degrees))]


def _notch(unit: str, die_places: bool) -> Any:
    height = _length_reader(unit, True, True, _LONGEST, length_forms.PLAIN)

    def read(value: Any, context: Gathered | None) -> Arm | DieHeight:
        if isinstance(value, dict) and not die_places:
            words = "is no notch of this gear, whose die runs to and fro in every turn; give the arm's angle in degrees"
            raise LengthError(f"{shown(value)} {words}")
        if isinstance(value, dict) and "takings" not in value:
            if set(value) != {"die"}:
                raise LengthError(f"read {shown(value)}; a notch is an arm angle in degrees, or {{ die = height }}")
            try:
                return DieHeight(height(value["die"], context))
            except FigureFault as fault:
                raise fault.inside("die") from None
        return Arm(_degrees(value, context))

    return Annotated[Arm | DieHeight, BeforeValidator(_checked(read))]


class SetIn(BaseModel):
    """Notch and direction of running in which a setting rule is applied."""

    model_config = ConfigDict(extra="forbid")
    notch: StrictStr
    direction: Literal["forward", "backward"] = "forward"


def _some(notches: dict[str, Any]) -> dict[str, Any]:
    if not notches:
        raise ValueError("no notch is given; at least one is wanted")
    return notches


def _kind(key: Any, unit: str, whole: bool) -> Any:
    data = key.metadata
    match data["kind"]:
        case "length":
            forms: tuple[Form, ...] = length_forms.HEIGHT if data["frame"] == "y" else length_forms.PLAIN
            return _length(unit, data["signed"], data["zero"], forms=forms)
        case "angle":
            forms = angle_forms.by_readings(data["readings"], unit)
            return Annotated[Any, BeforeValidator(_checked(_angle_reader(forms)))]
        case "words":
            return Literal[data["choices"]]
        case "table":
            return table_model(data["table"], unit, whole)
        case "notches":
            return Annotated[dict[str, _notch(unit, data["die_places"])], AfterValidator(_some)]  # type: ignore[misc]
        case "setting":
            return SetIn
        case "pressure":
            return _pressure(unit)
        case "percent":
            return _between(0.1, 50.0, "from 0.1 to 50 percent of the volume swept")
        case "exponent":
            return _between(0.5, 2.0, "a plain number from 0.5 to 2")
    raise AssertionError(data["kind"])


def _pressure(unit: str) -> Any:
    def read(value: Any) -> float:
        bar = parse_pressure(value, usual_pressure(unit))
        if not -1.0 <= bar <= 100.0:
            raise LengthError(f"read {shown(value)}; from a vacuum of 1 bar to 100 bar is wanted; is the unit right?")
        return bar

    return Annotated[float, BeforeValidator(_plain(read))]


def _between(low: float, high: float, wanted: str) -> Any:
    def read(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            raise LengthError(f"read {shown(value)}; {wanted} is wanted")
        return float(value)

    return Annotated[float, BeforeValidator(_plain(read))]


@lru_cache
def table_model(table: type[Any], unit: str, whole: bool) -> type[BaseModel]:
    """Model of one table of the dimension book; what it reads is mm and degrees.

    Parameters
    ----------
    table, unit : type, str
        Its dataclass; the unit of bare lengths.
    whole : bool
        Whether keys without a default must be given.
    """
    keys: dict[str, Any] = {}
    for key in fields(table):
        kind, meaning = _kind(key, unit, whole), key.metadata["meaning"]
        needed = whole and key.default is MISSING
        keys[key.name] = (
            (kind, Field(description=meaning)) if needed else (kind | None, Field(None, description=meaning))
        )
    return create_model(table.__name__, __config__=ConfigDict(extra="forbid", arbitrary_types_allowed=True), **keys)


@lru_cache
def targets_model(unit: str) -> type[BaseModel]:
    """Model of the [targets] table.

    Parameters
    ----------
    unit : str
        Of bare lengths; here and below.
    """
    length, percent = _length(unit, signed=False), Annotated[float, BeforeValidator(_plain(_percent))]
    kinds = {
        "lead_difference": length,
        "cutoff_difference": percent,
        "side_lead_difference": length,
        "side_cutoff_difference": percent,
        "mid_cutoff_difference": percent,
        "lost_motion": length,
        "lead": _length(unit),
        "lead_within": length,
    }
    keys: dict[str, Any] = {name: (kind | None, None) for name, kind in kinds.items()}
    return create_model("Targets", __config__=ConfigDict(extra="forbid"), **keys)


def _percent(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 100:
        raise LengthError(f"read {shown(value)}; a figure from 0 to 100 percent of stroke is wanted")
    return float(value)


def _kelvin(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not -300 <= value <= 600:
        raise LengthError(f"read {shown(value)}; degrees (kelvin) above the temperature of setting are wanted")
    return float(value)


Kelvin = Annotated[float, BeforeValidator(_plain(_kelvin))]


@lru_cache
def cleanup_model(unit: str) -> type[BaseModel]:
    """Model of the [cleanup] table: what a slot clean-up needs beside the drawing and the readings."""
    size: Any = _length(unit, signed=False)
    more: Any = _length(unit, signed=False, zero=False)
    keys: dict[str, tuple[Any, str]] = {
        "slot_width": (more, "width of the slot as drawn, between its faces"),
        "die_length": (size, "length of the die block along the slot"),
        "gauge": (more, "standard uncertainty of one depth reading (one sigma)"),
        "gauge_zero": (size, "the same of the gauge's zero on a face, common to its readings (if not given, as gauge)"),
        "gauge_tilt": (size, "the same of a tilt of what is read from, at the slot's ends (if not given, as gauge)"),
        "clearance": (size, "running clearance of the new die square to the slot, both faces together"),
        "allowance": (size, "depth added to every reading for the gauge's uncertainty"),
        "cut_front": (size, "deepest cut allowed on the front face, from the worn surface"),
        "cut_back": (size, "deepest cut allowed on the back face, from the worn surface"),
        "wall_front": (more, "metal behind the front face as drawn"),
        "wall_back": (more, "metal behind the back face as drawn"),
        "least_wall": (size, "metal that must be left behind either face"),
        "datum": (StrictStr, "where the sheet measures from: mid slot, or a pin of the link such as trunnion"),
        "cutter": (more, "diameter of the cutter by which the faces are cut (one commonly kept if not given)"),
        "station_step": (more, "from one station of the machining drawing to the next (a round one if not given)"),
        "die_hole": (more, "diameter of the pin hole in the new die block"),
    }
    fitted: dict[str, Any] = {name: (kind | None, Field(None, description=told)) for name, (kind, told) in keys.items()}
    return create_model("CleanUp", __config__=ConfigDict(extra="forbid"), **fitted)


@lru_cache
def wear_model(unit: str) -> type[BaseModel]:
    """Model of a wear table: what the gauge found."""
    strict = ConfigDict(extra="forbid")
    size: Any = _length(unit, signed=False)
    shift: Any = _length(unit)
    slack: Any = _length(unit, signed=False, most=_MOST_SLACK, forms=length_forms.CLEARANCE)
    bow: Any = _length(unit, signed=False, forms=length_forms.BOW)
    worn: Any = _length(unit, most=_MOST_SLACK)
    loss: Any = create_model("Reading", __config__=strict, at=(shift, ...), front=(worn, 0.0), back=(worn, 0.0))
    moved: Any = create_model("Moved", __config__=strict, ahead=(shift, 0.0), up=(shift, 0.0))
    keys: dict[str, Any] = {
        "clearance": dict[str, slack], "slot": list[loss], "die_clearance": slack, "die_offset": worn,
        "bow": dict[str, bow], "bent": dict[str, moved], "twist": size, "die_length": size,
        "die_side_clearance": size, "angle_slip": dict[str, Degrees], "axle_height": shift,
        "heat": dict[Literal["rods", "spindle", "frame"], Kelvin], "spindle_length": size,
    }  # fmt: skip
    optional: dict[str, Any] = {name: (kind | None, None) for name, kind in keys.items()}
    return create_model("Wear", __config__=strict, **optional)
