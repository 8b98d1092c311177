"""A starter file: every key of a gear's dimension book with its meaning, to be filled in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import MISSING, Field, fields
from typing import Any

from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.gears import GEARS
from linkmotion.gears.layering import table_types
from linkmotion.gears.letters import Key, letters
from linkmotion.gears.steam import Steam, Wheels
from linkmotion.sides import side_words

_HEAD = """\
# Engine file for linkmotion: {gear} gear.
# Axes: side elevation, origin at the driving-axle centre at running height, x forward, y up.
# Bare numbers are {unit_name}; also "33.3 mm", "1 5/16 in", "3' 6 1/2\\"", "0.005 in", "5 thou". Angles are degrees.
# Put your own figure in place of each "?", and take the # from the optional lines that you need. Each dimension has a
# letter, such as B1: sheets by "linkmotion measure {quoted}" show where it lies and how it is measured.
# A length may stand as it was taken, and "linkmotion check" works it out: a sum "680 mm - 400 mm / 2"; a doubt, right
# 19 times in 20, "769.2 +- 0.3 mm"; takings [ "769.2 mm", "769.5 mm" ]; centres over or between pins or bores,
# {{ over = "852 mm", pins = [ "40 mm", "38 mm" ] }}; a height {{ from_rail = "1210 mm" }}, with [wheels] diameter;
# an arc {{ chord = "310 mm", rise = "10.05 mm" }} or {{ points = [ [0, 0], [100, 4], [200, 1] ] }}; add = "50 mm / 2"
# within any of these braces adds a length, as from the face that was read to the slot's centre line.

[engine]
name = "our engine"
gear = "{gear}"
unit = "{unit}"
"""

_TAIL = """
# What is to be held (the figures shown are common practice, no source; choose your own):
[targets]
# lead_difference = "{lead}"        # between the ends of a cylinder
# cutoff_difference = 2             # percent of stroke, between the ends
{between}# mid_cutoff_difference = 5         # either of them, where a notch drives neither way
# lost_motion = "{lost}"            # at the spindle, wheel held
# lead = "3 mm"                     # the lead wanted, if you want it looked at
# lead_within = "0.5 mm"

# What new parts are made to, either way (for linkmotion hold):
# [tolerances]
# general = "{fine}"              # every length not named
# general_clearance = "{fine}"    # greatest clearance at a pin as made
# {table}.{key} = "{fine}"

# What can be altered on the engine, by what least step, how far, at what cost in hours (for linkmotion adjust):
# [adjustments]
# valve.central_at = {{ step = "{lead}", most = "{most}", cost = 0.5 }}
# {table}.{key} = {{ step = "{lead}", most = "{most}", cost = 3 }}
{cleanup}
# A state holds only what differs from the drawing{layers}:
# [state."as found"]
# note = "measured on the bench"
# [state."as found".{side}.{table}]
# {key} = "?"
# What the gauge found{there} (for linkmotion wear): diametral clearances at the pins, rods bowed, ...
# [state."as found".{side}.wear]
# clearance = {{ "{pin}" = "{fine}" }}  # or by diameters: {{ bush = "{worn}", pin = "{size}" }}
# bow = {{ "connecting rod" = "{most}" }}
"""

_BETWEEN = """\
# side_lead_difference = "{lead}"   # between the sides of the engine
# side_cutoff_difference = 2
"""

_UNLIKE = """
# What is drawn otherwise of one side alone{why}:
# [drawing.right.{table}]
# {key} = "?"
"""

_OPPOSITE_NOTCHES = """
# [drawing.right.reversing.notches]
# "full forward" = "?"
# mid = { die = 0 }
# "full backward" = "?"
"""

_CLEANUP = """
# What a clean-up of the slot needs beside the drawing and its readings (for linkmotion cleanup):
# [cleanup]
# slot_width = "{width}"            # between the faces, as drawn
# die_length = "{block}"            # die block, along the slot: it lies across hollows (a point, if not given)
# gauge = "{gauge}"              # standard uncertainty of one depth reading
# gauge_zero = "{gauge}"         # the same of the gauge's zero, common to a face (as gauge, if not given)
# gauge_tilt = "{gauge}"         # the same of a tilt of what it is read from, at the slot's ends (as gauge)
"""

_WORN_SLOT = """\
# die_clearance = "{fine}"        # die block in the slot, square to it
# slot = [{{ at = 0, front = "{fine}", back = "{fine}" }}]  # depths below the drawn faces, from mid slot, + up
"""

_SHOP = """
# Who took the figures of a table, when, with what, a remark, and the file name of a photograph beside this file (for
# linkmotion history): in any table, part or state, such as [state."as found"]
# by = "A. N. Other"
# on = 2026-11-30
# with = "vernier and trammel"
# photo = "photos/gear.jpg"

# What the shop could do, and its hours (for linkmotion repairs); what it sets is laid out like a state:
# [repair."bush the {whose}"]
# what = "true the pins, press in bushes and bore them"
# hours = 18
# [repair."bush the {whose}".{side}.wear]
# clearance = {{ "{pin}" = "{fine}" }}

# Pins as drawn, how they run, and their bushes (for linkmotion pins, and on job cards):
# [pins."{pin}"]
# pin = "{size}"
# bush_outside = "{bush}"
"""

_METRIC = {"lead": "0.4 mm", "lost": "1.5 mm", "fine": "0.1 mm", "most": "3 mm", "width": "50 mm", "gauge": "0.01 mm",
           "block": "75 mm", "size": "40 mm", "worn": "40.3 mm", "bush": "50 mm"}  # fmt: skip
_INCHES = {
    "lead": "1/64 in",
    "lost": "1/16 in",
    "fine": "0.004 in",
    "most": "1/8 in",
    "width": "2 in",
    "gauge": "0.0005 in",
    "block": "3 in",
    "size": "1 1/2 in",
    "worn": "1.512 in",
    "bush": "1 7/8 in",
}

_BESIDE = (("wheels", Wheels), ("steam", Steam))  # need not be given


def starter(gear: str, unit: str) -> str:
    """Text of a starter file for a gear, with a "?" for each figure to be measured.

    Parameters
    ----------
    gear, unit : str
        One of ``GEARS``; the unit of bare numbers.
    """
    made = GEARS[gear]
    tables = list(table_types(made).items())
    first_notch = "full forward" if "reversing" in table_types(made) else "fixed"
    body = "".join(_table(name, kind, first_notch, letters(made)) for name, kind in tables)
    lengths = (
        (name, key) for name, kind in reversed(tables) for key in fields(kind) if key.metadata["kind"] == "length"
    )
    table, key = next((name, key.name) for name, key in lengths if key.default is MISSING)
    figures = (_METRIC if unit == "mm" else _INCHES) | {"pin": "crank pin"} | _of_sides(made.sides)
    figures["between"] = _BETWEEN.format(**figures) if len(made.sides) > 1 else ""
    cleanup, worn = (_CLEANUP.format(**figures), _WORN_SLOT.format(**figures)) if _has_slot(tables) else ("", "")
    return (
        _HEAD.format(gear=gear, quoted=f"'{gear}'" if " " in gear else gear, unit=unit, unit_name=UNIT_NAMES[unit])
        + body
        + (_drawn_unlike(tables, table, key) if len(made.sides) > 1 else "")
        + "".join(_table(name, kind, "", {}).replace(f"\n[{name}]", f"\n# [{name}]") for name, kind in _BESIDE)
        + _TAIL.format(table=table, key=key, cleanup=cleanup, **figures)
        + worn
        + _SHOP.format(**figures)
    )


def _of_sides(sides: tuple[str, ...]) -> dict[str, str]:
    """Words for what may be written of a side: of each, or of the one that there is."""
    several = len(sides) > 1
    return {
        "side": sides[0],
        "whose": side_words(sides[0]),
        "layers": "; both sides alike, or one side" * several,
        "there": " on that side" * several,
    }


def _drawn_unlike(tables: list[tuple[str, type[Any]]], table: str, key: str) -> str:
    """How to write what is drawn of one side alone: what has a hand, where the gear has such; else any figure."""
    hands = [(name, own.name) for name, kind in tables for own in fields(kind) if own.metadata.get("hand")]
    if not hands:
        return _UNLIKE.format(why="", table=table, key=key)
    why = ": what is above of the left, of the right as much the other way"
    return _UNLIKE.format(why=why, table=hands[0][0], key=hands[0][1]) + _OPPOSITE_NOTCHES


def _has_slot(tables: list[tuple[str, type[Any]]]) -> bool:
    """Whether the gear has a slot of its own; one of either side is cleaned up in an engine file of its own."""
    keys = [key.metadata for _name, table in tables for key in fields(table)]
    return any(key.get("slot") and not key.get("side") for key in keys)


def _table(name: str, kind: type[Any], first_notch: str, own: Mapping[Key, str]) -> str:
    lines = [f"\n# {(kind.__doc__ or '').strip()}", f"[{name}]"]
    keys = fields(kind)
    lines += [line for key in keys if key.metadata["kind"] != "notches" for line in _key(name, key, first_notch, own)]
    lines += [line for key in keys if key.metadata["kind"] == "notches" for line in _notches(name, key, own)]
    return "\n".join(lines) + "\n"


def _notches(table: str, key: Field[Any], own: Mapping[Key, str]) -> Iterator[str]:
    die_places, letter = key.metadata["die_places"], own[table, key.name]
    yield f"\n[{table}.notches]"
    if die_places:
        yield f"# {letter}: named positions of the reverser: arm angle in degrees (0 = pointing forward, + up),"
        yield "# or { die = height } with the engine on front dead centre"
    else:
        yield f"# {letter}: {key.metadata['meaning']}"
    yield '"full forward" = "?"'
    yield "mid = { die = 0 }" if die_places else "mid = 0"
    yield '"full backward" = "?"'


def _key(table: str, key: Field[Any], first_notch: str, own: Mapping[Key, str]) -> Iterator[str]:
    data = key.metadata
    meaning = data["meaning"]
    match data["kind"]:
        case "words":
            value = f'"{data["choices"][0]}"'
            meaning += f": {', '.join(data['choices'])}"
        case "setting":
            value = f'{{ notch = "{first_notch}", direction = "forward" }}'
        case "table":
            inner = ", ".join(f'{k.name} = "?"' for k in fields(data["table"]) if k.default is MISSING)
            value = f"{{ {inner} }}"
            told = (f"{k.name} {own[table, f'{key.name}.{k.name}']}" for k in fields(data["table"]))
            meaning += f" ({', '.join(told)})"
        case _:
            value = f"{key.default:g}" if isinstance(key.default, float) else '"?"'
    mark = "" if key.default is MISSING else "# "
    letter = f"{own[table, key.name]}: " if (table, key.name) in own else ""
    yield f"{mark}{key.name} = {value}".ljust(34) + f"  # {letter}{meaning}"
