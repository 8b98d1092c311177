"""Which wear matters: the printed table, a sentence for each item, and the plot that shows it at a glance."""

from __future__ import annotations

from collections.abc import Iterator

from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.studies.which_wear import LOST, WhichWear, WornItem
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import OUT, Answer, Point
from linkmotion.views.tables import Shown

_SIDES = "between sides"
_NOTHING = "no difference that could be measured"
_FIGURES = (  # over, heading, figures of which the greatest change is shown, how readily it is left out
    ("lead", "front", ("lead front",), 3),
    ("lead", "back", ("lead back",), 3),
    ("lead", "ends", ("lead difference",), 0),
    ("lead", "sides", ("lead between sides",), 2),
    ("cutoff", "front", ("cutoff front",), 3),
    ("cutoff", "back", ("cutoff back",), 3),
    ("cutoff", "ends", ("cutoff difference",), 0),
    ("cutoff", "sides", ("cutoff between sides",), 2),
    ("", "release", ("release front", "release back"), 4),
    ("", "compr.", ("compression front", "compression back"), 4),
    ("", "travel", ("travel",), 1),
)


def verdict(result: WhichWear, twisted: bool = False) -> Answer:
    """Which wear matters most on a side, in one sentence."""
    place = f"{result.state}, {result.whose}"
    weight, beside = result.together.weight, _by_the_other_side(result)
    if not result.items:
        nothing = f"{place}: nothing {'else ' * twisted}differs from the drawing"
        if weight > 1:
            return Answer(f"{nothing}; the other side as found leaves the sides {weight:.2f} times a target apart.")
        return Answer(f"{nothing}.")
    first, cold = result.items[0], ", cold," if any(item.heat for item in result.items) else ""
    whole = "passes a target" if weight > 1 else "keeps every target"
    whole += " beside the other side as found" if weight > 1 and beside else ""
    return Answer(
        f"{place}: {first.name} matters most, {first.weight:.2f} times its target; everything together{cold} {whole} "
        f"({weight:.2f} times)."
    )


def _by_the_other_side(result: WhichWear) -> bool:
    """Whether everything together weighs most by what it leaves between the sides."""
    return result.together.worst.endswith(_SIDES)


def wear_table(result: WhichWear, shown: Shown) -> Grid:
    """Items in order of weight, with the greatest change of each figure over the notches."""
    table = Grid(
        f"{result.state}, {result.whose}: greatest change against the drawing; "
        f"leads, travel, lost motion in {UNIT_NAMES[shown.unit]}; events in % of stroke",
        [
            Column("item", key=True, shared="{}"), Column("weight"), Column("gain"),
            *(Column(head, over=over, spare=spare) for over, head, _figures, spare in _FIGURES),
            Column("lost\nmotion"),
        ],
    )  # fmt: skip
    for item in (*result.items, result.together):
        cells = (_change(item, figures, shown) for _over, _head, figures, _spare in _FIGURES)
        table.row(item.name, f"{item.weight:.2f}", f"{item.gain:+.2f}", *cells, shown.length(item.lost))
    return table


def gains_table(result: WhichWear, shown: Shown) -> Grid:
    """What renewing each item alone takes off the greatest change that everything together makes of each figure."""
    table = Grid(
        f"{result.state}, {result.whose}: taken off by renewing it alone (−: put on); "
        f"leads, travel, lost motion in {UNIT_NAMES[shown.unit]}; events in % of stroke",
        [
            Column("item", key=True, shared="{}"),
            *(Column(head, over=over, spare=spare) for over, head, _figures, spare in _FIGURES),
            Column("lost\nmotion"),
        ],
    )  # fmt: skip
    for item in result.items:
        cells = (_gained(item, figures, shown) for _over, _head, figures, _spare in _FIGURES)
        table.row(item.name, *cells, _gained(item, (LOST,), shown))
    return table


def _gained(item: WornItem, figures: tuple[str, ...], shown: Shown) -> str:
    size = max((item.gains.get(figure, 0.0) for figure in figures), key=abs)
    return _signed(size, is_length(figures[0]), shown)


def item_lines(result: WhichWear, shown: Shown) -> Iterator[Point]:
    """What every item does; those of which the same is to be said in one line."""
    alike: dict[str, list[WornItem]] = {}
    for item in result.items:
        alike.setdefault(_verdict(item, result) if any(_told(item, shown)) else _NOTHING, []).append(item)
    for verdict, items in alike.items():
        mark = OUT if items[0].weight > 1 else "·"
        if verdict == _NOTHING:
            yield Point(f"{', '.join(item.name for item in items)}: {_NOTHING}.", mark)
        elif len(items) == 1:
            yield Point(sentence(items[0], result, shown), mark)
        else:
            yield Point(f"{verdict}: {'; '.join(f'{item.name} ({_said_of(item, shown)})' for item in items)}.", mark)


def is_length(figure: str) -> bool:
    """Whether a figure's change is a length; else it is percent of the stroke.

    Parameters
    ----------
    figure : str
        Named as in ``WornItem.changes``.
    """
    return figure.startswith(("lead", "travel", LOST))


def _change(item: WornItem, figures: tuple[str, ...], shown: Shown) -> str:
    return _signed(
        max((item.changes.get(figure, (0.0, ""))[0] for figure in figures), key=abs), is_length(figures[0]), shown
    )


def _signed(size: float, is_size: bool, shown: Shown) -> str:
    if not is_size:
        return f"{round(size, 1) + 0.0:+.1f}"
    text = shown.length(size)
    return text if text.startswith("-") else f"+{text}"


def sentence(item: WornItem, result: WhichWear, shown: Shown) -> str:
    """What an item does, in one plain sentence."""
    return f"{item.name}: {_said_of(item, shown)}; {_verdict(item, result)}."


def _said_of(item: WornItem, shown: Shown) -> str:
    return ", ".join(_told(item, shown)) or _NOTHING


def _told(item: WornItem, shown: Shown) -> Iterator[str]:
    """What it does to the valve, and the lost motion it gives."""
    lost = f"{shown.length(item.lost)} {shown.unit} of lost motion" if float(shown.length(item.lost)) else ""
    if item.worst == LOST:
        notch = item.changes[LOST][1]
        yield from [f"in {notch} it gives {lost}"] * bool(lost)
        return
    yield from _said(item, shown)
    yield from [lost] * bool(lost)


def _said(item: WornItem, shown: Shown) -> Iterator[str]:
    """The change that weighs most, in words; nothing where it is too small to be shown."""
    size, notch = item.changes.get(item.worst, (0.0, ""))
    what, _, where = item.worst.partition(" ")
    length = is_length(item.worst)
    figure = shown.length(abs(size)) if length else f"{abs(size):.1f}"
    amount = f"{figure} {shown.unit if length else '% of stroke'}"
    if float(figure) == 0.0:
        return
    if where == "difference":
        end, more = "front" if size > 0 else "back", "greater" if length else "later"
        yield f"in {notch} it drives the {what}s of the ends {amount} apart, the {end} one {more}"
    elif where == _SIDES:
        yield f"in {notch} it leaves the {what}s of the sides {amount} apart"
    elif length:
        yield f"in {notch} the {where} {what} {'grows' if size > 0 else 'falls'} by {amount}"
    else:
        yield f"in {notch} the {where} {what} comes {amount} {'later' if size > 0 else 'earlier'}"


def _verdict(item: WornItem, result: WhichWear) -> str:
    """What to do about it."""
    alone = (
        "it passes a target by itself"
        if item.weight > 1
        else "worth watching"
        if item.weight > 0.5
        else "by itself it can stay"
    )
    if item.heat:
        return f"{alone}: no repair, allow for it when setting cold"
    if item.gain < -0.1 and _by_the_other_side(result) and item.gains[result.together.worst] < 0:
        return f"{alone}; put right alone, the sides stand further apart: put the other side right too"
    if item.gain < -0.1:
        return f"{alone}, but it makes up for something else: put right alone, matters get worse"
    if item.gain > 0.1 and item.gain == max(each.gain for each in result.items):
        return f"{alone}, and putting it right gains most"
    return f"{alone}, and putting it right gains" if item.gain > 0.5 else alone
