"""An engine's figures scaled off a drawing or a photograph, each with its doubt, and the engine made of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from linkmotion.elevation.body import Places
from linkmotion.elevation.side_elevation import Elevation
from linkmotion.engine import DRAWING
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.engine import Engine
from linkmotion.face.names import known
from linkmotion.face.tables import Table, one_line, table
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import UNITS
from linkmotion.files.picked_state import picked_state_text
from linkmotion.files.picks_file import PicksFile, read_picks
from linkmotion.gears.sensitivity import declared, numbers
from linkmotion.linkage import LinkageError
from linkmotion.measuring.taken import MM
from linkmotion.sides import sides_meant
from linkmotion.studies.assess import NotchError, SideEvents, assess_side
from linkmotion.studies.picked_parts import PickedParts
from linkmotion.studies.scaled_off import PictureError, ScaledOff, scaled_off
from linkmotion.studies.side_drawing import elevation_of

NAME = "from the picture"
_COLUMNS = {"letter": "", "dimension": "", "unit": "", "scaled": "", "doubt": "", "drawing": "", "differs": "",
            "points": ""}  # fmt: skip


@dataclass(frozen=True, eq=False, repr=False)
class Traced:
    """What an image says of an engine.

    Attributes
    ----------
    engine, state : Engine, str
        Near relation, and the state of it from which the search started.
    picks, found : PicksFile, ScaledOff
        What was put on the image; what follows.
    text : str
        The engine's file with the figures as one more state.
    turned, elevation : SideEvents, Elevation or None
        The gear with these figures, and its drawing; None where it cannot be turned.
    gear : (Elevation, places) or None
        How it stands in the image, mm.
    refused : str
        Why it cannot be turned, or does not close as it stands in the image.
    """

    engine: EngineAsRead
    state: str
    picks: PicksFile
    found: ScaledOff
    text: str
    turned: SideEvents | None = None
    elevation: Elevation | None = None
    gear: tuple[Elevation, Places] | None = None
    refused: str = ""

    @property
    def missed(self) -> list[tuple[str, float]]:
        """How far points stand from where the gear with these figures has them, mm."""
        return [] if self.gear is None else self.found.missed(self.gear[1])

    def standing(self, by: float = 0.0) -> Places | None:
        """Where every pin stands with the wheel turned on from the image; None where that cannot be told.

        Parameters
        ----------
        by : float
            Degrees, as when running forward.

        Raises
        ------
        LinkageError
            The parts do not meet there.
        """
        if self.turned is None or self.elevation is None or "wheel" not in self.found.found.poses:
            return None
        middle = self.elevation.paths.settings[len(self.turned.notches) // 2]
        return self.elevation.completed(self.found.stands(self.turned.gear, middle, by))

    def table(self) -> Table:
        """Every figure that the image tells: its doubt (19 in 20), the drawing's, and the points that tell it."""
        scale = float(UNITS[self.engine.unit])
        rows = []
        for own in self.found.figures:
            size = scale if own.unit == MM else 1.0
            rows.append({
                "letter": own.letter, "dimension": ".".join(own.key),
                "unit": self.engine.unit if own.unit == MM else own.unit, "scaled": own.value / size,
                "doubt": own.doubt / size, "drawing": own.drawn / size, "differs": own.differs,
                "points": ", ".join(self.found.parts.told_by(own.key)),
            })  # fmt: skip
        return table(f"{self.engine.name}: scaled off {self.picks.picture.name}", dict.fromkeys(_COLUMNS, ""), rows)

    def rows(self) -> list[dict[str, Any]]:
        """The same, a dict each."""
        return self.table().rows()

    def plot(self, ax: Any = None) -> Any:
        """Draw the image, the gear over it as it stands there, and the points."""
        from linkmotion.views.traced_plot import plot_traced, read_image

        points = {name: self.picks.picks.put(name)[0] for name in self.picks.picks.points}
        return plot_traced(read_image(self.picks.picture), self.found.found.view, points, self.gear, ax)

    def with_state(self) -> Engine:
        """The engine with the figures as one more state."""
        return Engine(parse_engine(self.text, self.engine.name))

    def __repr__(self) -> str:
        """One line: engine, image, how many figures."""
        return one_line("Traced", self.engine.name, [self.picks.picture.name, f"{len(self.found.figures)} figures"])

    def _repr_html_(self) -> str:
        return self.table()._repr_html_()


def trace(engine: Engine, picks: str | Path, state: str = DRAWING, name: str = NAME) -> Traced:
    """Scale an engine's figures off the image on which points were put.

    Parameters
    ----------
    engine, state : Engine, str
        Of the same gear, its figures about as large: from it the search starts.
    picks : path
        Points file (TOML): see :mod:`linkmotion.files.picks_file`.
    name : str
        Of the new state.

    Raises
    ------
    FileError
        The points file is wrong, or what was put does not tell enough.
    UnknownName
        There is no such state.

    Examples
    --------
    >>> import linkmotion as lm
    >>> sister = lm.read_engine("examples/dock_sister.toml")
    >>> found = lm.trace(sister, "examples/pictures/dock_arrangement-picks.toml")
    >>> own = found.rows()[0]
    >>> own["letter"], own["dimension"], f"{own['scaled']:.2f} ± {own['doubt']:.2f} {own['unit']}", own["points"]
    ('A1', 'cylinder.crank_radius', '10.16 ± 0.26 in', 'axle, crank pin, return-crank pin')
    """
    known("state", state, list(engine.as_read.state_names))
    return traced(engine.as_read, Path(picks), state, name)


def traced(engine: EngineAsRead, picks: Path, state: str = DRAWING, name: str = NAME, written: str = "") -> Traced:
    """The same of an engine as read.

    Parameters
    ----------
    engine, picks, state, name
        As for :func:`trace`.
    written : str
        The file's name for messages of the engine that is made.

    Raises
    ------
    FileError
        As there.
    NotchError
        The gear from which the search starts cannot be turned.
    """
    side = assess_side(engine.side_state(state))
    elevation = elevation_of(side, engine)
    keys = {key: str(declared(side.gear, key)["kind"]) for key in numbers(side.gear)}
    read = read_picks(picks, engine, PickedParts(elevation, ()).nameable(), keys)
    try:
        found = scaled_off(elevation, read.picks, read.as_drawn)
    except PictureError as error:
        raise FileError(str(picks), error.problem, error.remedy) from None
    of = f"{read.picture.name} by the points of {picks.name}"
    own = Traced(engine, state, read, found, picked_state_text(engine, name, found, read.side, of, state))
    return _turned(own, parse_engine(own.text, written or engine.name), name)


def _turned(own: Traced, made: EngineAsRead, state: str) -> Traced:
    """The engine with its new figures turned, and as it stands in the image."""
    setup = made.side_state(state, sides_meant(own.picks.side, made.sides)[0])
    try:
        side = assess_side(setup)
    except (NotchError, LinkageError, ValueError) as error:
        return replace(own, refused=str(error))
    own = replace(own, turned=side, elevation=elevation_of(side, made))
    try:
        places = own.standing()
    except LinkageError as error:
        return replace(own, refused=f"as it stands in the image it does not close: {error}")
    assert own.elevation is not None
    return own if places is None else replace(own, gear=(own.elevation, places))
