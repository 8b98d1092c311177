"""What a tolerance study says in plain words, and the order in which its tables stand: what to hold first."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from linkmotion.gears.keys import key_in_words
from linkmotion.sides import BOTH
from linkmotion.studies.tolerances.held import Held
from linkmotion.studies.tolerances.limits import Kept
from linkmotion.studies.tolerances.loosest import Loosest
from linkmotion.studies.tolerances.rows import (
    hold_rows,
    setting_rows,
    share_rows,
    spread_rows,
    tolerance_rows,
)
from linkmotion.views.printout import Answer, Aside, Block, Point
from linkmotion.views.tables import CAUTION
from linkmotion.views.tolerance_table import (
    after_setting,
    alike_lines,
    hold_table,
    overlap_line,
    setting_table,
    shares_table,
    spread_table,
    tolerance_table,
    wide,
)

_NAMED = 5  # dimensions that a sentence names
_TIGHTER = 0.995  # of the present tolerance: what is less must be held closer


def hold_blocks(
    title: str, found: Held, unit: str, wanted: float, shares: bool, told_of_setting: bool
) -> Iterator[Block]:
    """Everything that is printed: the answer, what to hold, what setting takes up, the targets, the events.

    ``told_of_setting`` is whether it is to be said that there is nothing to set by.
    """
    after, gear = found.after, found.side.gear
    tolerances = list(tolerance_rows(gear, found.tolerances, found.loosest, after))
    yield Answer(_answer(found, wanted))
    yield from map(Point, _points(found, tolerances, unit, told_of_setting))
    yield tolerance_table(tolerances, unit)
    yield from alike_lines(tolerances, unit)
    if after:
        yield setting_table(setting_rows(gear, after), unit)
    yield hold_table(hold_rows(found.kept, found.sampled, after), unit)
    rows = list(spread_rows(found.sampled, found.linear, after))
    head = f"{title}: events in the mean, ± what holds 95 % of gears"
    for told, own in ((", after setting", after_setting(rows)), (", as made", rows)) if after else (("", rows),):
        yield spread_table(own, head + told, unit)
        yield from overlap_line(own)
    if shares:
        listed = list(share_rows(found.sampled))
        for place in dict.fromkeys((row["notch"], row["direction"]) for row in listed if row["direction"]):
            yield shares_table(listed, place)
    yield Aside(CAUTION)


def _answer(found: Held, wanted: float) -> str:
    made, end = found.kept, f"{100 * wanted:g} % wanted"
    if found.after is None:
        return f"At the present tolerances {_share(made)} of engines keep every target; {end}."
    return (
        f"At the present tolerances {_share(found.after.kept)} of engines keep every target after setting, "
        f"{100 * made.share:.1f} % as made; {end}."
    )


def _share(kept: Kept) -> str:
    return f"{100 * kept.share:.1f} % (± {200 * kept.error:.1f})"


def _points(found: Held, tolerances: list[dict[str, Any]], unit: str, told_of_setting: bool) -> Iterator[str]:
    for cause, count in found.sampled.causes.most_common():
        yield f"{count} of {len(found.sampled.values)} gears cannot be assembled: {cause}."
    if found.after is not None:
        yield from _of_setting(found, tolerances, unit)
    if found.loosest is not None:
        with_it = "With the loosest set" if found.after is None else "With the loosest set as made"
        rule = "Cost rule: halving any tolerance costs as much as halving any other."
        yield f"{_sought(with_it, found.loosest)} {rule}"
    for hold, size in found.missed:
        yield f"The drawing itself does not keep: {hold} ({size:.3g} {hold.unit} against {hold.limit:.3g})."
    if any(own.from_nothing for own in found.tolerances.values()):
        yield (
            "Clearances are made anywhere from nothing to the figure; the valve is dragged after the gear through "
            "them (slow running), so that leads and travel fall in the mean."
        )
    if any(own.assumed for own in found.tolerances.values()):
        yield "'assumed': no tolerance is given for it, and a general workshop tolerance stands in."
    if found.after is None and told_of_setting:
        yield "Nothing is taken to be adjusted at erection: the file gives no adjustments to set this side by."


def _sought(head: str, best: Loosest) -> str:
    share = f"{100 * best.kept.share:.1f} % of {best.kept.engines} engines"
    if best.met:
        return f"{head} {share} do."
    return f"{head[0].upper()}{head[1:]}: none was found that does; the tightest looked at keeps {share}."


def _of_setting(found: Held, tolerances: list[dict[str, Any]], unit: str) -> Iterator[str]:
    after = found.after
    assert after is not None

    def listed(rows: list[dict[str, Any]]) -> str:
        more = f" and {len(rows) - _NAMED} more" if len(rows) > _NAMED else ""
        return ", ".join(map(named, rows[:_NAMED])) + more

    def named(row: dict[str, Any]) -> str:
        name, within = key_in_words((row["table"], row["key"])), row["loosest_after_setting"]
        if within is None:
            return name
        sign, mark = "" if row["from_nothing"] else "±", f" {unit}" if row["unit"] == "mm" else "°"
        return f"{name} {sign}{wide(within, row['unit'], unit)}{mark}"

    up = [row for row in tolerances if row["set_at_erection"]]
    if after.loosest is not None:
        closer = [row for row in tolerances if row["factor_after_setting"] < _TIGHTER]
        yield f"To be held closer in the shop: {listed(closer)}." if closer else "No tolerance need be closer."
    if up:
        yield f"Set at erection, so the shop need not hold them closer than: {listed(up)}."
    if after.loosest is not None:
        yield _sought("With the loosest set after setting", after.loosest)
    yield (
        "As made nothing is adjusted; the valves are set by their rule, or left as drawn. After setting: by the "
        "file's adjustments, in whole steps within their range, with every notch in mind; 'left' is what setting "
        "leaves of what a tolerance does."
    )
    shared = [key_in_words(each.key) for each in found.adjustments if each.side == BOTH]
    if shared:
        yield f"Left alone, since it alters both sides at once: {', '.join(shared)}."
