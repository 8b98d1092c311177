"""Figures that nobody has, given as ``"by rule"`` in a drawing: proposed by the rules of the trade, with a doubt."""

from __future__ import annotations

from dataclasses import replace

from linkmotion.engine import Engine
from linkmotion.files.faults import sentence, spoken
from linkmotion.files.gathered import Gathered
from linkmotion.files.source import Source, dotted
from linkmotion.gears.layering import MissingFigure
from linkmotion.gears.layout_rules import BY_RULE, proposed, rules_of
from linkmotion.gears.link_upright import NoRule
from linkmotion.gears.sensitivity import Key, declared
from linkmotion.measuring.taken import DEGREES, MM, NORMAL, Part, Taken


def work_out_rules(engine: Engine, gathered: Gathered, source: Source) -> Engine:
    """The engine with every figure by rule in its place.

    Raises
    ------
    FileError
        No rule is known for it, it stands in a state, or what it is worked from is not given.
    """
    if not gathered.by_rule:
        return engine
    rules = rules_of(engine.gear_type)
    wanted: dict[Key, tuple[str, ...]] = {}
    for where in gathered.by_rule:
        key = (where[0], ".".join(where[1:]))
        if where[0] == "state":
            raise source.fault(where, f"a state holds what was found, not what was drawn {BY_RULE}",
                               "give it in the drawing's own table",
                               "a rule lays out a drawing: write what was found")  # fmt: skip
        if key not in rules:
            known = ", ".join(".".join(own) for own in rules) or "none of this gear"
            raise source.fault(where, f"no rule is known for {dotted(where)}", f"there are rules for: {known}",
                               f"no rule is known for it. There are rules for: {spoken(known)}")  # fmt: skip
        wanted[key] = where
    try:
        gear = engine.gear()
        found = proposed(gear, tuple(wanted), engine.targets.lead)
    except MissingFigure:  # told when the gear is seen to be complete
        return engine
    except NoRule as error:
        plain = f"{spoken(error.problem)}. {sentence(error.remedy)}"
        raise source.fault(next(iter(wanted.values())), error.problem, error.remedy, plain) from None
    taken = dict(gathered.taken)
    for key, own in found.items():
        where, unit = wanted[key], MM if declared(gear, key)["kind"] == "length" else DEGREES
        told = f"{BY_RULE}: {own.rule.words} ({own.rule.source})"
        parts = {(*rule, BY_RULE): Part(part / NORMAL) for rule, part in own.parts.items()}
        taken[where] = Taken(own.value, parts, told, unit)
        engine.drawing[where[0]][where[1]] = own.value  # type: ignore[index]
    gathered.taken.update(taken)
    return replace(engine, taken=taken)
