"""Figures that nobody has, given as ``"by rule"`` in a drawing: proposed by the rules of the trade, with a doubt."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from linkmotion.engine import DRAWING, Engine
from linkmotion.engine_layers import parted
from linkmotion.files.faults import sentence, spoken
from linkmotion.files.gathered import Gathered
from linkmotion.files.source import Source, Where, dotted
from linkmotion.gears.layering import MissingFigure
from linkmotion.gears.layout_rules import BY_RULE, Proposed, proposed, rules_of
from linkmotion.gears.link_upright import NoRule
from linkmotion.gears.sensitivity import Key, declared
from linkmotion.measuring.taken import DEGREES, MM, NORMAL, Part, Taken

_ALIKE = 1e-9  # mm or degrees


def work_out_rules(engine: Engine, gathered: Gathered, source: Source) -> Engine:
    """The engine with every figure by rule in its place.

    Raises
    ------
    FileError
        No rule is known for it, it stands in a state, what it is worked from is not given, or a figure for both sides
        comes out differently.
    """
    if not gathered.by_rule:
        return engine
    keys = {where: _key(engine, where, source) for where in gathered.by_rule}
    found = [
        (side, where, own) for side in engine.sides_apart for where, own in _of_side(engine, side, keys, source)
    ]  # all of them, before any stands in the tables
    worked: dict[Where, tuple[str, float]] = {}
    for side, where, own in found:
        key, (first, value) = keys[where], worked.setdefault(where, (side, own.value))
        if abs(own.value - value) > _ALIKE:
            problem = f"the rule gives {value:.6g} on the {first} and {own.value:.6g} on the {side}"
            raise source.fault(where, problem, "give it for each side")
        told = f"{BY_RULE}: {own.rule.words} ({own.rule.source})"
        parts = {(*rule, BY_RULE): Part(part / NORMAL) for rule, part in own.parts.items()}
        unit = MM if declared(engine.gear(DRAWING, side), key)["kind"] == "length" else DEGREES
        gathered.taken[where] = Taken(own.value, parts, told, unit)
        _tables(engine, where)[key[0]][key[1]] = own.value
    return replace(engine, taken=dict(gathered.taken))


def _key(engine: Engine, where: Where, source: Source) -> Key:
    """Table and key of a figure by rule, for which there is one."""
    rules, own = rules_of(engine.gear_type), parted(where)[1]
    key = (own[0], ".".join(own[1:]))
    if where[0] == "state":
        raise source.fault(where, f"a state holds what was found, not what was drawn {BY_RULE}",
                           "give it in the drawing's own table",
                           "a rule lays out a drawing: write what was found")  # fmt: skip
    if key not in rules:
        known = ", ".join(".".join(own) for own in rules) or "none of this gear"
        raise source.fault(where, f"no rule is known for {dotted(where)}", f"there are rules for: {known}",
                           f"no rule is known for it. There are rules for: {spoken(known)}")  # fmt: skip
    return key


def _of_side(engine: Engine, side: str, keys: Mapping[Where, Key], source: Source) -> Iterator[tuple[Where, Proposed]]:
    """What the rules propose for a side, by the places where it holds; nothing where its gear is not complete."""
    layers = {key: engine.layer_of((key[0], *key[1].split(".")), DRAWING, side) for key in keys.values()}
    wanted = {key: where for where, key in keys.items() if layers[key] == parted(where)[0]}
    try:
        gear = engine.gear(DRAWING, side)
        yield from ((wanted[key], own) for key, own in proposed(gear, tuple(wanted), engine.targets.lead).items())
    except MissingFigure:  # told when the gear is seen to be complete
        return
    except NoRule as error:
        plain = f"{spoken(error.problem)}. {sentence(error.remedy)}"
        raise source.fault(next(iter(wanted.values())), error.problem, error.remedy, plain) from None


def _tables(engine: Engine, where: Where) -> Any:
    layer, _own = parted(where)
    return engine.sides_drawn[layer[1]] if layer else engine.drawing
