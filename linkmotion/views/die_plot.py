"""Where the die moves along the slot, notch by notch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from linkmotion.studies.assess import SideEvents
from linkmotion.views.lettering import key
from linkmotion.views.notch_rows import Rows, Series, name_rows
from linkmotion.views.style import BEHIND, FLAG, SMALL, axes_or_new, scale_of
from linkmotion.views.tables import Shown


def plot_die(series: SideEvents | Sequence[Series], unit: str = "mm", ax: Any = None) -> Any:
    """Where the die moves along the slot over a turn, in every notch, and its slip (of a slide: its stroke)."""
    ax, scale, shown = axes_or_new(ax), scale_of(unit), Shown(unit)
    listed = [Series("", series, alike=True)] if isinstance(series, SideEvents) else list(series)
    rows, slot = Rows(listed[0].side, once=True), listed[0].side.motion.slot
    thick = 5.0 if len(listed) == 1 else 3.6
    for number, own in enumerate(listed):
        y = rows.within(len(listed), number)
        if own.against is not None:
            low, high = own.against.motion.die_reach
            ax.hlines(y, low * scale, high * scale, color=BEHIND, lw=thick + 3, zorder=1.5)
        low, high = own.side.motion.die_reach
        ax.hlines(y, low * scale, high * scale, color=own.line["color"], lw=thick, zorder=2)
        for at, slip in zip(y, own.side.motion.die_slip, strict=True):
            ax.annotate(shown.length(float(slip)), (1.0, at), (3, 0), xycoords=("axes fraction", "data"),
                        textcoords="offset points", va="center", fontsize=SMALL)  # fmt: skip
    name_rows(ax, rows.names, "notch")
    for place in (slot.top, -slot.bottom):
        ax.axvline(place * scale, color=FLAG, lw=1.4)
    reach = (slot.top + slot.bottom) * scale
    ax.set(xlabel=f"die along the slot, {unit} (+ up)", xlim=(-slot.bottom * scale - 0.04 * reach, None))
    ax.set_xlim(right=slot.top * scale + 0.04 * reach)
    ax.annotate(
        f"{'stroke' if slot.works else 'slip'}, {unit}",
        (1.0, 1.0),
        (3, 3),
        xycoords="axes fraction",
        textcoords="offset points",
        ha="center",
    )
    bars = [(own.words or "over a turn", {"color": own.line["color"], "lw": thick}) for own in listed]
    bars += [(own.against.state, {"color": BEHIND, "lw": thick + 3}) for own in listed[:1] if own.against is not None]
    key(ax, [*bars, ("slot's ends", {"color": FLAG, "lw": 1.4})])
    return ax
