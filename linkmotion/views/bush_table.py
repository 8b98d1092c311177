"""The printed sheet of a bush: what to bore and turn, the press, the freezer, in a table and in plain words."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linkmotion.files.lengths import UNITS, format_length
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import OUT, Answer, Aside, Block, Heading, Point
from linkmotion.wear.bushes import FRICTION, MOTION_PRESSURE, OSCILLATING_CLEARANCE, TURNED_FLATTENS, Assembly, BushPlan
from linkmotion.wear.fits import SOURCES, Span
from linkmotion.wear.materials import COLD, Material
from linkmotion.wear.rings import friction_adds, held_adds

CAUTION = (
    "Figures guide the work; they certify nothing. Press square, behind guards, hands and faces clear: a bush can "
    "burst or fly. Liquid gas and dry ice burn the skin and drive the air out of a room; warmed parts burn too, and "
    "look no different. Fitness of parts, repairs by heat and return to service are for the competent person, the "
    "owner's rules and the local law."
)
POUND = 0.45359237 * 9.80665  # N
LONG_TON, METRIC_TON = 2240 * POUND, 1000 * 9.80665  # N
PSI = POUND / 25.4**2  # MPa
PLACES = {"mm": 3, "in": 4}
"""Units of the sheet, and decimals shown."""


def size(mm: float, unit: str) -> str:
    """A length to the last place of the sheet, without its unit.

    Parameters
    ----------
    mm, unit : float, str
        The length; that of the sheet, "mm" or "in", as in all of this module.

    Examples
    --------
    >>> size(40.0254, "mm"), size(40.0254, "in")
    ('40.025', '1.5758')
    """
    return format_length(mm, unit, digits=PLACES[unit]).removesuffix(f" {unit}")


def stress(megapascal: float, unit: str) -> str:
    """A stress or a pressure as the shop says it: MPa, or in inches psi to the nearest ten.

    Parameters
    ----------
    megapascal, unit : float, str
        The stress; that of the sheet.

    Examples
    --------
    >>> stress(24.4, "mm"), stress(24.4, "in")
    ('24 MPa', '3,540 psi')
    """
    return f"{round(megapascal / PSI, -1) + 0.0:,.0f} psi" if unit == "in" else f"{megapascal + 0.0:.0f} MPa"


def torque(newton_mm: float, unit: str) -> str:
    """A torque as the shop says it: N m, or lbf ft.

    Parameters
    ----------
    newton_mm, unit : float, str
        The torque, N mm; that of the sheet.
    """
    return f"{newton_mm / POUND / 304.8:,.0f} lbf ft" if unit == "in" else f"{newton_mm / 1e3:,.0f} N m"


def load(newtons: float, unit: str) -> str:
    """A load as the shop says it: kN, or long tons.

    Parameters
    ----------
    newtons, unit : float, str
        The load, N; that of the sheet.
    """
    return f"{newtons / LONG_TON:.1f} long tons" if unit == "in" else f"{newtons / 1e3:.1f} kN"


def inward(limits: Span, unit: str) -> Span:
    """Limits moved inward to the last place shown, mm; to the nearest where they are closer than that.

    Parameters
    ----------
    limits, unit : Span, str
        mm; that of the sheet.
    """
    step = float(UNITS[unit]) * 10.0 ** -PLACES[unit]
    slack = 1e-6  # of a step, so that limits which are whole steps stay
    low, high = math.ceil(limits.least / step - slack), math.floor(limits.most / step + slack)
    return Span(low * step, high * step) if low <= high else limits


_SIZES = (Column("", key=True, shared="{}"), Column("least"), Column("most"), Column("", left=True))


def bush_table(plan: BushPlan, unit: str) -> Grid:
    """Sizes to make, least and most."""
    table = Grid(f"To bore and turn, {unit} (20 °C; limits rounded inward)", _SIZES)
    for part, limits, note in _sizes(plan, unit):
        table.row(part, *(size(mm, unit) for mm in inward(limits, unit)), note)
    return table


def _sizes(plan: BushPlan, unit: str) -> Iterator[tuple[str, Span, str]]:
    yield "housing, bore", plan.outer.hole, plan.outer.name
    yield "bush, turn outside", plan.outer.shaft, plan.outer.name
    if plan.bore_before is not None:
        yield "bush, bore before pressing", plan.bore_before, "closes in to the next"
    else:
        tight = plan.outer.interference
        for interference in (max(tight.least, 0.0), max(tight.middle, 0.0), tight.most):
            note = f"if the interference measures {size(interference, unit)}"
            yield "bush, bore before pressing", plan.bore_for(interference), note
    yield "bush, bore after pressing", plan.inner.hole, plan.inner.name
    yield "pin, turn", plan.inner.shaft, plan.inner.name


def _expect_table(plan: BushPlan, unit: str) -> Grid:
    """What to expect at the least and the greatest interference."""
    table = Grid("To expect", _SIZES)
    lengths = (
        ("interference", plan.outer.interference),
        *((("interference felt", plan.felt),) if plan.flattened else ()),
        ("bush bore closes in by", plan.closing),
        ("housing outside grows by", Span(*plan.pressed.growth)),
        ("pin's running clearance", plan.inner.clearance),
    )
    for name, span in lengths:
        table.row(name, *(size(mm, unit) for mm in span), unit)
    low, high = plan.friction
    forces = (
        (("long tons (2240 lb)", LONG_TON, 1), ("lbf", POUND, -1))
        if unit == "in"
        else (("kN", 1e3, 1), ("metric tons (1000 kg)", METRIC_TON, 1))
    )
    for name, (mark, newtons, places) in zip((f"press force, friction {low:g} to {high:g}", "the same"), forces,
                                             strict=True):  # fmt: skip
        table.row(name, *(f"{round(force / newtons, places):,.{max(places, 0)}f}" for force in plan.force), mark)
    pressed = plan.pressed
    stresses = (
        ("pressure", pressed.pressure),
        ("hoop tension, housing bore", pressed.housing_hoop),
        ("hoop compression, bush bore", -pressed.bush_hoop),
    )
    for name, values in stresses:
        told = [stress(float(value), unit).split() for value in values]
        table.row(name, *(figure for figure, _mark in told), told[0][1])
    table.row("torque that turns it in its housing", *_split(plan.holds, unit))
    for step in plan.assemblies:
        table.row(f"interference left, {_parts_at(step)}", *(size(mm, unit) for mm in step.left), unit)
    return table


def _parts_at(step: Assembly) -> str:
    return f"bush {step.bush_at:g} °C, housing {step.housing_at:g} °C"


def _split(torques: Span, unit: str) -> tuple[str, str, str]:
    """Least and most, and their unit."""
    (least, mark), (most, _) = (torque(each, unit).split(" ", 1) for each in torques)
    return least, most, mark


def warnings(plan: BushPlan, unit: str = "mm") -> list[str]:
    """What is wrong with the plan, in plain words; nothing when all is well."""
    found = []
    if plan.may_be_loose:
        found.append("Within these limits the bush can be loose in its bore and turn there: choose a tighter fit.")
    elif plan.may_turn:
        found.append(
            f"At the least interference the bush is held by {stress(float(plan.pressed.pressure[0]), unit)} only: it "
            f"turns in its housing at {torque(plan.holds.least, unit)}, which a dry pin (friction "
            f"{plan.friction.most:g}) brings up under {load(plan.turning_load, unit)}. Motion pins bear up to "
            f"{stress(MOTION_PRESSURE, unit)} on their bore (from memory), here {load(plan.pin_load, unit)}: choose a "
            "tighter fit, or key or pin the bush."
        )
    for part, share in plan.overstressed.items():
        stuff: Material = getattr(plan.rings, part)
        found.append(
            f"At the greatest interference the {part} ({stuff.name}) is stressed to {share:.1f} times the "
            f"{stress(stuff.yields, unit)} at which it may stretch or crack ({stuff.strength_source}): the figures no "
            "longer hold there. Less interference, more metal, or your own metal's figure (yields=) if it bears more."
        )
    return found


def words(plan: BushPlan, unit: str) -> list[str]:
    """The sheet in sentences."""
    told = [
        f"Of every {size(0.01 * float(UNITS[unit]), unit)} {unit} of interference the bore closes in by "
        f"{size(plan.closing_rate * 0.01 * float(UNITS[unit]), unit)}."
    ]
    if plan.bore_before is not None:
        told.append("Bored as above before pressing, the bush comes within its limits whatever the fit turns out.")
    else:
        told.append(
            "The closing in varies by more than the bore's own limits are wide: measure housing and bush first and "
            f"bore for that interference (the bore wanted + {plan.closing_rate:.2f} of it), or finish the bore after "
            "pressing."
        )
    per_bore = " to ".join(f"{ratio * 1e3:.2f}" for ratio in plan.clearance_per_bore)
    told.append(
        f"The pin's clearance is {per_bore} thousandths of the bore; for bushes that swing RBC Bearings prints "
        f"{OSCILLATING_CLEARANCE * 1e3:g}."
    )
    told.append(
        "Ends are taken as free to lengthen (plane stress). Held from it (plane strain) pressure and stresses would "
        f"be {held_adds(plan.rings):.0%} more; friction along a seat of this length can add "
        f"{friction_adds(plan.rings, plan.friction.most):.0%} at most."
    )
    told.append(
        f"Of the interference, {size(plan.flattened, unit)} {unit} is roughness that is flattened in pressing."
        if plan.flattened
        else f"No roughness is counted: surfaces as turned (Rz 6.3 µm both) flatten by "
        f"{size(TURNED_FLATTENS, unit)} {unit} in pressing, and hold the less; --roughness counts it."
    )
    told.append(
        "The housing is taken as a ring; where an eye or boss is thinner to one side, give the least metal there."
    )
    told.extend(_of_assembly(step, unit) for step in plan.assemblies)
    if any(step.bush_at < COLD for step in plan.assemblies):
        told.append(
            f"Below {COLD:g} °C only seven tenths of the coefficient are counted: it falls with cold (from memory)."
        )
    return told


def _of_assembly(step: Assembly, unit: str) -> str:
    least, most = (size(abs(mm), unit) for mm in step.left)
    if step.left.most < 0:
        end = f"it drops in with {most} to {least} {unit} to spare. Be quick and go home in one push."
    elif step.left.least < 0:
        end = f"anything from {least} loose to {most} {unit} tight: do not count on its dropping in."
    else:
        end = f"{least} to {most} {unit} of interference are left: it must still be pressed."
    moves = [f"the bush {size(step.shrinks, unit)} {unit} smaller"] if step.shrinks else []
    moves += [f"the bore {size(step.grows, unit)} {unit} larger"] if step.grows else []
    return f"With {', '.join([_parts_at(step), *moves])}: {end}"


def sources(plan: BushPlan) -> list[str]:
    """Where the figures are from."""
    told = []
    for name in dict.fromkeys((plan.outer.name, plan.inner.name)):
        source = SOURCES["ANSI B4.1"] if name.startswith("RC") else SOURCES["ISO 286"] if "/" in name else ""
        if source and source not in told:
            told.append(source)
    for stuff in dict.fromkeys((plan.rings.housing, plan.rings.bush)):
        told.append(
            f"{stuff.name}: expansion {stuff.expansion * 1e6:.1f} millionths per K ({stuff.expansion_source}); Young's "
            f"modulus {stuff.young / 1e3:g} GPa, Poisson's ratio {stuff.poisson:g} ({stuff.strength_source})"
        )
    if plan.flattened:
        told.append("0.8 of both roughnesses Rz is flattened in pressing (from memory, as DIN 7190 has it)")
    if plan.friction == FRICTION:
        told.append(f"friction {FRICTION[0]:g} to {FRICTION[1]:g} from memory, oiled to dry")
    return told


def _soundness(plan: BushPlan, unit: str) -> str:
    """Whether the bush will do, and of which seats that is said."""
    if warnings(plan, unit):
        return "but see what is wrong with it"
    told = "it is neither loose nor overstressed within these limits"
    if not plan.loose_as_turned:
        return told
    return (
        f"with smooth seats {told}; as turned (Rz 6.3 µm both) they flatten by {size(TURNED_FLATTENS, unit)}, all of "
        "the least interference, and it may be loose: --roughness counts it, or choose a tighter fit"
    )


def _limits(span: Span, unit: str) -> str:
    """Least and greatest; one figure where they are the same, as of a seat to which an interference is added."""
    least, most = (size(mm, unit) for mm in inward(span, unit))
    return least if least == most else f"{least} to {most}"


def bush_blocks(plan: BushPlan, unit: str) -> Iterator[Block]:
    """The whole sheet, the answer first."""
    rings, wrong = plan.rings, warnings(plan, unit)
    bored, turned = (_limits(span, unit) for span in (plan.outer.hole, plan.outer.shaft))
    yield Answer(f"Bore the housing {bored}, turn the bush {turned} {unit}: {_soundness(plan, unit)}.")
    yield from (Point(sentence, OUT) for sentence in wrong)
    yield Heading(
        f"Bush of {rings.bush.name} in {rings.housing.name}: {size(rings.seat, unit)} outside, "
        f"{size(rings.bore, unit)} bore, {size(rings.length, unit)} long, housing {size(rings.outside, unit)} "
        f"across, {unit}"
    )
    yield bush_table(plan, unit)
    yield _expect_table(plan, unit)
    yield from map(Point, words(plan, unit))
    yield Aside("Figures: " + ". ".join(sources(plan)) + ".")
    yield Aside(CAUTION)
