"""Files in good form whose figures do not make a gear: notches, valve, cranks, suspension, states."""

from __future__ import annotations

import re

from tests.bad_engines.changed import DOCK, METRE, changed, without
from tests.bad_engines.wrong import Wrong, state

WITHOUT_STROKE = changed("cylinder", "stroke", None)

NOTCHES = [
    Wrong(
        "none",
        re.sub(r"(\[reversing\.notches\]\n).*?(?=\[targets\])", r"\1", METRE, flags=re.DOTALL),
        "[reversing.notches]",
        "reversing.notches",
        ("at least one",),
    ),
    Wrong(
        "not a table",
        changed("reversing", "notches", "3", without("reversing.notches")),
        "notches = 3",
        "reversing.notches",
        ("table",),
    ),
    Wrong(
        "unknown form",
        changed("reversing.notches", "mid", "{ dye = 3 }"),
        "dye",
        "reversing.notches.mid",
        ("die = height",),
    ),
    Wrong(
        "two forms",
        changed("reversing.notches", "mid", "{ die = 3, arm = 2 }"),
        "arm = 2",
        "reversing.notches.mid",
        ("die = height",),
    ),
    Wrong(
        "die nonsense",
        changed("reversing.notches", "mid", '{ die = "x" }'),
        'die = "x"',
        "reversing.notches.mid",
        ("33.3 mm",),
    ),
    Wrong(
        "angle as text",
        changed("reversing.notches", "mid", '"-1.5"'),
        '"-1.5"',
        "reversing.notches.mid",
        ("plain number",),
    ),
    Wrong(
        "angle too large",
        changed("reversing.notches", "mid", "-361"),
        "-361",
        "reversing.notches.mid",
        ("-360 to 360",),
    ),
    Wrong(
        "angle true", changed("reversing.notches", "mid", "true"), "mid = true", "reversing.notches.mid", ("degrees",)
    ),
    Wrong("angle list", changed("reversing.notches", "mid", "[1]"), "mid = [1]", "reversing.notches.mid", ("degrees",)),
]

VALVES = [
    Wrong(
        "set in no notch",
        changed("valve", "set_in", '{ notch = "full ahead" }'),
        "full ahead",
        "valve.set_in",
        ("full forward, forward 65",),
    ),
    Wrong(
        "set_in key misspelt",
        changed("valve", "set_in", '{ notsh = "mid" }'),
        "notsh",
        "valve.set_in.notsh",
        ("did you mean 'notch'",),
    ),
    Wrong(
        "set_in no direction",
        changed("valve", "set_in", '{ notch = "mid", direction = "up" }'),
        '"up"',
        "valve.set_in.direction",
        ("forward",),
    ),
    Wrong("set_in as text", changed("valve", "set_in", '"mid"'), 'set_in = "mid"', "valve.set_in", ("notch =",)),
    Wrong("set_in missing", changed("valve", "set_in", None), "[valve]", "valve.set_in", ("set_in = {",)),
    Wrong(
        "set_by unknown",
        changed("valve", "set_by", '"equal leads"'),
        'set_by = "equal leads"',
        "valve.set_by",
        ("'equal lead'",),
    ),
    Wrong(
        "central_at and set_by",
        changed("valve", "central_at", "900"),
        "central_at = 900",
        "valve.central_at",
        ("both", "one"),
    ),
    Wrong(
        "neither",
        changed("valve", "set_by", None, changed("valve", "set_in", None)),
        "[valve]",
        "valve.central_at",
        ("set_by",),
    ),
    Wrong("no lap", changed("valve", "steam_lap", None), "[valve]", "valve.steam_lap", ("steam_lap_front",)),
    Wrong(
        "lap of one end",
        changed("valve", "steam_lap_front", "24", changed("valve", "steam_lap", None)),
        "[valve]",
        "valve.steam_lap",
        ("steam_lap_back",),
    ),
    Wrong(
        "lap given twice",
        changed("valve", "steam_lap_front", "30"),
        "steam_lap_front = 30",
        "valve.steam_lap_front",
        ("steam_lap",),
    ),
    Wrong(
        "no cutoffs to make equal",
        changed("valve", "steam_lap", "200", changed("valve", "set_by", '"equal cutoff"')),
        None,
        "valve",
        ("no place of the valve makes the cutoffs equal",),
    ),
]

ONLY_RADIUS = changed("return_crank", "angle", None)
CRANKS = [
    Wrong(
        "crank radius and stroke",
        changed("cylinder", "crank_radius", "265"),
        "crank_radius = 265",
        "cylinder.crank_radius",
        ("both", "one"),
    ),
    Wrong(
        "neither",
        changed("cylinder", "stroke", None),
        "[cylinder]",
        "cylinder.crank_radius",
        ("crank_radius", "stroke", "one"),
    ),
    Wrong(
        "rod shorter than crank",
        changed("connecting_rod", "length", "200"),
        "length = 200",
        "connecting_rod.length",
        ("too short to pass the crank", "longer"),
    ),
    Wrong(
        "rod too short for a line below the axle",
        changed(
            "connecting_rod",
            "length",
            "600",
            changed("cylinder", "line_height", "-400", changed("cylinder", "crank_radius", "265", WITHOUT_STROKE)),
        ),
        "length = 600",
        "connecting_rod.length",
        ("too short to pass the crank", "longer"),
    ),
    Wrong(
        "stroke of metres",
        changed("cylinder", "stroke", "3600"),
        "stroke = 3600",
        "cylinder.stroke",
        ("no steam engine's", "unit"),
    ),
    Wrong("return crank, one figure", ONLY_RADIUS, "pin_radius = 169", "return_crank.pin_radius", ("two", "length")),
    Wrong(
        "return crank, no figure",
        changed("return_crank", "pin_radius", None, ONLY_RADIUS),
        "[return_crank]",
        "return_crank",
        ("two",),
    ),
    Wrong(
        "return crank, three figures",
        changed("return_crank", "length", "300"),
        "pin_radius = 169",
        "return_crank",
        ("two", "3"),
    ),
    Wrong(
        "sense missing",
        changed("return_crank", "length", "300", ONLY_RADIUS),
        "[return_crank]",
        "return_crank.sense",
        ('"leads"', '"follows"'),
    ),
    Wrong(
        "sense unknown",
        changed("return_crank", "sense", '"ahead"'),
        '"ahead"',
        "return_crank.sense",
        ("'leads' or 'follows'",),
    ),
    Wrong(
        "length out of reach",
        changed("return_crank", "sense", '"leads"', changed("return_crank", "length", "3000", ONLY_RADIUS)),
        "length = 3000",
        "return_crank.length",
        ("reach",),
    ),
    Wrong(
        "length short of the line",
        changed("return_crank", "length", "100", changed("return_crank", "pin_radius", None)),
        "length = 100",
        "return_crank.length",
        ("reach",),
    ),
]

SUSPENSIONS = [
    *(
        Wrong(
            f"{key} missing",
            changed("reversing", key, None, DOCK),
            "[reversing]",
            f"reversing.{key}",
            ("lifting link", "give"),
        )
        for key in ("shaft_x", "shaft_y", "arm", "lifting_link")
    ),
    *(
        Wrong(
            f"block, {key} missing",
            changed("reversing", key, None),
            "[reversing]",
            f"reversing.{key}",
            ("sliding block", "give"),
        )
        for key in ("shaft_x", "shaft_y", "arm")
    ),
    Wrong(
        "no lift pin",
        changed("radius_rod", "lift_pin", None, DOCK),
        "[radius_rod]",
        "radius_rod.lift_pin",
        ("lift_pin",),
    ),
    Wrong(
        "ideal, arm angles, no link",
        changed("reversing", "suspension", '"ideal"'),
        "[reversing.notches]",
        "reversing.notches",
        ("die = height",),
    ),
    Wrong(
        "ideal, arm angles, no shaft",
        changed("reversing", "shaft_x", None, changed("reversing", "suspension", '"ideal"', DOCK)),
        None,
        "reversing",
        ("shaft_x",),
    ),
    Wrong(
        "valve pin below union pin",
        changed("combination_lever", "upper_arm", "-814"),
        "upper_arm = -814",
        "combination_lever.upper_arm",
        ("less than lower_arm",),
    ),
]

STATES = [
    Wrong(
        "key misspelt", changed('state."as found"', "notes", '"x"'), 'notes = "x"', "notes", ("did you mean 'note'",)
    ),
    Wrong(
        "based on unknown",
        changed('state."as repaired"', "based_on", '"as fond"'),
        "as fond",
        "based_on",
        ("did you mean 'as found'",),
    ),
    Wrong(
        "based on itself",
        changed('state."as repaired"', "based_on", '"as repaired"'),
        'based_on = "as repaired"',
        "based_on",
        ("ring",),
    ),
    Wrong(
        "based on a ring",
        changed('state."as found"', "based_on", '"as repaired"'),
        'based_on = "as found"',
        "based_on",
        ("ring",),
    ),
    Wrong(
        "based on a number", changed('state."as repaired"', "based_on", "3"), "based_on = 3", "based_on", ("quotes",)
    ),
    Wrong("note a number", changed('state."as found"', "note", "3"), "note = 3", "note", ("quotes",)),
    state("named drawing", "[state.drawing]", "[state.drawing]", "state.drawing", "another name"),
    state("wrong side", "[state.x.lefft.radius_rod]\nlength = 3", "lefft", "state.x.lefft", "did you mean 'left'"),
    state(
        "no side", "[state.x.radius_rod]\nlength = 3", "[state.x.radius_rod]", "state.x.radius_rod", "both, left, right"
    ),
    state(
        "table misspelt",
        "[state.x.left.radius_rods]\nlength = 3",
        "radius_rods",
        "state.x.left.radius_rods",
        "did you mean 'radius_rod'",
    ),
    state(
        "table key misspelt",
        "[state.x.left.radius_rod]\nlenth = 3",
        "lenth",
        "state.x.left.radius_rod.lenth",
        "did you mean 'length'",
    ),
    state(
        "figure negative",
        "[state.x.left.radius_rod]\nlength = -3",
        "length = -3",
        "state.x.left.radius_rod.length",
        "negative",
    ),
    state("not a table", "[state]\nx = 31415", "x = 31415", "state.x", "wanted a table"),
    state(
        "rod shorter than crank",
        "[state.x.left.connecting_rod]\nlength = 200",
        "length = 200",
        "state.x.left.connecting_rod.length",
        "state 'x'",
        "left side",
    ),
    state(
        "three figures",
        "[state.x.both.return_crank]\nlength = 5",
        "[state.x.both.return_crank]",
        "return_crank",
        "two",
        "state 'x'",
    ),
    state(
        "suspension lacking",
        '[state.x.both.reversing]\nsuspension = "lifting link"',
        "[state.x.both.reversing]",
        "lifting_link",
        "give",
    ),
]
