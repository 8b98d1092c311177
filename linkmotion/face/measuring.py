"""The measuring sheets of an engine, within a notebook."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.names import known

_HEIGHT = 900  # of the frame, in a page's dots


@dataclass(frozen=True, repr=False)
class MeasuringSheets:
    """The sheets of ``linkmotion measure``, whole in themselves: they fetch nothing.

    Attributes
    ----------
    engine, state : str
        Name of the engine; the state whose figures are written in.
    html : str
        The page.
    """

    engine: str
    state: str
    html: str

    def pdf(self, paper: str = "A4") -> bytes:
        """The same on paper.

        Parameters
        ----------
        paper : str
            "A4" or "letter".

        Raises
        ------
        UnknownName
            Another paper.
        FileError
            WeasyPrint, or what it stands on, is not installed.
        """
        from linkmotion.views.paper import as_pdf, see_paper

        wanted = known("paper", paper, ("A4", "letter"))
        see_paper(wanted)
        return as_pdf(self.html, wanted)

    def __repr__(self) -> str:
        """In one line."""
        return f"<MeasuringSheets of {self.engine!r}, {self.state}; {len(self.html) / 1e6:.1f} MB>"

    def _repr_html_(self) -> str:
        """A frame that holds the page and lets it do nothing outside of it."""
        look = f"width: 100%; height: {_HEIGHT}px; border: 0"
        held = f'sandbox="" srcdoc="{escape(self.html)}"'
        return f'<iframe title="{escape(self.engine)}: measuring sheets" style="{look}" {held}></iframe>'


def measuring_sheets(engine: EngineAsRead, state: str) -> MeasuringSheets:
    """The sheets of an engine, a state's figures written in.

    Raises
    ------
    UnknownName
        No such state; the nearest is told.
    NotchError
        The drawing cannot be turned.
    """
    from linkmotion.views.measuring_parts import Measured
    from linkmotion.views.measuring_sheets import measuring_sheets as sheets

    own = known("state", state, engine.state_names)
    return MeasuringSheets(engine.name, own, sheets(Measured(engine.gear_type, engine, True, own, engine.unit)))
