"""``linkmotion compare``: states side by side."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from linkmotion.commands.input import engine_with, table_named, telling
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.files.engine_folder import engine_file
from linkmotion.files.faults import FileError
from linkmotion.files.outputs import Outputs
from linkmotion.sides import SIDE_NAMES
from linkmotion.studies.compare import Compared, borrowed, compare, swapped
from linkmotion.views.printout import Aside, Block, print_json, show

NAMES = (
    *(f"{name}.svg" for name in ("leads", "cutoffs", "cutoffs-apart")),
    *(f"openings-{side}.svg" for side in SIDE_NAMES),
)  # of the plots


@dataclass(frozen=True)
class CompareRequest:
    """What the user asked for."""

    engine: Path
    states: tuple[str, ...]
    notches: tuple[str, ...] = ()
    swap: tuple[str, ...] = ()  # parts that change sides, in the last state; "one+another" together
    borrow: tuple[str, ...] = ()  # "PART:SIDE:OTHER.toml", in the last state
    json: bool = False
    more: bool = False  # release, compression, opening, travel and lost motion too
    pictures: Path | None = None  # folder for plots
    replace: bool = False


def run_compare(request: CompareRequest) -> int:
    """Compare states; 1 when the last is out of target, else 0."""
    request = replace(request, borrow=tuple(_with_file(wish) for wish in request.borrow))
    others = (Path(wish.rpartition(":")[2]) for wish in request.borrow)
    folder = Outputs((request.engine, *others), request.replace).folder(request.pictures, "compared", *NAMES)
    engine = engine_with(request.engine, request.states, request.notches)
    engine, made = _with_moved_parts(engine, request)
    states = tuple(dict.fromkeys((*(request.states or (DRAWING,)), *made)))
    if len(states) < 2:
        raise FileError("linkmotion compare", "one state alone", "give --state twice, or --swap, or --borrow")
    with telling(engine, request.engine):
        result = compare(engine, states, request.notches or None)
    if request.json:
        print_json("compare", engine.unit, {"engine": engine.name, "states": states, "rows": result.rows,
                                            "out_of_target": result.out})  # fmt: skip
    else:
        show(blocks(engine, result, request.more))
    if folder is not None:
        from linkmotion.views.compare_plots import compared_pictures

        folder.write(compared_pictures(result, engine))
    return int(result.out[-1] > 0)


def _with_file(wish: str) -> str:
    """A wish to borrow, with the engine file where it names a folder."""
    part, mark, place = wish.rpartition(":")
    return f"{part}{mark}{engine_file(Path(place))}" if mark and place else wish


def _with_moved_parts(engine: Engine, request: CompareRequest) -> tuple[Engine, list[str]]:
    state, made = (request.states or (DRAWING,))[-1], []
    if request.swap and len(engine.sides) == 1:
        problem = "parts change between sides, and the engine file is of one cylinder alone"
        raise FileError("--swap", problem, "take a part from another engine by --borrow, or compare states")
    for wish in request.swap:
        name = state
        for part in wish.split("+"):
            engine, name = swapped(engine, table_named(engine, request.engine, part.strip()), name)
        made.append(name)
    for wish in request.borrow:
        part, _, rest = wish.partition(":")
        side, _, file = rest.partition(":")
        if side not in engine.sides or not file:
            remedy = f"write {', or '.join(f'PART:{own}:OTHER.toml' for own in engine.sides)}"
            raise FileError("--borrow", f"read {wish!r}", remedy)
        other = read_engine(file)
        table = table_named(engine, request.engine, part)
        try:
            engine, name = borrowed(engine, other, table, side, state)
        except KeyError:
            raise FileError(
                file, f"no {part!r} of the {engine.gear_type.name} gear there", "is it the right file?"
            ) from None
        made.append(name)
    return engine, made


def blocks(engine: Engine, result: Compared, more: bool) -> Iterator[Block]:
    """What is told of states side by side.

    Parameters
    ----------
    engine, result, more : Engine, Compared, bool
        As read; what was compared; whether release, compression, opening, travel and lost motion are told too.
    """
    from linkmotion.views.compare_view import (
        ENDS_APART,
        SIDES_APART,
        compared_more_tables,
        compared_table,
        letters,
        verdict,
    )
    from linkmotion.views.tables import CAUTION, Shown

    shown = Shown(engine.unit)
    yield verdict(result)
    yield from letters(result)
    for side in engine.sides:
        yield compared_table(result, side, engine.targets, shown)
        if more:
            yield from compared_more_tables(result, side, engine.targets, shown)
    sides_too = f"; {SIDES_APART}: the sides do" * (len(engine.sides) > 1)
    yield Aside(f"{ENDS_APART}: the ends differ by more than the target{sides_too}.")
    yield Aside(CAUTION)
