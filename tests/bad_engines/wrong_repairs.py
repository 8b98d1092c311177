"""Repairs and pins written wrong."""

from __future__ import annotations

from tests.bad_engines.wrong import FOUND, Wrong

HEAD = '[repair.rod]\nwhat = "set it"\nhours = 3\n'
OTHER = '[repair.other]\nwhat = "do it"\nhours = 1\n'


def repair(lines: str, key: str, *words: str, at: str = "", head: str = HEAD, name: str = "rod") -> Wrong:
    """A line more in a repair."""
    text = f"{FOUND}{head}{lines}\n"
    return Wrong(f"{name} {lines.splitlines()[0]}", text, at or lines.splitlines()[0], f"repair.{name}.{key}", words)


def without(key: str, *words: str) -> Wrong:
    """A repair that lacks what it must have."""
    kept = "\n".join(line for line in HEAD.splitlines() if not line.startswith(key))
    return Wrong(f"no {key}", f"{FOUND}{kept}\n", "[repair.rod]", f"repair.rod.{key}", words)


def instead(key: str, value: str, *words: str) -> Wrong:
    """A figure of a repair written otherwise."""
    lines = [f"{key} = {value}" if line.startswith(key) else line for line in HEAD.splitlines()]
    return Wrong(f"{key} {value}", f"{FOUND}" + "\n".join(lines) + "\n", f"{key} = {value}", f"repair.rod.{key}", words)


def together(one: str, other: str, at: str, key: str, *words: str) -> Wrong:
    """Two repairs that do not go together."""
    text = f'{FOUND}[repair.first]\nwhat = "a"\nhours = 1\n{one}\n[repair.second]\nwhat = "b"\nhours = 1\n{other}\n'
    return Wrong(f"together {at}", text, at, key, words)


REPAIRS = [
    without("what", "missing", "say what is done"),
    without("hours", "missing", "give its hours"),
    instead("hours", '"three"', "a plain number"),
    instead("hours", "-3", "a plain number"),
    instead("hours", "true", "a plain number"),
    instead("hours", "nan", "a plain number"),
    instead("hours", "inf", "a plain number"),
    instead("hours", "1e9", "a plain number"),
    instead("what", "3", "wanted words"),
    instead("what", '" "', "says nothing"),
    repair('cost = "£40"', "cost", "a plain number"),
    repair("cost = -1", "cost", "a plain number"),
    repair('metal = "-1 mm"', "metal", "what is taken off"),
    repair('metal = "a hair"', "metal", "give a length such as"),
    repair('metal = "2 ft"', "metal", "what is taken off"),
    repair('needs = "other"', "needs", "wanted a list"),
    repair('needs = ["othr"]', "needs", "no other repair", "did you mean 'other'", head=OTHER + HEAD),
    repair('needs = ["rod"]', "needs", "no other repair"),
    repair("needs = [3]", "needs", "no other repair"),
    repair('excludes = ["othr"]', "excludes", "did you mean 'other'", head=OTHER + HEAD),
    repair('state = "as fuond"', "state", "did you mean 'as found'"),
    repair("state = 3", "state", "wanted words"),
    repair('state = "as found"\n[repair.rod.left]', "state", "a state that follows, and left too"),
    repair("metl = 3", "metl", "did you mean 'metal'"),
    repair('photo = "../x.png"', "photo", "leads out"),
    repair('on = "soon"', "on", "is no day"),
    repair('[repair.rod.left.radius_rd]\nlength = "962 mm"', "left.radius_rd", "did you mean 'radius_rod'"),
    repair('[repair.rod.left.radius_rod]\nlength = "962 gm"', "left.radius_rod.length", "gm", at='length = "962 gm"'),
    repair("[repair.rod.left.wear]\nbow = 3", "left.wear.bow", "wanted a table", at="bow = 3"),
    repair("[repair.rod.middle.wear]\nbow = 3", "middle", "there is no side", at="[repair.rod.middle.wear]"),
    together('needs = ["second"]', 'needs = ["first"]', 'needs = ["second"]', "repair.first.needs", "ring"),
    together('excludes = ["second"]', 'needs = ["first"]', 'needs = ["first"]', "repair.second.needs", "excludes"),
    together(
        '[repair.first.left.radius_rod]\nlength = "962 mm"', '[repair.second.both.radius_rod]\nlength = "963 mm"',
        "[repair.second]", "repair.second", "is set here and otherwise by 'first'", "excludes",
    ),
    together(
        '[repair.first.left.wear]\nbow = { "radius rod" = 0 }',
        '[repair.second.left.wear]\nbow = { "radius rod" = 1 }',
        "[repair.second]", "repair.second", "is set here and otherwise by 'first'",
    ),
    Wrong("repair 3", f"repair = 3\n{FOUND}", "repair = 3", "repair", ("wanted a table",)),
    Wrong("a repair that is none", f"{FOUND}[repair]\nrod = 3\n", "rod = 3", "repair.rod", ("wanted a table",)),
]  # fmt: skip


def pin(lines: str, key: str, *words: str, at: str = "", head: str = 'pin = "35 mm"\n') -> Wrong:
    """A line more of a pin."""
    text = f'{FOUND}[pins."die pin"]\n{head}{lines}\n'
    return Wrong(f"die pin {lines.splitlines()[0]}", text, at or lines.splitlines()[0], f'pins."die pin".{key}', words)


PINS = [
    pin('running = "RC5"', "pin", "missing", at='[pins."die pin"]', head=""),
    pin('pin = "0 mm"', "pin", "more than nothing", head=""),
    pin('pin = "-35 mm"', "pin", "more than nothing", head=""),
    pin('pin = "35 ft"', "pin", "is the unit right", head=""),
    pin("pin = true", "pin", "is not a figure", head=""),
    pin('turned_to = "36 mm"', "turned_to", "more than the pin has"),
    pin('running = "H7"', "running", "give a class"),
    pin('running = "RC1"', "running", "RC1"),
    pin('running = "H7/r6"', "running", "can leave no clearance"),
    pin('press = "H7/r6"', "press", "of what bush"),
    pin('bush_outside = "45 mm"\npress = "H7/f7"', "press", "no interference", at='press = "H7/f7"'),
    pin('bush_outside = "34 mm"', "bush_outside", "no more than its bore"),
    pin('bush_outside = "45 mm"\nhousing_outside = "44 mm"\nlength = "40 mm"', "bush_outside", "larger than"),
    pin('material = "cheese"', "material", "known here"),
    pin('housing = "milk steel"', "housing", "did you mean 'mild steel'"),
    pin("quantity = 0", "quantity", "how many"),
    pin("quantity = 2.5", "quantity", "how many"),
    pin("quantity = true", "quantity", "how many"),
    pin('bushoutside = "45 mm"', "bushoutside", "did you mean 'bush_outside'"),
    pin('on = "soon"', "on", "is no day"),
    Wrong("no such joint", f'{FOUND}[pins."dye pin"]\npin = 35\n', '[pins."dye pin"]', 'pins."dye pin"', ("die pin",)),
    Wrong("a pin that is none", f"{FOUND}[pins]\nfoot = 3\n", "foot = 3", "pins.foot", ("wanted a table",)),
    Wrong("pins 3", f"pins = 3\n{FOUND}", "pins = 3", "pins", ("wanted a table",)),
]
