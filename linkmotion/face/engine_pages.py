"""Pages of an engine, within a notebook: the one on which it moves, and the sheets by which it is measured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linkmotion.engine import DRAWING

if TYPE_CHECKING:
    from linkmotion.engine import Engine as EngineAsRead
    from linkmotion.face.measuring import MeasuringSheets
    from linkmotion.face.moving_page import MovingPage


class EnginePages:
    """The pages of an engine."""

    if TYPE_CHECKING:
        as_read: EngineAsRead

    def moving_page(self, *states: str) -> MovingPage:
        """The page on which the engine is turned by hand, within a notebook; all its states unless named.

        Raises UnknownName where there is no such state, ValueError where one cannot be shown.
        """
        from linkmotion.face.moving_page import moving_page

        return moving_page(self.as_read, states)

    def measuring_sheets(self, state: str = DRAWING) -> MeasuringSheets:
        """Sheets on which its dimensions are written as they are measured, as ``linkmotion measure`` writes them.

        Parameters
        ----------
        state : str
            Whose figures are written in beside the drawing's; UnknownName tells the nearest.
        """
        from linkmotion.face.measuring import measuring_sheets

        return measuring_sheets(self.as_read, state)
