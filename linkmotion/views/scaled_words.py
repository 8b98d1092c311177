"""What was scaled off an image, in sentences and as a table."""

from __future__ import annotations

from collections.abc import Iterator

from linkmotion.files.picked_state import written
from linkmotion.files.picks_file import PicksFile
from linkmotion.gears.keys import key_in_words
from linkmotion.measuring.pick_equations import PAPER, known_name
from linkmotion.measuring.taken import MM, NORMAL
from linkmotion.studies.scaled_off import ScaledOff
from linkmotion.views.grid import Column, Grid
from linkmotion.views.tables import Shown

_FAR = 3.0  # doubts: a point that stands so far off where the gear has it is told


class ScaledWords:
    """One image's figures in words.

    Parameters
    ----------
    found, picks : ScaledOff, PicksFile
        What was found, of what was put.
    unit : str
        Of lengths shown.
    """

    def __init__(self, found: ScaledOff, picks: PicksFile, unit: str) -> None:
        self.found, self.picks, self.unit, self.shown = found, picks, unit, Shown(unit)

    def answer(self, turns: str) -> str:
        """In one sentence: how many figures, how many differ, what does not fit, whether the gear turns."""
        figures = self.found.figures
        differ = sum(own.differs for own in figures)
        told = f"{len(figures)} figures scaled off {self.picks.picture.name}; {differ} differ from the drawing by more "
        told += "than their doubt."
        if self.found.strained:
            told += f" SOMETHING DOES NOT FIT: look again at {self.name_of(self.found.strained[0][0])}."
        return f"{told} {turns}"

    def name_of(self, strained: str) -> str:
        """What a strain is of, as the user knows it."""
        named = {known_name(at): words for at, words in enumerate(self.picks.known)}
        return "the evenness of the paper" if strained == PAPER else named.get(strained, strained)

    def table(self, points: bool = False) -> Grid:
        """Letter, dimension, what the image says with its doubt, and what the drawing has.

        Parameters
        ----------
        points : bool
            Whether there is room for the points that tell each.
        """
        columns = [Column("letter", key=True), Column("dimension", key=True), Column("scaled off"), Column("drawing"),
                   Column("differs")]  # fmt: skip
        columns += [Column("told by", key=True)] if points else []
        grid = Grid(f"Scaled off {self.picks.picture.name}", columns)
        for own in self.found.figures:
            drawn = f"{self.shown.length(own.drawn)} {self.unit}" if own.unit == MM else f"{own.drawn:.2f}°"
            scaled = written(own, self.unit) + ("" if own.unit == MM else "°")
            told_by = [", ".join(self.found.parts.told_by(own.key))] if points else []
            grid.row(own.letter, key_in_words(own.key), scaled, drawn, "yes" if own.differs else "–", *told_by)
        return grid

    def sentences(self) -> Iterator[str]:
        """What does not fit, what was taken from the drawing, what this image does not tell."""
        for name, by in self.found.strained[1:]:
            yield f"Does not fit either: {self.name_of(name)}, by {by:.1f} of its own standard deviations."
        scale = self.found.found.view.pixels
        share = 100 * NORMAL * self.found.found.scale_doubt
        yield f"Scale: {scale:.3f} pixels to the mm, ± {share:.2f} %, alike in all lengths."
        if not self.picks.picks.leaning:
            view = self.found.found.view
            uneven = 200 * abs(view.stretched / view.turned)
            yield f"Paper: longer one way than square to it by {uneven:.2f} %, as far as what is known tells."
        unchecked = self.found.unchecked
        if unchecked:
            count = len(self.picks.picks.points)
            yield (
                f"Of {count} points {len(unchecked)} are checked by nothing else: put those twice, "
                "[[u, v], [u, v]], so that a slip is seen."
            )
        if self.found.as_drawn:
            yield "Taken from the drawing, since one position cannot tell: " + _listed(self.found.as_drawn)
        if self.found.untold:
            keys = [own.key for own in self.found.untold]
            yield "Not told by these points: " + _listed(keys)

    def off(self, missed: list[tuple[str, float]]) -> Iterator[str]:
        """Points that stand off where the gear with these figures has them."""
        for pin, by in missed:
            put = self.found.picks.put(pin)[1] / self.found.found.view.pixels
            if by > _FAR * NORMAL * put:
                yield f"{pin}: put {self.shown.length(by)} {self.unit} from where the gear has it."


def _listed(keys: object) -> str:
    assert isinstance(keys, tuple | list)
    return ", ".join(map(key_in_words, keys)) + "."
