"""Figures as they are taken, written wrong: sums, doubts, takings, inline tables."""

from __future__ import annotations

from tests.bad_engines.changed import DOCK, changed
from tests.bad_engines.wrong import FOUND, Wrong, length

KEY = "radius_rod.length"


def inside(value: str, word: str, *words: str) -> Wrong:
    """A wrong word or figure within an inline table."""
    wrong = length(value, *words)
    return Wrong(f"length {value}", wrong.text, wrong.at, f"{KEY}.{word}".rstrip("."), words)


def angle(value: str, *words: str, at: str = "") -> Wrong:
    text = changed("return_crank", "angle", value)
    return Wrong(f"angle {value}", text, at or f"angle = {value}", "return_crank.angle", words)


def worn(value: str, key: str, *words: str, table: str = "clearance", name: str = "foot") -> Wrong:
    text = f"{FOUND}[state.worn.left.wear]\n{table} = {{ {name} = {value} }}\n"
    return Wrong(f"{table} {value}", text, f"{name} = {value}", f"state.worn.left.wear.{table}.{key}", words)


SUMS = [
    length('"± 0.3 mm"', "figure is missing before '±'", "769.2 ± 0.3 mm"),
    length('"962 mm ±"', "no figure after ±"),
    length('"962 mm ± 0.3"', "the doubt has no unit"),
    length('"962 mm ± -0.3 mm"', "a doubt is no less than nothing"),
    length('"962 mm ± 0 mm"', "a doubt of nothing", "leave out"),
    length('"962 ± 0.3 furlongs"', "furlongs", "mm, in, ft, thou"),
    length('"962 mm ± 0.3 mm ± 0.2 mm"', "no sign before '±'"),
    length('"1372 mm / 2 ± 0.3 mm"', "plain numbers only"),
    length('"680 mm - 400"', "one term has a unit and another has none"),
    length('"680 - 400 mm"', "one term has a unit and another has none"),
    length('"680 mm + "', "figure is missing at its end"),
    length('"680 mm + + 3 mm"', "figure is missing before '+'"),
    length('"680 mm 400 mm + 1 mm"', "no sign before '400 mm'"),
    length('"680 mm * 2 mm"', "plain numbers only"),
    length('"680 mm / 2 mm"', "plain numbers only"),
    length('"2 / 3 * 4 / (5 mm)"', "plain numbers only"),
    length('"680 mm / 0"', "divided by nothing"),
    length('"680 mm / 2 / 2"', "divide once"),
    length('"680 mm ** 2"', "figure is missing before '*'"),
    length('"680 mm + trunnion"', "cannot be worked out at 'trunnion'"),
    length('"(680 mm + 3 mm"', "a bracket is left open"),
    length('"680 mm + 3 mm)"', "a bracket is closed that was not opened"),
    length(f'"{"(" * 20}1 mm + 2 mm{")" * 20}"', "brackets are too deep", at='length = "((((('),
    length('"10 in + 1 - 5/16 in"', "one length, or a difference?"),
    length('"10 + 5/16"', "a fraction of what?"),
    length('"680 mm + 3/0 in"', "a fraction over 0"),
    length('"680 mm + 3°"', "is not a length"),
    length('"400 mm - 680 mm"', "negative"),
    length('"400 mm - 400 mm"', "more than nothing"),
    length('"962 ± 1e400 mm"', "no length or angle of an engine"),
    length('"962 mm * 1e300"', "no length or angle of an engine"),
    length('"962 mm / 1e-300"', "no length or angle of an engine"),
    length('"99 ft + 999 ft"', "over 100 metres"),
    length('"1e300 mm + 1e300 mm"', "no length or angle of an engine"),
    length(f'"1 mm{" + 1 mm" * 40}"', "too long", at='length = "1 mm + 1 mm'),
    angle('"80 + 400"', "-360 to 360"),
    angle('"80 ± "', "no figure after ±"),
    angle('"80 mm + 3 mm"', "plain number of degrees"),
]

TAKINGS = [
    length("[]", "an empty list is not a length", "two takings"),
    length('["962 mm"]', "one taking in a list", "two takings"),
    length('["962 mm", "nine"]', "taking 2", "not a length"),
    length('["962 mm", ["963 mm", "964 mm"]]', "taking 2 is a list"),
    length('["962 mm", true]', "taking 2", "true"),
    length('["962 mm", "963 mm ±"]', "taking 2", "no figure after ±"),
    length('["-962 mm", "-963 mm"]', "negative"),
    inside('{ takings = "962 mm" }', "takings", "write takings = ["),
    inside('{ takings = ["962 mm", "963 mm"], doubt = "0 mm" }', "doubt", "no doubt"),
    inside('{ takings = ["962 mm", "963 mm"], doubt = "-1 mm" }', "doubt", "no doubt"),
    inside('{ takings = ["962 mm", "963 mm"], doubt = "0.3 ± 0.1 mm" }', "doubt", "doubt of its own"),
    inside('{ takings = ["962 ± 0.1 mm", "963 mm"], doubt = "1 mm" }', "doubt", "given twice"),
    inside('{ takings = ["962 mm", "963 mm"], dout = "1 mm" }', "dout", "did you mean 'doubt'"),
    angle("[84]", "one taking in a list"),
    angle('[84, "deg"]', "taking 2", "degrees", "give an angle such as"),
]

PINS = [
    inside("{}", "", "an empty table is not a length", "over"),
    inside('{ ovre = "1004 mm", pins = "42 mm" }', "ovre", "did you mean 'over'"),
    inside('{ pins = "42 mm" }', "pins", "pins alone is not a length", "give over beside pins"),
    inside('{ abov = "1004 mm" }', "abov", "unknown", "known here"),
    inside('{ over = "1004 mm" }', "", "pins or bores is missing"),
    inside('{ over = "1004 mm", pin = "42 mm" }', "pin", "did you mean 'pins'"),
    inside('{ over = "60 mm", pins = ["42 mm", "40 mm"] }', "pins", "wider than the distance over them"),
    inside('{ over = "1004 mm", pins = [] }', "pins", "0 figures"),
    inside('{ over = "1004 mm", pins = ["1 mm", "2 mm", "3 mm"] }', "pins", "3 figures", "up to 2"),
    inside('{ over = "1004 mm", pins = ["1 mm", "2 mm"], bores = "3 mm" }', "bores", "3 diameters"),
    inside('{ over = "1004 mm", pins = "0 mm" }', "pins", "more than nothing"),
    inside('{ over = "1e400 mm", pins = "40 mm" }', "over", "no figure of an engine"),
    inside('{ over = "wide", pins = "40 mm" }', "over", "not a length", "give a length such as"),
    inside('{ over = "1004 mm ± 1", pins = "40 mm" }', "over", "the doubt has no unit"),
    inside('{ over = "-1004 mm", pins = "40 mm" }', "over", "no size"),
    inside('{ over = "1004 mm", between = "920 mm", pins = "42 mm" }', "between", "does not go with over"),
    inside('{ over = "1004 mm", pins = "42 mm", rise = 3 }', "rise", "does not go with over"),
    inside('{ over = "1004 mm", pins = "42 mm", add = "lots" }', "add", "not a length"),
    inside('{ between = "20 mm", pins = "10 mm", add = "-60 mm" }', "", "negative"),
    inside('{ over = { over = "9 mm" }, pins = "42 mm" }', "over", "pins or bores is missing"),
]

ARCS = [
    inside('{ chord = "310 mm" }', "", "rise is missing", "give rise beside chord"),
    inside('{ rise = "10 mm" }', "", "chord is missing"),
    inside('{ chord = "310 mm", rise = "160 mm" }', "rise", "over half the chord"),
    inside('{ chord = "310 mm", rise = "0 mm" }', "rise", "no size"),
    inside('{ chord = "-310 mm", rise = "10 mm" }', "chord", "no size"),
    inside('{ chord = "310 mm", rice = "10 mm" }', "rice", "did you mean 'rise'"),
    inside("{ points = [[0, 0]] }", "points", "1 point for an arc", "three points"),
    inside("{ points = [[0, 0], [1, 1]] }", "points", "2 points for an arc"),
    inside("{ points = [[0, 0], [100, 0], [200, 0]] }", "points", "lie in a line"),
    inside("{ points = [[0, 0], [0, 0], [200, 0], [200, 0]] }", "points", "in 2 place(s)"),
    inside("{ points = [[0, 0], [1], [2, 3]] }", "points", "each as two figures"),
    inside("{ points = 3 }", "points", "each as two figures"),
    inside('{ points = [[0, 0], [1, "x"], [2, 3]] }', "points", "not a length"),
    inside('{ points = [[0, 0], [1, "1 ± 0.1 mm"], [2, 3]] }', "points", "give it beside, as doubt"),
]

RAIL = [
    inside('{ from_rail = "1500 mm" }', "from_rail", "unknown"),  # a rod has no height
    Wrong(
        "no wheel",
        changed("expansion_link", "trunnion_y", '{ from_rail = "1210 mm" }'),
        '{ from_rail = "1210 mm" }',
        "expansion_link.trunnion_y.from_rail",
        ("axle's height above the rail is not known", "[wheels] diameter"),
    ),
    Wrong(
        "a doubt of a target",
        changed("targets", "lead_difference", '"0.4 ± 0.1 mm"'),
        "0.4 ± 0.1 mm",
        "targets.lead_difference",
        ("a target has no doubt",),
    ),
    Wrong(
        "a die height that cannot be worked out",
        changed("reversing.notches", "mid", '{ die = "3 mm - 2" }'),
        '{ die = "3 mm - 2" }',
        "reversing.notches.mid",
        ("one term has a unit",),
    ),
]

WORN = [
    worn('{ bush = "40 mm", pin = "40.1 mm" }', "foot.bush", "the bush is smaller than its pin"),
    worn('{ bush = "40 mm" }', "foot", "pin is missing", "give pin beside bush"),
    worn('{ bush = "40 mm", pni = "39 mm" }', "foot.pni", "did you mean 'pin'"),
    worn('{ bush = { greatest = "40 mm" }, pin = "39 mm" }', "foot.bush", "least is missing"),
    worn(
        '{ bush = { greatest = "40 mm", least = "41 mm" }, pin = "39 mm" }', "foot.bush.greatest", "less than the least"
    ),
    worn('{ bush = { greatest = "40 mm", lest = "39 mm" }, pin = "39 mm" }', "foot.bush.lest", "did you mean 'least'"),
    worn('{ bush = { greatest = "40 mm", least = "38 mm" }, pin = "39 mm" }', "foot.bush", "smaller than its pin"),
    worn('{ bush = "40 mm", pin = "39 mm", turned_to = "39.5 mm" }', "foot.turned_to", "not turned to more"),
    worn('{ bush = "40 mm", pin = "39 mm", sleeved_to = "38 mm" }', "foot.sleeved_to", "smaller than its pin"),
    worn('{ bush = "400 mm", pin = "39 mm" }', "foot", "over 10 mm"),
    worn('"0.1 mm - 0.3 mm"', "foot", "negative"),
    worn('{ middle = "3 mm", ends = "1 mm" }', "foot.middle", "unknown"),
    worn('{ middle = "3 mm" }', '"eccentric rod"', "ends is missing", table="bow", name='"eccentric rod"'),
    worn(
        '{ middle = "3 mm", ends = "1 mm", rod = "900 mm" }',
        '"eccentric rod"',
        "straightedge is missing",
        table="bow",
        name='"eccentric rod"',
    ),
    worn(
        '{ middle = "3 mm", ends = "1 mm", straightedge = "950 mm", rod = "900 mm" }',
        '"eccentric rod".straightedge',
        "longer than the rod",
        table="bow",
        name='"eccentric rod"',
    ),
    worn('{ middle = "1 mm", ends = "3 mm" }', '"eccentric rod"', "negative", table="bow", name='"eccentric rod"'),
]

BY_FOOT = [
    angle('{ foot_movement = "9 mm" }', "return_crank.length, which is missing"),
    angle('{ foot_at_front = "9 mm" }', "foot_at_back is missing"),
    angle('{ foot_at_back = "9 mm" }', "foot_at_front is missing"),
    angle('{ foot_moved = "9 mm" }', "did you mean 'foot_movement'"),
    angle(
        '{ foot_at_front = "9 mm", foot_at_back = "9 mm", sense = "leading" }', "did you mean 'leads'"
    ),
    angle('{ foot_at_front = "900 mm", foot_at_back = "9 mm" }', "no gear of these figures"),
    angle('{ foot_at_front = "9 mm", foot_at_back = "9 mm", add = "3 mm" }', "nothing is added to an angle"),
    angle('{ chord = "9 mm", rise = "1 mm" }', "chord", "unknown"),
    Wrong(
        "a foot that stands still",
        changed("return_crank", "angle", "{ foot_movement = 0 }", DOCK).replace("pin_radius = ", "length = ", 1),
        "foot_movement = 0",
        "return_crank.angle",
        ("no gear of these figures",),
    ),
    Wrong(
        "a blank on which a state is based",
        f'{FOUND}[state.worn]\nbased_on = "?"\n',
        'based_on = "?"',
        "state.worn.based_on",
        ("still to be filled in",),
    ),
    Wrong(
        "an angle that no foot's movement makes",
        changed("return_crank", "angle", '{ foot_movement = "30 in" }', DOCK).replace("pin_radius = ", "length = ", 1),
        'foot_movement = "30 in"',
        "return_crank.angle",
        ("no gear of these figures",),
    ),
]  # fmt: skip
