"""The page on which an engine moves, within a notebook."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from linkmotion.engine import DRAWING
from linkmotion.engine import Engine as EngineAsRead
from linkmotion.face.names import known

_HEIGHT = 900  # of the frame, in a page's dots


@dataclass(frozen=True, repr=False)
class MovingPage:
    """The page of ``linkmotion page``, whole in itself: it fetches nothing.

    Attributes
    ----------
    engine : str
        Name of the engine.
    states : tuple of str
        What it shows.
    html : str
        The page.
    """

    engine: str
    states: tuple[str, ...]
    html: str

    def __repr__(self) -> str:
        """In one line."""
        return f"<MovingPage of {self.engine!r}: {', '.join(self.states)}; {len(self.html) / 1e6:.1f} MB>"

    def _repr_html_(self) -> str:
        """A frame that holds the page and lets it do nothing outside of it."""
        title = f"{self.engine}: a page on which the gear is turned and the reverser moved"
        held = f'sandbox="allow-scripts" srcdoc="{escape(self.html)}"'
        look = f"width: 100%; height: {_HEIGHT}px; border: 0"
        return f'<iframe title="{escape(title)}" style="{look}" {held}></iframe>'


def moving_page(engine: EngineAsRead, states: tuple[str, ...]) -> MovingPage:
    """The page of an engine in some states, or in all.

    Raises
    ------
    UnknownName
        No such state; the nearest is told.
    ValueError
        A state asked for by name that cannot be shown.
    NotchError
        The drawing cannot be turned.
    """
    from linkmotion.studies.page_data import page_data
    from linkmotion.views.moving.page import page
    from linkmotion.views.moving.page_words import why

    found = page_data(engine, tuple(known("state", state, engine.state_names) for state in states) or None)
    for state in states:
        if state in found.left_out and state != DRAWING:
            raise ValueError(f"the state {state!r} cannot be shown: {why(found.left_out[state], engine.unit)}")
    return MovingPage(engine.name, tuple(dict.fromkeys(case.state for case in found.cases)), page(found))
