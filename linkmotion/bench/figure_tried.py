"""A dimension slid to and fro to see what would follow; nothing of it is written."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite
from pathlib import Path

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.figures_of_parts import places
from linkmotion.commands.input import telling
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import UNITS
from linkmotion.files.lines_edit import with_figure
from linkmotion.files.source import BOM
from linkmotion.gears.sensitivity import declared, numbers
from linkmotion.sides import sides_meant
from linkmotion.studies.assess import assess
from linkmotion.studies.findings import findings
from linkmotion.studies.standing import Stand
from linkmotion.views.moving.payload import DIGITS

_ANGLES = 6.0  # degrees to either side
_CRANK, _OWN = 1 / 15, 0.03  # of the crank radius, of the dimension: the larger is a length's reach to either side


@dataclass(frozen=True)
class Tried:
    """What was tried: the figure as it would be written, and how the state would stand."""

    value: str
    stand: Stand


def tried(work: EngineAtWork, state: str, side: str, name: str, share: float) -> Tried:
    """A dimension altered by a share of its reach.

    Parameters
    ----------
    work, state, side, name
        The engine; a state of it; a side, or "both"; the dimension, as its row has it.
    share : float
        From -1 to 1; 0 is as it stands.

    Raises
    ------
    FileError
        It is no dimension of the gear, or the gear cannot be turned with it.
    """
    engine = work.must()
    figure = places(work, state, side).get(name)
    gear = engine.gear(state, sides_meant(side, engine.sides)[0])
    key = (figure.place[0], ".".join(figure.place[1:])) if figure is not None else ("", "")
    value = numbers(gear).get(key)
    if figure is None or value is None or not isfinite(share):
        raise FileError(name, "this is not slid", "type it")
    angle = declared(gear, key)["kind"] == "angle"
    reach = _ANGLES if angle else max(_CRANK * float(gear.crank.radius), _OWN * abs(float(value)))
    unit, digits = (1.0, 2) if angle else (float(UNITS[engine.unit]), DIGITS[engine.unit])
    wanted = round((float(value) + min(max(share, -1.0), 1.0) * reach) / unit, digits)
    if share == 0.0:
        return Tried("", work.stand(state))
    text = with_figure(work.kept.text, (*figure.layer, *figure.place), wanted)
    made = parse_engine(text.lstrip(BOM), work.path.name)
    with telling(made, Path(work.path.name)):
        found = assess(made, state)
        return Tried(f"{wanted:g}", Stand(found, findings(found)))
