"""An engine and its states by name, as read from a file or built in Python."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linkmotion.engine import AS_IT_STANDS, DRAWING, STANDINGS
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.doubted import Doubted
from linkmotion.face.engine_pages import EnginePages
from linkmotion.face.names import known, known_side
from linkmotion.face.recorded import Recorded
from linkmotion.face.side import Side, side_of
from linkmotion.face.tables import Table, one_line, table
from linkmotion.sides import BOTH

if TYPE_CHECKING:
    from linkmotion.studies.findings import Finding


@dataclass(frozen=True, eq=False, repr=False)
class Engine(EnginePages, Recorded):
    """An engine: its drawing and named states, each with its sides.

    Attributes
    ----------
    as_read : linkmotion.engine.Engine
        Tables, states, targets and the file's own text.
    file : Path or None
        From which it was read, beside which its readings and marks stand; None of an engine made otherwise.

    Examples
    --------
    >>> import linkmotion as lm
    >>> engine = lm.read_engine("examples/dock_shunter.toml")
    >>> engine.gear, engine.unit, engine.states
    ('walschaerts', 'in', ('drawing', 'as found', 'as repaired'))
    >>> engine["as fond"]
    Traceback (most recent call last):
    linkmotion.face.names.UnknownName: there is no state 'as fond': did you mean 'as found'?
    """

    as_read: EngineAsRead
    file: Path | None = None

    @property
    def name(self) -> str:
        """As written by the user."""
        return self.as_read.name

    @property
    def gear(self) -> str:
        """Kind of its valve gear, as in an engine file."""
        return str(self.as_read.gear_type.name)

    @property
    def unit(self) -> str:
        """Unit of bare lengths in its file, and of every length shown: "mm", "in", "ft" or "thou"."""
        return self.as_read.unit

    @property
    def states(self) -> tuple[str, ...]:
        """The drawing and every named state, in file order."""
        return self.as_read.state_names

    @property
    def targets(self) -> Table:
        """What is to be held, and whether the user chose it."""
        from linkmotion.face.verdicts import target_rows

        headings = {"target": "", "figure": "", "unit": "", "chosen": ""}
        return table(f"{self.name}: targets", headings, target_rows(self.as_read))

    def __getitem__(self, state: str) -> State:
        """A state by its name; the drawing is ``engine["drawing"]``."""
        return State(self.as_read, known("state", state, self.states))

    def __iter__(self) -> Iterator[State]:
        """The drawing and every state."""
        return (self[name] for name in self.states)

    def __len__(self) -> int:
        """States, the drawing among them."""
        return len(self.states)

    def edit(self, key: str, value: Any, state: str = DRAWING, side: str = BOTH) -> Engine:
        """The engine with one key of its file written anew; comments stay.

        Parameters
        ----------
        key : str
            Table and key, such as ``"eccentric_rod.length"``.
        value
            As in an engine file: a number in the file's unit, or ``"1 5/16 in"``.
        state, side : str
            The drawing, or a state (made if need be) and "both" or a side by its name.

        Raises
        ------
        FileError
            With key and remedy.
        """
        from linkmotion.files.engine_file import edit_engine

        edited = edit_engine(self.as_read, key, value, state, known_side(side, self.as_read.sides, BOTH))
        return Engine(edited, self.file)

    @property
    def text(self) -> str:
        """The text of its file, comments and all; what :func:`linkmotion.read_engine` reads."""
        return self.as_read.text

    def __repr__(self) -> str:
        """In one line."""
        told = [f"{self.gear} gear", f"lengths in {self.unit}", f"states: {', '.join(self.states)}"]
        return one_line("Engine", self.name, told)


@dataclass(frozen=True, eq=False, repr=False)
class State(Doubted):
    """A state of an engine: how its sides are.

    Attributes
    ----------
    engine : linkmotion.engine.Engine
        As read.
    name : str
        Of the state.
    """

    engine: EngineAsRead
    name: str

    @property
    def sides(self) -> tuple[str, ...]:
        """Names of its sides: left and right, or the one cylinder that there is."""
        return self.engine.sides

    @property
    def left(self) -> Side:
        """The left side."""
        return side_of(self.engine, self.name, "left")

    @property
    def right(self) -> Side:
        """The right side."""
        return side_of(self.engine, self.name, "right")

    def __getitem__(self, side: str) -> Side:
        """A side by its name."""
        return side_of(self.engine, self.name, side)

    @property
    def note(self) -> str:
        """As written by the user."""
        return self.engine.note if self.name == DRAWING else self.engine.states[self.name].note

    def events(self, *, both_directions: bool = False) -> Table:
        """Every notch and end of every side as one table.

        Parameters
        ----------
        both_directions : bool
            Whether every notch is looked at in both; else in those in which it drives.
        """
        sides = [side.events(both_directions=both_directions) for side in map(self.__getitem__, self.sides)]
        rows = [row for own in sides for row in own]
        return table(f"{self.engine.name}, {self.name}: events", sides[0].headings, rows)

    def findings(self, standing: str = AS_IT_STANDS) -> Table:
        """What is out of its target, and what else is worth telling, in plain words.

        Parameters
        ----------
        standing : str
            "as it stands", "set afresh" or "in service".

        Raises
        ------
        UnknownName
            No such way of looking at it; the nearest is told.
        ValueError
            Set afresh, where the drawing gives no rule.
        """
        from linkmotion.face.verdicts import finding_rows

        headings = {"out": "", "side": "", "notch": "", "direction": "", "words": ""}
        rows = finding_rows(self._found(known("standing", standing, STANDINGS)), self.engine.unit)
        return table(f"{self.engine.name}, {self.name}, {standing}: findings", headings, rows)

    @property
    def within_targets(self) -> bool:
        """Whether nothing is out of its target as it stands."""
        return not any(finding.out for finding in self._found(AS_IT_STANDS))

    def _found(self, standing: str) -> list[Finding]:
        from linkmotion.studies.assess import assess
        from linkmotion.studies.findings import findings

        return findings(assess(self.engine, self.name, standing=standing))

    def __repr__(self) -> str:
        """In one line."""
        based = "" if self.name == DRAWING else self.engine.states[self.name].based_on or DRAWING
        told = [f"of {self.engine.name!r}", f"{self.engine.gear_type.name} gear", *([f"on {based!r}"] if based else [])]
        return one_line("State", self.name, told)

    def _repr_html_(self) -> str:
        return self.events()._repr_html_()


def read_engine(path: str | Path) -> Engine:
    """Read an engine file.

    Parameters
    ----------
    path : path
        A TOML file, or the folder in which it is; ``linkmotion begin`` writes one to fill in.

    Raises
    ------
    FileError
        With file, line, key, what was read and the remedy.
    """
    from linkmotion.files.engine_file import read_engine as read
    from linkmotion.files.engine_folder import engine_file

    file = engine_file(Path(path))
    return Engine(read(file), file)


def parse_engine(text: str, name: str = "<text>") -> Engine:
    """Read an engine from the text of its file (TOML).

    Parameters
    ----------
    text, name : str
        The file's text, and what stands for its name in messages.

    Raises
    ------
    FileError
        As :func:`read_engine`.
    """
    from linkmotion.files.engine_file import parse_engine as parse

    return Engine(parse(text, name))


def new_engine(name: str, gear: str, unit: str, tables: Mapping[str, Any]) -> Engine:
    """An engine built in Python: checked, edited and written like one from a file.

    Parameters
    ----------
    name, gear, unit : str
        As in an engine file's [engine] table.
    tables : dict
        The other tables as in an engine file: the drawing's, ``"state"``, ``"targets"`` and so on; figures are
        numbers in ``unit`` or texts such as ``"1 5/16 in"``.

    Raises
    ------
    FileError
        With key and remedy.

    Examples
    --------
    >>> import linkmotion as lm
    >>> donkey = lm.new_engine("donkey", "plain eccentric", "mm", {
    ...     "cylinder": {"crank_radius": 100}, "connecting_rod": {"length": 500},
    ...     "valve": {"admission": "outside", "steam_lap": 8, "port_width": 12, "guide_height": 0,
    ...               "set_by": "equal lead", "set_in": {"notch": "fixed", "direction": "forward"}},
    ...     "eccentric": {"throw": 25, "angle": 115}, "eccentric_rod": {"length": 600}})
    >>> f"{donkey['drawing'].left['fixed'].travel:.1f} mm"
    '50.0 mm'
    >>> lm.parse_engine(donkey.text)
    <Engine 'donkey': plain eccentric gear, lengths in mm, states: drawing>
    """
    import tomlkit

    head = {"name": name, "gear": gear, "unit": unit}
    return parse_engine(tomlkit.dumps({"engine": head, **tables}), name)
