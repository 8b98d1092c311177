"""A length or an angle written into an engine file in some form, and what the file says of it."""

from __future__ import annotations

from linkmotion.engine import Engine
from linkmotion.files.engine_file import parse_engine
from linkmotion.measuring import Taken
from tests.bad_engines.changed import METRE

STATE = "as measured"
HEIGHT = ("state", STATE, "both", "valve", "guide_height")


def measured(value: str, head: str = "") -> Engine:
    """The metre-gauge engine with a height (signed) written so in a state, and perhaps more tables before it."""
    return parse_engine(f'{METRE}\n{head}\n[state."{STATE}".both.valve]\nguide_height = {value}\n')


def taken(value: str, head: str = "") -> Taken:
    """A length as taken; the plain figure that the gear has must be its value to the last bit."""
    engine = measured(value, head)
    found = engine.taken[HEIGHT]
    assert engine.gear(STATE).valve.guide_height == found.value
    return found


def worn(value: str, table: str = "clearance", name: str = "foot") -> Taken:
    """A clearance, or a bow, as taken."""
    engine = parse_engine(f'{METRE}\n[state.worn.left.wear]\n{table} = {{ "{name}" = {value} }}\n')
    found = engine.taken["state", "worn", "left", "wear", table, name]
    assert getattr(engine.condition("worn", "left"), table)[name] == found.value
    return found
