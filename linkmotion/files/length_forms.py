"""Each inline table by which a length can be taken: its words, what is wrong with them, and what it comes to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.source import shown
from linkmotion.files.taken_forms import DOUBT, Form, Taking, said
from linkmotion.measuring.arcs import NoArc, arc_through, by_chord_and_rise, radius_of
from linkmotion.measuring.distances import above_axle, bow, bow_of_length, centres_between, centres_over, clearance
from linkmotion.measuring.taken import Taken, worked

Table = Mapping[str, Any]


def _takings(taking: Taking, table: Table) -> Taken:
    if not isinstance(table["takings"], list):
        raise FigureFault(f"read {shown(table['takings'])}", "write takings = [ …, …, … ]", ("takings",))
    return taking.mean(table["takings"], table.get(DOUBT), ("takings",))


def _centres(taking: Taking, table: Table) -> Taken:
    word = "over" if "over" in table else "between"
    reading = taking.sized(table[word], word)
    given = [(kind, size) for kind in ("pins", "bores") if kind in table for size in _sizes(taking, table[kind], kind)]
    if not given:
        raise FigureFault("pins or bores is missing", f"give their diameters beside {word}: pins = [ …, … ]")
    kinds = [kind for kind, _size in given]
    if len(given) == 1:
        given *= 2
    if len(given) > 2:
        raise FigureFault(f"{len(given)} diameters are given", "give two, or one where both are alike", (kinds[-1],))
    (_, first), (_, second) = given
    if word == "over" and not first.exact + second.exact <= reading.exact:
        raise FigureFault(f"the {' and '.join(dict.fromkeys(kinds))} are wider than the distance over them",
                          "look at their diameters, and at their units", (kinds[0],))  # fmt: skip
    law = centres_over if word == "over" else centres_between
    sizes = " and ".join(f"{kind} of {said(table[kind], taking.unit)}" for kind in dict.fromkeys(kinds))
    return worked(law, [reading, first, second], f"{said(table[word], taking.unit)} {word} {sizes}")


def _sizes(taking: Taking, value: Any, word: str) -> list[Taken]:
    found = taking.some(value, word, 2)
    for size in found:
        if not size.exact > 0:
            raise FigureFault("a diameter is more than nothing", "look at the figure", (word,))
    return found


def _from_rail(taking: Taking, table: Table) -> Taken:
    if taking.wheel is None:
        raise FigureFault("the axle's height above the rail is not known",
                          "give [wheels] diameter, over the tread as it is worn", ("from_rail",))  # fmt: skip
    reading = taking.figure(table["from_rail"], "from_rail")
    return worked(above_axle, [reading, taking.wheel], f"{said(table['from_rail'], taking.unit)} from the rail")


def _chord(taking: Taking, table: Table) -> Taken:
    chord, rise = (taking.sized(table[word], word) for word in ("chord", "rise"))
    if not rise.exact <= chord.exact / 2:
        raise FigureFault("the rise is over half the chord: more than half a circle", "look at both figures", ("rise",))
    told = f"by chord {said(table['chord'], taking.unit)} and rise {said(table['rise'], taking.unit)}"
    return worked(by_chord_and_rise, [chord, rise], told)


def _points(taking: Taking, table: Table) -> Taken:
    points = table["points"]
    if not isinstance(points, list) or not all(isinstance(point, list) and len(point) == 2 for point in points):
        raise FigureFault(
            "points are wanted, each as two figures", "write points = [ [ x, y ], [ x, y ], … ]", ("points",)
        )
    if len(points) < 3:
        told = f"{len(points)} point{'s' * (len(points) != 1)} for an arc"
        raise FigureFault(told, "give three points, or more", ("points",))
    places = [tuple(float(taking.plain(value, "points")) for value in point) for point in points]
    doubt = float(taking.doubt(table[DOUBT])) if DOUBT in table else 0.0
    told = f"arc {'through' if len(points) == 3 else 'fitted to'} {len(points)} points"
    try:
        return radius_of(arc_through(places), doubt, taking.source, told)  # type: ignore[arg-type]
    except NoArc as error:
        raise FigureFault(str(error), "give three points or more, well apart and off a line", ("points",)) from None


def _clearance(taking: Taking, table: Table) -> Taken:
    bush, pin = (ovality(taking, table[word], word) for word in ("bush", "pin"))
    hole, shaft = bush[0], pin[-1]
    told = f"bush {said(table['bush'], taking.unit)}, pin {said(table['pin'], taking.unit)}"
    if "turned_to" in table:
        shaft = taking.sized(table["turned_to"], "turned_to")
        if shaft.exact > pin[-1].exact:
            raise FigureFault("a pin is not turned to more than its least", "look at the figure", ("turned_to",))
        told += f", turned to {said(table['turned_to'], taking.unit)}"
    if "sleeved_to" in table:
        hole = taking.sized(table["sleeved_to"], "sleeved_to")
        told += f", sleeved to {said(table['sleeved_to'], taking.unit)}"
    tightest = (bush[-1] if hole is bush[0] else hole).exact - (pin[0] if shaft is pin[-1] else shaft).exact
    if tightest < 0:
        word = "sleeved_to" if "sleeved_to" in table else "bush"
        raise FigureFault("the bush is smaller than its pin", "look at both diameters, and at their units", (word,))
    return worked(clearance, [hole, shaft], told)


def ovality(taking: Taking, value: Any, word: str) -> list[Taken]:
    """Greatest and least of a diameter; one where it is round."""
    if not isinstance(value, dict) or not {"greatest", "least"} & set(value):
        return [taking.sized(value, word)]
    inside = Taking(taking.unit, (Form(("greatest", "least"), (), lambda *_: None),), None, taking._numbers)
    try:
        inside.form(value)
        both = [taking.sized(value[own], own) for own in ("greatest", "least")]
        if both[0].exact < both[1].exact:
            raise FigureFault("the greatest is less than the least", "change them about", ("greatest",))
    except FigureFault as fault:
        raise fault.inside(word) from None
    return both


def _bow(taking: Taking, table: Table) -> Taken:
    middle, ends = taking.figure(table["middle"], "middle"), taking.some(table["ends"], "ends", 2)
    told = f"gaps of {said(table['middle'], taking.unit)} at the middle, {said(table['ends'], taking.unit)} at the ends"
    found = worked(bow, [middle, ends[0], ends[-1]], told)
    if ("straightedge" in table) != ("rod" in table):
        lacking = "rod" if "straightedge" in table else "straightedge"
        raise FigureFault(f"{lacking} is missing", f"give {lacking} too: the length of each, or neither")
    if "rod" not in table:
        return found
    edge, rod = (taking.sized(table[word], word) for word in ("straightedge", "rod"))
    if edge.exact > rod.exact:
        raise FigureFault("the straight-edge is longer than the rod", "leave both out", ("straightedge",))
    return worked(bow_of_length, [found, edge, rod], f"{told}, under {said(table['straightedge'], taking.unit)}")


TAKINGS = Form(("takings",), (DOUBT,), _takings)
PLAIN = (
    TAKINGS,
    Form(("over",), ("pins", "bores"), _centres),
    Form(("between",), ("pins", "bores"), _centres),
    Form(("chord", "rise"), (), _chord),
    Form(("points",), (DOUBT,), _points),
)
"""By which every length can be taken."""
HEIGHT = (*PLAIN, Form(("from_rail",), (), _from_rail))
"""By which heights on the frame can."""
CLEARANCE = (*PLAIN, Form(("bush", "pin"), ("turned_to", "sleeved_to"), _clearance))
BOW = (*PLAIN, Form(("middle", "ends"), ("straightedge", "rod"), _bow))
