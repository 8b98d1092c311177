"""How a state stands, in words: the verdict, where its valves are, and what setting them afresh would mend."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from linkmotion.engine import AS_IT_STANDS
from linkmotion.files.lengths import format_length
from linkmotion.files.results import sentence
from linkmotion.sides import side_words
from linkmotion.studies.findings import Finding
from linkmotion.studies.standing import MOVED, Stand, StateStands
from linkmotion.views.finding_words import finding_lines, where, worst
from linkmotion.views.printout import Answer, Point, Said
from linkmotion.views.tables import Shown


def verdict(state: StateStands, shown: Shown) -> Answer:
    """How many targets are out as it stands, the worst of them, and how many when set afresh and in service."""
    told = [f"{state.state}, {AS_IT_STANDS}: {told_of(state.stands, shown)}"]
    told += [f"{stand.name}: {_count(stand)}" for stand in (state.afresh, state.in_service) if stand is not None]
    return Answer(f"{'; '.join(told)}.")


def _count(stand: Stand) -> str:
    return f"{len(stand.out)} out" if stand.out else "none out"


def told_of(stand: Stand, shown: Shown) -> str:
    """How many targets are out and the worst of them, or what is within them, in words."""
    if not stand.out:
        remarks = len(stand.findings)
        told = f" ({remarks} remark{'s' * (remarks > 1)} below)" if remarks else ""
        return f"{held(stand)} within the targets{told}"
    first = worst(stand.out)
    words = f"{where(first)}: {sentence(first, shown.unit, shown.fraction_of)}"
    return f"{len(stand.out)} out of target{', worst' if len(stand.out) > 1 else ''}: {words}"


def held(stand: Stand) -> str:
    """What was looked at: leads, cutoffs and lost motion, and of how much of the engine."""
    found = stand.assessment
    sides = "" if len(found.sides) == len(found.engine.sides) else f" of the {side_words(found.sides[0].side)}"
    every = len(found.sides[0].notches) == len(found.engine.side_state(found.state).notches)
    notches = "" if every else f" in {', '.join(found.sides[0].notches)}"
    return f"leads, cutoffs and lost motion{sides}{notches}"


def placed(state: StateStands, shown: Shown) -> Said:
    """Where the valves are on their spindles, and how that is known."""
    engine = state.stands.assessment.engine
    told = []
    for side, place in state.places.items():
        setup = engine.side_state(state.state, side)
        rule, own = setup.placed.gear.valve.set_by, setup.placed.state
        how = f"{rule}, {own}" if rule is not None and setup.placed.gear.valve.central_at is None else "as given"
        told.append((f"{_length(place, shown)} along its line ({how})", side))
    alike = len({words for words, _side in told}) == 1
    words = told[0][0] if alike else ", ".join(f"{side} {words}" for words, side in told)
    return Said(f"The valve is central with the spindle pin at {words}.")


def mended(state: StateStands, shown: Shown) -> Callable[[Sequence[Finding]], str]:
    """What setting alone makes of findings that are told in one line, in words."""

    def told(findings: Sequence[Finding]) -> str:
        first, count = findings[0], len(findings)
        if state.afresh is None or not first.out or first.what in ("die", "sense", "lost motion"):
            return ""
        left = [own for own in map(state.left_by_setting, findings) if own is not None]
        if not left:
            return "setting alone mends it"
        most = f"set afresh {'up to ' * (count > 1)}{_size(max(left, key=lambda own: own.size), shown)}"
        return most if len(left) == count else f"setting alone mends {count - len(left)} of {count}, {most}"

    return told


def setting(state: StateStands, shown: Shown) -> Iterator[Said | Point]:
    """What setting the valves afresh comes to, and what would still be out."""
    if state.afresh is None:
        return
    moved = ", ".join(_moved(side, by, shown) for side, by in state.moved.items() if abs(by) > MOVED)
    before, after = len(state.stands.out), len(state.afresh.out)
    worth = "" if after < before else ": that alone is no help"
    yield Said(f"Set afresh by the rule ({moved}): {_count(state.afresh)} instead of {before}{worth}.")
    if worth:
        return
    known = {finding.place for finding in state.stands.out}
    new = [finding for finding in state.afresh.out if finding.place not in known]
    if new:
        yield Said(f"It would put out what is not out now, {len(new)} in number:")
        yield from finding_lines(new, shown)


def in_service(state: StateStands, shown: Shown) -> Iterator[Said | Point]:
    """What the heat that the state gives makes of it."""
    if state.in_service is None:
        return
    heat = state.in_service.assessment.sides[0].condition.heat
    parts = ", ".join(f"{part} {kelvin:g} K" for part, kelvin in heat.items() if kelvin)
    yield Said(f"In service (warmer by: {parts}), its valves as they stand: {told_of(state.in_service, shown)}.")
    yield from finding_lines(state.in_service.findings, shown)


def _moved(side: str, by: float, shown: Shown) -> str:
    return f"the {side} valve {_length(abs(by), shown)} {'ahead' if by > 0 else 'back'} on its spindle"


def _length(mm: float, shown: Shown) -> str:
    return format_length(mm, shown.unit, fraction_of=shown.fraction_of)


def _size(finding: Finding, shown: Shown) -> str:
    return f"{finding.size:.1f} %" if finding.unit == "percent" else _length(finding.size, shown)
