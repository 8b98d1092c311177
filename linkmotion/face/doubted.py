"""What the doubts of an engine's figures make of a state's events and targets, as a notebook sees it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from linkmotion.engine import AS_IT_STANDS
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.tables import Table, table

if TYPE_CHECKING:
    from linkmotion.studies.doubts.judged import DoubtfulState


class Doubted:
    """Doubts of a state, right 19 times in 20, and what can be told of its targets with them."""

    engine: EngineAsRead
    name: str

    @property
    def taken(self) -> Table:
        """Figures that stand in the file as they were taken: what each comes to, its doubt (19 in 20), and how.

        Examples
        --------
        >>> import linkmotion as lm
        >>> drawing = lm.read_engine("examples/dock_sister.toml")["drawing"]
        >>> rod = next(row for row in drawing.taken.rows() if row["dimension"] == "radius_rod.length")
        >>> f"{rod['figure']:.3f} ± {rod['doubt']:.3f} {rod['unit']}"
        '37.875 ± 0.008 in'
        """
        from linkmotion.studies.as_taken import taken_rows

        headings = ("side", "dimension", "figure", "doubt", "unit", "how")
        return self._table("figures as taken", headings, list(taken_rows(self.engine, self.name, self.engine.sides)))

    def doubts(self) -> Table:
        """Doubt of every lead, event, opening and travel as it stands; no rows where the file gives no doubts.

        ``drawn`` says that it was found of gears drawn at random, since its slopes bend.
        """
        from linkmotion.studies.doubts.doubt_rows import doubt_rows

        found = self._doubtful()
        rows = [] if found is None else list(doubt_rows(self.name, AS_IT_STANDS, found))
        headings = ("side", "notch", "direction", "end", "figure", "doubt", "unit", "drawn")
        return self._table("doubts", headings, rows)

    def held(self) -> Table:
        """Every target of leads and cutoffs as it stands: within or out as surely as 19 in 20, or not to be told.

        ``measure`` says what to measure better so that it can be told, and to what.

        Examples
        --------
        >>> import linkmotion as lm
        >>> held = lm.read_engine("examples/pipit")["drawing"].held()
        >>> [(row["notch"], row["measure"]) for row in held.rows() if row["told"] == "cannot be told"]
        [('full backward', 'eccentric rods: forward to ± 0.070 mm, eccentric rods: backward to ± 0.070 mm')]
        """
        from linkmotion.studies.doubts.doubt_rows import held_rows
        from linkmotion.views.doubt_words import better_words
        from linkmotion.views.tables import Shown

        found = self._doubtful()
        rows = [] if found is None else list(held_rows(self.name, AS_IT_STANDS, found))
        for row, own in zip(rows, () if found is None else found.judged, strict=True):
            row["measure"] = ", ".join(better_words(own.better, Shown(self.engine.unit)))
        headings = ("what", "side", "notch", "direction", "end", "size", "doubt", "limit", "unit", "told", "measure")
        return self._table("targets held", headings, rows)

    def _doubtful(self) -> DoubtfulState | None:
        from linkmotion.studies.assess import assess
        from linkmotion.studies.doubts.judged import doubtful

        return doubtful(assess(self.engine, self.name))

    def _table(self, what: str, headings: tuple[str, ...], rows: list[dict[str, Any]]) -> Table:
        from linkmotion.files.results import in_unit

        body = [{key: row[key] for key in headings} for row in in_unit(rows, self.engine.unit)]
        return table(f"{self.engine.name}, {self.name}: {what}", dict.fromkeys(headings, ""), body)
