"""Points put on an image of an engine (TOML), kept beside the image so that they can be put again.

::

    [picture]
    file = "ga.png"               # beside this file; engine = "its name": on the bench only that one has them
    kind = "drawing"              # or "photograph": seen in perspective
    within = 3                    # pixels: so near a point is put (19 in 20)
    line = 3                      # pixels: width of the drawn lines
    paper = 1                     # percent: by so much the paper may have shrunk more one way than another (19 in 20)
    side = "both"                 # of the engine to which the figures go: "left", "right"; or "middle"
    as_drawn = ["crosshead.arm_x"]    # figures that are taken from the drawing

    [[known]]
    between = ["axle", "crank pin"]
    length = "10 in"              # or "254 ± 1 mm": any way in which a length is written in an engine file
    [[known]]
    level = ["rail 1", "rail 2"]  # from back to front; upright = [...] from below; within = 0.1: degrees, 19 in 20
    [[known]]
    point = "axle"                # a place, ahead of the axle and above it
    x = 0
    y = 0
    [[known]]
    rectangle = ["a", "b", "c", "d"]  # lower back, lower front, upper front, upper back; it stands level
    [[known]]
    dimension = "connecting_rod.length"
    figure = "5 ft"

    [points]                      # pixels: from the left, from the top; several takings in a list
    axle = [1203.5, 884.0]
    "crank pin" = [[1290.0, 884.5], [1291.0, 885.0]]
    "slot middle" = [1350.0, 820.0]  # on the slot's centre line; "slot top", "slot bottom": the die pin's reach;
    "slot 1" = [1351.5, 860.0]       # "slot 1", "slot 2" and so on: anywhere along it
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from linkmotion.engine import Engine
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.length_forms import PLAIN
from linkmotion.files.photographs import photographs
from linkmotion.files.source import Source, Where, shown
from linkmotion.files.sums import DEGREE
from linkmotion.files.taken_forms import Taking
from linkmotion.gears.sensitivity import Key
from linkmotion.measuring.picks import Known, KnownFigure, KnownLength, KnownPlace, KnownWay, Picks
from linkmotion.measuring.taken import NORMAL, Taken
from linkmotion.record import Record
from linkmotion.studies.picked_parts import SLOT_POINT

DRAWING_KIND, PHOTOGRAPH = "drawing", "photograph"
WITHIN, LINE, PAPER_WITHIN = 3.0, 0.0, 1.0  # pixels, pixels, percent: assumed, no source
MOST = 100  # points, things known
_KEYS = ["file", "engine", "kind", "within", "line", "paper", "side", "as_drawn", "note"]
_FREE = 1.0  # of b/a: a photograph's plane may lie any way
_FORMS = {
    "between": ["between", "length"], "level": ["level", "within"], "upright": ["upright", "within"],
    "point": ["point", "x", "y"], "rectangle": ["rectangle", "within"], "dimension": ["dimension", "figure"],
}  # fmt: skip
_LIKE = 'such as [[known]] between = ["axle", "crank pin"], length = "254 mm"'


@dataclass(frozen=True, eq=False)
class PicksFile:
    """What a picks file says.

    Attributes
    ----------
    picture : Path
        The image.
    picks : Picks
        Points and what is known.
    known : tuple of str
        What each of ``picks.known`` is, in words.
    side : str
        "both", "left" or "right".
    as_drawn : tuple of (table, key)
        Figures to be taken from the drawing.
    assumed : tuple of str
        What the file does not say, in words.
    """

    picture: Path
    picks: Picks
    known: tuple[str, ...]
    side: str
    as_drawn: tuple[Key, ...]
    assumed: tuple[str, ...]


def read_picks(path: Path, engine: Engine, pins: list[str], keys: Mapping[Key, str]) -> PicksFile:
    """Read a picks file.

    Parameters
    ----------
    path, engine : Path, Engine
        TOML; the engine whose picture it is: of its unit are bare lengths.
    pins : list of str
        Pins of the gear that can be put on an image.
    keys : dict
        Figures of the gear by (table, key), and "length" or "angle" of each, in the gear's order.

    Raises
    ------
    FileError
        With file, line, key and remedy.
    """
    try:
        source = Source.read(path)
    except FileError as error:
        raise FileError(error.file, error.problem, "a picks file has [picture], [[known]] and [points]") from None
    return PicksReader(source, path, engine, pins, keys).picks()


class PicksReader:
    """What a text of such a file says."""

    def __init__(self, source: Source, path: Path, engine: Engine, pins: list[str], keys: Mapping[Key, str]) -> None:
        self.source, self.path, self.pins, self.keys = source, path, pins, keys
        self.unit, self.sides, self.words, self.assumed = engine.unit, engine.sides, list[str](), list[str]()

    def picks(self) -> PicksFile:
        """All of it."""
        source, document = self.source, self.source.document()
        source.known(document, (), ["picture", "known", "points"])
        source.filled(document, lambda _where: "put the point, or take the line out")
        head = source.table(document.get("picture", {}), ("picture",))
        source.known(head, ("picture",), _KEYS)
        picture = self._picture(head)
        kind = self._one_of(head, "kind", (DRAWING_KIND, PHOTOGRAPH), DRAWING_KIND)
        side = self._one_of(head, "side", ("both", *self.sides), "both")
        points = self._points(document)
        known = self._known(document, points)
        self._see_names(points, document)
        within = self._size(head, "within", WITHIN, "pixels: so near a point is put, 19 in 20")
        line = self._size(head, "line", LINE, "")
        paper = _FREE
        if kind == DRAWING_KIND:
            paper = self._size(head, "paper", PAPER_WITHIN, "% by which the paper may be uneven") / 100 / 2 / NORMAL
        picks = Picks(points, within / NORMAL, line / math.sqrt(12.0), tuple(known), max(paper, 1e-7),
                      kind == PHOTOGRAPH)  # fmt: skip
        return PicksFile(picture, picks, tuple(self.words), side, tuple(self._as_drawn(head)), tuple(self.assumed))

    # ---- the picture -------------------------------------------------------------------------------------------------

    def _picture(self, head: dict[str, Any]) -> Path:
        where = ("picture", "file")
        if "file" not in head:
            raise self.source.fault(where, "missing", 'name the image beside this file: file = "ga.png"')
        name = self.source.words(head["file"], where)
        if Path(name).is_absolute() or ".." in Path(name).parts or not name:
            raise self.source.fault(where, f"{shown(name)} lies outside the folder", "put a copy beside this file")
        found = photographs({("picture",): Record(photos=(name,))}, self.path.parent)[0]
        if found.problem:
            raise self.source.fault(where, f"{name} {found.problem}", found.remedy)
        if found.kind == "image/svg+xml":
            raise self.source.fault(where, f"{name} has no pixels", "save it as PNG or JPEG")
        return found.path

    def _one_of(self, head: dict[str, Any], key: str, choices: tuple[str, ...], default: str) -> str:
        value = head.get(key, default)
        if value not in choices:
            raise self.source.fault(("picture", key), f"read {shown(value)}", nearest(str(value), list(choices)))
        return str(value)

    def _size(self, head: dict[str, Any], key: str, default: float, assumed: str) -> float:
        if key not in head:
            if assumed:
                self.assumed.append(f"{default:g} {assumed}")
            return default
        return self._number(head[key], ("picture", key), 0.0 if key == "line" else 1e-6, 500.0)

    def _number(self, value: Any, where: Where, low: float, high: float) -> float:
        plain = isinstance(value, int | float) and not isinstance(value, bool)
        if not plain or not math.isfinite(value) or not low <= value <= high:
            raise self.source.fault(where, f"read {shown(value)}", f"a plain number from {low:g} to {high:g} is wanted")
        return float(value)

    def _as_drawn(self, head: dict[str, Any]) -> Iterator[Key]:
        given, where = head.get("as_drawn", []), ("picture", "as_drawn")
        if not isinstance(given, list):
            raise self.source.fault(where, f"read {shown(given)}", 'a list is wanted: ["crosshead.arm_x"]')
        for name in given:
            yield self._key(name, where)

    def _key(self, name: Any, where: Where) -> Key:
        table, _, key = self.source.words(name, where).partition(".")
        if (table, key) not in self.keys:
            known = [".".join(own) for own in self.keys]
            raise self.source.fault(where, f"this gear has no figure {shown(name)}", nearest(str(name), known))
        return table, key

    # ---- points ------------------------------------------------------------------------------------------------------

    def _points(self, document: dict[str, Any]) -> dict[str, tuple[complex, ...]]:
        read = self.source.table(document.get("points", {}), ("points",))
        if not read:
            raise FileError(self.source.name, "no point was put", "give [points], such as axle = [1203.5, 884.0]")
        if len(read) > MOST or len(document.get("known", [])) > MOST:
            raise FileError(self.source.name, f"more than {MOST} points or things known", "keep those that tell most")
        return {name: tuple(self._takings(value, ("points", name))) for name, value in read.items()}

    def _takings(self, value: Any, where: Where) -> Iterator[complex]:
        if not isinstance(value, list) or not value:
            raise self.source.fault(where, f"read {shown(value)}", "give [pixels from the left, pixels from the top]")
        for each in value if isinstance(value[0], list) else [value]:
            if not isinstance(each, list) or len(each) != 2:
                raise self.source.fault(where, f"read {shown(each)}", "two numbers are wanted: from the left, the top")
            u, v = (self._number(number, where, -100_000.0, 100_000.0) for number in each)
            yield complex(u, -v)

    def _see_names(self, points: Mapping[str, Any], document: dict[str, Any]) -> None:
        """See that each point is a pin of the gear, or one by which something is known."""
        used = {name for row in document.get("known", []) for form in _FORMS for name in _named(row.get(form))}
        for name in points:
            self.source.printable(name, ("points", name))
            if name not in self.pins and name not in used and not SLOT_POINT.fullmatch(name):
                remedy = f"{nearest(name, self.pins)}; or use it in [[known]]"
                raise self.source.fault(("points", name), "this gear has no such pin", remedy)

    # ---- what is known -----------------------------------------------------------------------------------------------

    def _known(self, document: dict[str, Any], points: Mapping[str, Any]) -> list[Known]:
        rows = document.get("known", [])
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            raise self.source.fault(("known",), "no list of tables", f"write [[known]] for each, {_LIKE}")
        found: list[Known] = []
        for number, row in enumerate(rows):
            where = ("known", str(number))
            form = next((form for form in _FORMS if form in row), None)
            if form is None:
                raise self.source.fault(where, "what is known?", f"give {', '.join(_FORMS)}, {_LIKE}")
            self.source.known(row, where, _FORMS[form])
            for key in _FORMS[form]:
                if key not in row and key != "within":
                    raise self.source.fault((*where, key), "missing", f"give {key} beside {form}")
            found += self._of_row(form, row, where, points)
        return found

    def _of_row(self, form: str, row: dict[str, Any], where: Where, points: Mapping[str, Any]) -> Iterator[Known]:
        count = {"point": 1, "rectangle": 4, "dimension": 0}.get(form, 2)
        names = self._names(row[form], (*where, form), count, points) if count else []
        if form == "between":
            length = self._taken(row["length"], (*where, "length"))
            if not length.value > 0:
                raise self.source.fault(
                    (*where, "length"), f"read {shown(row['length'])}", "more than nothing is wanted"
                )
            self.words.append(f"{names[0]} to {names[1]}")
            yield KnownLength(names[0], names[1], length.value, length.doubt)
        elif form == "point":
            x, y = (self._taken(row[axis], (*where, axis)) for axis in ("x", "y"))
            self.words.append(f"the place of {names[0]}")
            yield KnownPlace(names[0], x.value, y.value, max(x.doubt, y.doubt))
        elif form == "dimension":
            key = self._key(row["dimension"], (*where, "dimension"))
            figure = self._taken(row["figure"], (*where, "figure"), DEGREE if self.keys[key] == "angle" else "")
            self.words.append(".".join(key))
            yield KnownFigure(list(self.keys).index(key), figure.value, figure.doubt)
        else:
            doubt = self._number(row.get("within", 0.0), (*where, "within"), 0.0, 45.0)
            yield from self._ways(form, names, doubt)

    def _ways(self, form: str, names: list[str], doubt: float) -> Iterator[Known]:
        a, b, *rest = names
        pairs = [(a, b, 90.0 if form == "upright" else 0.0)]
        if form == "rectangle":
            c, d = rest
            pairs = [(a, b, 0.0), (d, c, 0.0), (a, d, 90.0), (b, c, 90.0)]
        for one, other, degrees in pairs:
            self.words.append(f"{one} to {other} {'upright' if degrees else 'level'}")
            yield KnownWay(one, other, degrees, doubt)

    def _names(self, value: Any, where: Where, count: int, points: Mapping[str, Any]) -> list[str]:
        names = _named(value)
        if len(names) != count or len(set(names)) != count:
            wanted = "the name of a point" if count == 1 else f"a list of {count} points"
            raise self.source.fault(where, f"read {shown(value)}", f"{wanted} is wanted")
        for name in names:
            if name not in points:
                raise self.source.fault(where, f"{name!a} was not put", nearest(name, list(points)))
        return names

    def _taken(self, value: Any, where: Where, unit: str = "") -> Taken:
        try:
            return Taking(unit or self.unit, PLAIN).figure(value, where[-1])
        except FigureFault as fault:
            raise self.source.fault(where, fault.problem, fault.remedy) from None


def _named(value: Any) -> list[str]:
    given = [value] if isinstance(value, str) else value if isinstance(value, list) else []
    return [name for name in given if isinstance(name, str)]
