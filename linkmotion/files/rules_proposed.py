"""What the rules of the trade propose for a drawing that is still being filled in, however little of it is there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any

from linkmotion.files.faults import FileError
from linkmotion.files.gathered import Gathered
from linkmotion.files.schema import table_model, targets_model
from linkmotion.files.source import BLANK, Source
from linkmotion.files.usual_keys import still_asked
from linkmotion.files.validated import validated
from linkmotion.gears import GEARS, Gear
from linkmotion.gears.layering import made, table_types
from linkmotion.gears.layout_rules import BY_RULE, Proposed, proposed, rules_of
from linkmotion.gears.link_upright import NoRule
from linkmotion.gears.sensitivity import Key, with_numbers


@dataclass(frozen=True)
class Proposal:
    """What a rule says of a figure that is not given.

    Attributes
    ----------
    words, source : str
        The rule, and who says so.
    value, doubt : float or None
        mm or degrees, the doubt 19 in 20; None while what it is worked from is not given.
    wanting : str
        Why there is no value, where there is none.
    """

    words: str
    source: str
    value: float | None = None
    doubt: float | None = None
    wanting: str = ""


def proposals(document: Mapping[str, Any]) -> dict[Key, Proposal]:
    """What the rules propose for the figures that a drawing does not give yet, however little of it is there.

    Parameters
    ----------
    document : mapping
        The tables of a file as written; "?" is no figure, and "by rule" none either.

    Raises
    ------
    FileError
        A figure that is given is none.
    """
    kind, unit = GEARS[document["engine"]["gear"]], str(document["engine"]["unit"])
    rules = rules_of(kind)
    left = [key for key in rules if not _given(document.get(key[0], {}).get(key[1]))]
    gear, lead = _as_far_as_given(document, kind, unit, left)
    found: dict[Key, Proposed] = {}
    why: dict[Key, str] = {}
    while left:
        laid = with_numbers(gear, {key: own.value for key, own in found.items()})
        more = dict(_each(laid, left, lead, why))
        if not more:
            break
        found |= more
        left = [key for key in left if key not in found]
    return {
        key: Proposal(_words(found[key]), rule.source, found[key].value, found[key].doubt) if key in found
        else Proposal(rule.words, rule.source, wanting=why[key])
        for key, rule in rules.items() if key in found or key in left
    }  # fmt: skip


def _words(own: Proposed) -> str:
    """The rule; and that a figure rests on another's rule too, where both were sought together."""
    others = ", ".join(f"{table} {key}".replace("_", " ") for table, key in list(own.parts)[1:])
    return own.rule.words + (f"; unsure while {others} is not given: measure one of the two" if others else "")


def _given(value: Any) -> bool:
    return value not in (None, BLANK, BY_RULE)


def _each(gear: Gear, left: list[Key], lead: float | None, why: dict[Key, str]) -> Iterator[tuple[Key, Proposed]]:
    """Those that can be proposed by themselves; else those that are sought together."""
    alone = []
    for key in left:
        try:
            alone.append((key, proposed(gear, (key,), lead)[key]))
        except NoRule as error:
            lacks_lead = error.remedy.endswith("lead")
            why[key] = (
                "wanted first: the lead it was laid out for"
                if lacks_lead
                else "wanted first: figures that it is worked from"
            )
    if alone:
        yield from alone
        return
    together = tuple(key for key in left if rules_of(type(gear))[key].law is None)
    if len(together) > 1:
        try:
            yield from proposed(gear, together, lead).items()
        except NoRule:
            return


def _as_far_as_given(
    document: Mapping[str, Any], kind: type[Gear], unit: str, left: list[Key]
) -> tuple[Gear, float | None]:
    """The gear with NaN for every figure that is not given, and the lead it was laid out for."""
    source, gathered, parts = Source("", "drawing"), Gathered(), {}
    for name, table in table_types(kind).items():
        own: dict[str, Any] = {
            key: value if value != BLANK else BY_RULE for key, value in document.get(name, {}).items()
        }
        given = [key for key in own if own[key] != BY_RULE]
        lengths = [key.name for key in fields(table) if key.metadata["kind"] in ("length", "angle")]
        asked = [key for key in still_asked(kind.name, name, given) if key in lengths]
        own |= dict.fromkeys([*asked, *(key for table, key in left if table == name)], BY_RULE)
        notches = own.get("notches")
        if isinstance(notches, Mapping):  # the rules do not ask how far the reverser goes
            own["notches"] = {notch: 0 if value == BLANK else value for notch, value in notches.items()}
        model = table_model(table, unit, True)
        parts[name] = made(table, validated(source, model, own, (name,), gathered))
    try:
        lead = validated(source, targets_model(unit), document.get("targets", {}), ("targets",), Gathered()).get("lead")
    except FileError:
        lead = None
    return kind(**parts), None if lead is None else float(lead)
