"""Each published figure with what the product finds for it, in the printed unit; solved once in a run."""

from __future__ import annotations

from functools import cache

from tests.references.loader import Figure, load, number
from tests.references.product_values import VALUES

FIGURES = load()
_OPENINGS = ("lead", "opening", *(f"{event}_" for event in ("admission", "cutoff", "release", "compression")))
_EVENTS = {
    "cutoff", "compression", "release", "greatest opening", "exhaust open at end of stroke", "stationary link's lead",
    "front lead with the rod shortened", "back lead with the rod shortened", "deprez", "hackworth, cutoff",
    "exhaust opening beside a steam opening", "lead by cut-off and release", "back lead with the eccentric advanced",
}  # fmt: skip


@cache
def found(key: str) -> dict[str, float]:
    """What the product finds for a figure, by every route."""
    figure = FIGURES[key]
    values = {name: value * number(figure.scale) for name, value in VALUES[figure.check](figure.numbers).items()}
    assert values
    return values


def is_event(figure: Figure) -> bool:
    """Whether it is a valve event, a lead or an opening."""
    if figure.check.startswith("gear") and figure.check != "gear, link's part":
        return figure.at["figure"].startswith(_OPENINGS)
    return figure.check in _EVENTS
