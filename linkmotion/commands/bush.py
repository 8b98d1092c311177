"""A bush and its pin, from what the fitter writes down to the sheet: what to bore and turn, and how to get it in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from linkmotion.files.faults import FileError, nearest
from linkmotion.files.lengths import LengthError, parse_length
from linkmotion.studies.row_figures import Length
from linkmotion.views.printout import print_json, show
from linkmotion.wear.bushes import FRICTION, BushPlan, plan
from linkmotion.wear.fits import RUNNING_FITS, Fit, FitError, Span, iso_fit, running_fit
from linkmotion.wear.materials import MATERIALS, ROOM, Material, MaterialError, material
from linkmotion.wear.rings import BushError, Rings, friction_adds, held_adds

COLDEST, HOTTEST = -200.0, 400.0  # °C: liquid nitrogen; above that tempered parts suffer
ROUGHEST = 100.0  # micrometres, Rz: coarser than any turned seat
_FIGURES = {"young": 1e3, "poisson": 1.0, "expansion": 1e-6, "yields": 1.0}  # GPa, -, millionths per K, MPa


@dataclass(frozen=True, kw_only=True)
class BushRequest:
    """What the user asked for; lengths as the shop writes them, bare numbers in ``unit``.

    Attributes
    ----------
    seat, housing_outside, bore, length : str
        Bore in the housing (bush outside), housing's outside, bush bore (pin), length.
    press, running : str
        Class of fit ("H7/r6"; running also "RC6"), or by figures the interference, the clearance ("0.02 to 0.05",
        "2 to 4 thou"). By figures, housing bore and pin are taken at the size given, and the bush is made to them.
    housing, bush : str
        Material, with figures of your own if any: "cast iron, young=110, expansion=10.5" (``young`` GPa,
        ``poisson``, ``expansion`` millionths per K, ``yields`` MPa).
    friction : (float, float)
        Least and greatest coefficient; the default is from memory.
    freezer, warm : float or None
        Temperature of the cold bush, of the warmed housing, °C.
    roughness : (float, float) or None
        Rz of the bush's outside and of the housing's bore, micrometres; not counted where it is not given.
    unit : str
        "mm" or "in".
    output : str
        "tables" or "json".
    """

    seat: str
    housing_outside: str
    bore: str
    length: str
    press: str = "H7/r6"
    running: str = "H8/f7"
    housing: str = "mild steel"
    bush: str = "phosphor bronze"
    friction: tuple[float, float] = FRICTION
    freezer: float | None = None
    warm: float | None = None
    roughness: tuple[float, float] | None = None
    unit: str = "mm"
    output: str = "tables"


def run_bush(request: BushRequest) -> int:
    """Print the sheet; 0 when the bush can be so, 1 when it may be loose, turn or be overstressed.

    Raises
    ------
    FileError
        Wrong input, naming the option.
    """
    made = read_bush(request)
    if request.output == "json":
        print_json("bush", request.unit, as_data(made, request.unit))
    else:
        from linkmotion.views.bush_table import bush_blocks

        show(bush_blocks(made, request.unit))
    return int(made.may_be_loose or made.may_turn or bool(made.overstressed))


def read_bush(request: BushRequest) -> BushPlan:
    """The plan that a request asks for."""
    if request.unit not in ("mm", "in"):
        raise FileError("--unit", f"no sheet in {request.unit!r}", "give mm or in")
    seat, outside, bore, length = (
        _length(f"--{name.replace('_', '-')}", getattr(request, name), request.unit)
        for name in ("seat", "housing_outside", "bore", "length")
    )
    housing, bush = _material("--housing", request.housing), _material("--material", request.bush)
    low, high = request.friction
    if not 0 < low <= high <= 1:
        raise FileError(
            "--friction", f"{low:g} to {high:g} is no range of friction", "give two figures such as 0.08 0.2"
        )
    try:
        rings = Rings(seat=seat, outside=outside, bore=bore, length=length, housing=housing, bush=bush)
    except BushError as error:
        raise FileError(
            "--bore, --seat, --housing-outside, --length", str(error), "check which figure is which"
        ) from None
    outer, inner = _outer(request, seat), _inner(request, bore)
    try:
        return plan(rings, outer, inner, Span(low, high), _temperatures(request), _roughness(request))
    except BushError as error:
        raise FileError("--press, --running", str(error), "H7/r6 pressed and H8/f7 running are usual") from None


def _length(option: str, text: str, unit: str) -> float:
    try:
        return parse_length(text, unit)
    except LengthError as error:
        raise FileError(option, str(error), "give a length such as 38 mm or 1 1/2 in") from None


def _material(option: str, text: str) -> Material:
    name, *figures = (part.strip() for part in text.split(","))
    own: dict[str, float] = {}
    for figure in figures:
        key, _, value = (part.strip() for part in figure.partition("="))
        try:
            own[key] = float(value) * _FIGURES[key]
        except (KeyError, ValueError):
            raise FileError(option, f"{figure!r} is no figure of a material", f"known: {', '.join(_FIGURES)}") from None
    try:
        return material(name).with_figures(**own)
    except MaterialError as error:
        remedy = "check the figures" if name.lower() in MATERIALS else nearest(name, list(MATERIALS))
        raise FileError(option, str(error).partition(": known")[0], remedy) from None


def _outer(request: BushRequest, seat: float) -> Fit:
    if figures := _figures("--press", request.press, request.unit, seat / 100):
        return Fit("by figures", Span(seat, seat), figures.plus(seat))
    return _fit("--press", request.press, seat)


def _inner(request: BushRequest, bore: float) -> Fit:
    if figures := _figures("--running", request.running, request.unit, bore / 20):
        return Fit("by figures", figures.plus(bore), Span(bore, bore))
    return _fit("--running", request.running, bore)


def _figures(option: str, text: str, unit: str, largest: float) -> Span | None:
    """A range of lengths, mm, if the text is one: "0.02 to 0.05 mm", "2 to 4 thou", "0.03"."""
    parts = re.split(r"\s+to\s+", text.strip())
    if len(parts) > 2 or not re.match(r"[-+.\d]", parts[0]):
        return None
    ending = re.search(r"[a-z\"'.]*[a-z\"']$", parts[-1], re.IGNORECASE)
    if ending and not re.search(r"[a-z\"']", parts[0], re.IGNORECASE):
        parts[0] += f" {ending[0]}"  # the unit said at the end holds for both
    span = Span(_length(option, parts[0], unit), _length(option, parts[-1], unit))
    if not 0 <= span.least <= span.most <= largest:
        problem = f"{text!r} was read as {span.least:.3f} to {span.most:.3f} mm"
        raise FileError(option, problem, f"the lesser first, from 0 to {largest:.2f} mm for this diameter")
    return span


def _fit(option: str, name: str, nominal: float) -> Fit:
    try:
        return running_fit(nominal, name.upper()) if name.upper().startswith("RC") else iso_fit(nominal, name)
    except FitError as error:
        classes = f"H7/r6, {', '.join(RUNNING_FITS)} (running)"
        raise FileError(option, str(error), f"give a class such as {classes}, or figures: 0.02 to 0.05 mm") from None


def _roughness(request: BushRequest) -> tuple[float, float]:
    """Rz of both surfaces, mm."""
    bush, housing = request.roughness or (0.0, 0.0)
    if not (0 <= bush <= ROUGHEST and 0 <= housing <= ROUGHEST):
        problem = f"{bush:g} and {housing:g} micrometres"
        raise FileError("--roughness", problem, f"give Rz of bush and bore, 0 to {ROUGHEST:g} each, such as 6.3 6.3")
    return bush * 1e-3, housing * 1e-3


def _temperatures(request: BushRequest) -> tuple[tuple[float, float], ...]:
    cold, warm = request.freezer, request.warm
    if cold is not None and not COLDEST <= cold < ROOM:
        raise FileError("--freezer", f"{cold:g} °C", f"give the cold bush's temperature, {COLDEST:g} to {ROOM:g} °C")
    if warm is not None and not ROOM < warm <= HOTTEST:
        raise FileError("--warm", f"{warm:g} °C", f"give the warm housing's temperature, {ROOM:g} to {HOTTEST:g} °C")
    alone = [(cold, ROOM)] if cold is not None else []
    alone += [(ROOM, warm)] if warm is not None else []
    return tuple([*alone, (cold, warm)] if cold is not None and warm is not None else alone)


def as_data(made: BushPlan, unit: str) -> dict[str, Any]:
    """The plan as data: pairs are least and most; lengths in the unit, other units in the names."""
    from linkmotion.views.bush_table import CAUTION, sources, warnings, words

    def pair(span: Span) -> list[Length]:
        return [Length(value) for value in span]

    pressed, before = made.pressed, made.bore_before
    return {
        "fits": {"press": made.outer.name, "running": made.inner.name},
        "housing_bore": pair(made.outer.hole),
        "bush_outside": pair(made.outer.shaft),
        "bush_bore_before_pressing": None if before is None else pair(before),
        "bush_bore_after_pressing": pair(made.inner.hole),
        "pin": pair(made.inner.shaft),
        "interference": pair(made.outer.interference),
        "roughness_flattened": Length(made.flattened),
        "running_clearance": pair(made.inner.clearance),
        "bore_closing": pair(made.closing),
        "closing_per_interference": made.closing_rate,
        "housing_growth": pair(pressed.growth),
        "ends": "free to lengthen (plane stress)",
        "held_ends_add_percent": 100 * held_adds(made.rings),
        "friction_adds_at_most_percent": 100 * friction_adds(made.rings, made.friction.most),
        "pressure_MPa": list(pressed.pressure),
        "housing_hoop_MPa": list(pressed.housing_hoop),
        "bush_hoop_MPa": list(pressed.bush_hoop),
        "friction": list(made.friction),
        "press_force_kN": [newtons / 1e3 for newtons in made.force],
        "turning_torque_Nm": [torque / 1e3 for torque in made.holds],
        "assembly": [
            {
                "bush_at_C": step.bush_at,
                "housing_at_C": step.housing_at,
                "bush_shrinks": Length(step.shrinks),
                "bore_grows": Length(step.grows),
                "interference_left": pair(step.left),
            }
            for step in made.assemblies
        ],
        "warnings": warnings(made, unit),
        "words": words(made, unit),
        "sources": sources(made),
        "caution": CAUTION,
    }
