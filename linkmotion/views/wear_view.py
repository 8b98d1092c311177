"""Which wear matters: the printed table, a sentence for each item, and the plot that shows it at a glance."""

from __future__ import annotations

from typing import Any

from rich.markup import escape
from rich.table import Table

from linkmotion.studies.which_wear import WhichWear, WornItem
from linkmotion.valve import ENDS
from linkmotion.views.style import FLAG, GRID, INK, STEAM, axes_or_new
from linkmotion.views.tables import Shown, bare_table

_FIGURES = ("lead front", "lead back", "lead difference", "cutoff front", "cutoff back", "cutoff difference", "travel")


def wear_table(result: WhichWear, shown: Shown) -> Table:
    """Items in order of weight, with the greatest change of each figure over the notches."""
    title = f"{result.state}, {result.side} side: change against the drawing, greatest over the notches"
    table = bare_table(title)
    table.add_column("item", no_wrap=False)
    lead, cutoff = (f"lead {end}\n{shown.unit}" for end in ENDS), (f"cutoff {end}\n%" for end in (*ENDS, "diff."))
    for head in ("weight", "gain", *lead, *cutoff, f"travel\n{shown.unit}", f"lost motion\n{shown.unit}"):
        table.add_column(head, justify="right", no_wrap=True)
    for item in (*result.items, result.together):
        table.add_row(escape(item.name), f"{item.weight:.2f}", f"{item.gain:+.2f}", *_cells(item, shown))
    return table


def _cells(item: WornItem, shown: Shown) -> list[str]:
    def change(figure: str) -> str:
        size = item.changes.get(figure, (0.0, ""))[0]
        return shown.length(size) if figure.startswith(("lead", "travel")) else f"{size:+.1f}"

    wanted = ("lead front", "lead back", "cutoff front", "cutoff back", "cutoff difference", "travel")
    return [*(change(figure) for figure in wanted), shown.length(item.lost)]


def sentence(item: WornItem, shown: Shown) -> str:
    """What an item does, in one plain sentence."""
    worst = max(_FIGURES, key=lambda figure: _beside(item, figure))
    size, notch = item.changes.get(worst, (0.0, ""))
    if abs(size) < 1e-6 and item.lost < 1e-6:
        return f"{item.name}: makes no difference that could be measured."
    amount = f"{shown.length(abs(size))} {shown.unit}" if worst.startswith(("lead", "travel")) else f"{abs(size):.1f} %"
    way = "more" if size > 0 else "less"
    told = f"{item.name}: {amount} {way} {worst} in {notch}"
    if item.lost > 1e-6:
        told += f", {shown.length(item.lost)} {shown.unit} of lost motion"
    verdict = (
        "it is worth renewing first"
        if item.gain > 0.5
        else "by itself it can stay"
        if item.weight < 0.5
        else ("it offends by itself" if item.weight > 1 else "it is worth watching")
    )
    return f"{told}; {verdict}."


def _beside(item: WornItem, figure: str) -> float:
    """Size of a change beside what is usual for its kind: a millimetre of lead is as much as 5 % of cutoff."""
    size = abs(item.changes.get(figure, (0.0, ""))[0])
    return size if figure.startswith(("lead", "travel")) else size / 5


def plot_which_wear(result: WhichWear, ax: Any = None) -> Any:
    """Weight of every item alone (bars) and what renewing it would gain (marks), as multiples of the target."""
    ax = axes_or_new(ax)
    items = result.items[::-1]
    names = [item.name for item in items]
    ax.barh(names, [item.weight for item in items], color=STEAM, alpha=0.75, height=0.6, label="alone")
    ax.plot([item.gain for item in items], names, "D", color=INK, ms=5, label="gained by renewing it")
    ax.axvline(1.0, color=FLAG, lw=1.2)
    low = ("data", "axes fraction")
    ax.annotate("target", (1.0, 0.0), xycoords=low, xytext=(3, 4), textcoords="offset points", fontsize=8, color=FLAG)
    ax.axvline(0.0, color=GRID, lw=1.0)
    ax.set_xlabel("greatest change, as a multiple of the target it offends")
    ax.set_ylim(-1.2, len(names) - 0.4)
    ax.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=2, fontsize=8)
    return ax
