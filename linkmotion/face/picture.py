"""A picture as a notebook shows it: with words that say what is to be seen, for those who cannot see it."""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass
from html import escape
from typing import Any

_DPI = 150  # sharp where a screen has two of its dots to one of a page's
_SHOWN = 96.0  # dots to the inch, as a page counts them


@dataclass(frozen=True, repr=False)
class Picture:
    """What was drawn, and what is to be seen in it.

    Attributes
    ----------
    png : bytes
        The picture.
    words : str
        Stands for it where it is not seen: read aloud, or printed where no picture can be.
    width : float
        Of the picture, inches.
    """

    png: bytes
    words: str
    width: float

    def __repr__(self) -> str:
        """In one line."""
        return f"<Picture: {self.words}>"

    def _repr_html_(self) -> str:
        """An image with its words, as every page knows it."""
        coded = base64.b64encode(self.png).decode()
        look = f"width: {_SHOWN * self.width:.0f}px; max-width: 100%"
        return f'<img alt="{escape(self.words)}" style="{look}" src="data:image/png;base64,{coded}">'

    def _repr_png_(self) -> tuple[bytes, dict[str, str]]:
        """For what shows no HTML: the image, and its words beside it as IPython's own images have them."""
        return self.png, {"alt": self.words}


def picture(drawn: Any, words: str) -> Picture:
    """A picture with its words, as the last line of a notebook's cell.

    Parameters
    ----------
    drawn : matplotlib axes or figure
        What any ``plot_…`` gives, or what was drawn by oneself; it is finished by this.
    words : str
        What is to be seen in it, for those who cannot see it.

    Raises
    ------
    ValueError
        No words.
    TypeError
        Neither axes nor a figure.

    Examples
    --------
    >>> import linkmotion as lm
    >>> left = lm.read_engine("examples/dock_shunter.toml")["drawing"].left
    >>> lm.picture(left.plot_leads(), "The leads of all notches: two level lines.")
    <Picture: The leads of all notches: two level lines.>
    """
    if not words.strip():
        raise ValueError("a picture has no words: say what is to be seen in it, for those who cannot see it")
    figure = getattr(drawn, "figure", None)
    if figure is None:
        raise TypeError(f"read {drawn!r}; axes or a figure of matplotlib are wanted, as every plot_… gives them")
    import matplotlib.pyplot as plt

    figure, out = figure.figure, io.BytesIO()
    figure.savefig(out, format="png", dpi=_DPI, bbox_inches="tight")
    plt.close(figure)  # or a notebook would show it once more below the cell
    png = out.getvalue()
    return Picture(png, " ".join(words.split()), int.from_bytes(png[16:20], "big") / _DPI)
