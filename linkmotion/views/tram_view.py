"""What the tram found, printed: where the dead centres are, and what leads read off them are wrong by."""

from __future__ import annotations

import math
from collections.abc import Iterator

from rich.markup import escape
from rich.table import Table

from linkmotion.studies.setting.lead_errors import LeadErrors
from linkmotion.studies.setting.tram import DeadCentre, Tram
from linkmotion.views.tables import CAUTION, Shown, bare_table, wide_console

_WORK = (
    "Make every mark with the play taken up the same way: run past it and come back, so that each is come up to moving "
    'toward the dead centre (turned = "toward"); or turn through both ways and use the mean. Set the wheel to the dead '
    "centre's mark from the one side only, for every lead."
)


class OnTyre:
    """Angles as lengths along the tyre where its size is known, else degrees."""

    def __init__(self, diameter: float | None, unit: str) -> None:
        self.diameter, self.shown = diameter, Shown(unit)

    @property
    def unit(self) -> str:
        """Unit of what is shown."""
        return "°" if self.diameter is None else self.shown.unit

    def __call__(self, degrees: float) -> str:
        """The angle as shown."""
        if self.diameter is None:
            return f"{degrees:.3f}"
        return self.shown.length(math.radians(degrees) * self.diameter / 2)

    def with_unit(self, degrees: float) -> str:
        """The angle as shown, and in degrees."""
        return f"{degrees:.3f}°" if self.diameter is None else f"{self(degrees)} {self.unit} ({degrees:.3f}°)"


def print_tram(
    title: str, unit: str, tram: Tram | None, errors: LeadErrors, diameter: float | None, assumed: tuple[str, ...]
) -> None:
    """Print both tables and what they mean."""
    console, show = wide_console(110), OnTyre(diameter, unit)
    if tram is not None:
        console.print(dead_centre_table(title, tram, show))
        for line in remarks(tram, show, unit):
            console.print(f" · {line}", markup=False, soft_wrap=True)
        for line in assumed:
            console.print(f" · assumed: {line}", markup=False, soft_wrap=True)
        console.print()
    console.print(lead_error_table(title, errors, show, Shown(unit)))
    console.print(_WORK, markup=False)
    console.print(CAUTION, style="dim", markup=False)


def dead_centre_table(title: str, tram: Tram, show: OnTyre) -> Table:
    """Each dead centre: its mark, its doubt, and what halving the marks leaves out."""
    table = bare_table(f"{title}: dead centres on the tyre, from the datum mark on")
    table.add_column("dead centre")
    table.add_column("pairs", justify="right")
    heads = ("its mark", "within (95 %)", "halved marks", "of that: line offset", "play in the rod")
    for head in heads:
        table.add_column(f"{head}\n{show.unit}", justify="right", no_wrap=True)
    for centre in tram.centres.values():
        table.add_row(centre.end, str(centre.pairs), *(show(each) for each in _figures(centre)))
    return table


def _figures(centre: DeadCentre) -> tuple[float, ...]:
    return centre.angle, centre.doubt, centre.halved, centre.offset, centre.late


def remarks(tram: Tram, show: OnTyre, unit: str) -> Iterator[str]:
    """What else is to be known of the marks."""
    length = Shown(unit)
    if tram.play is not None:
        whose = "found from turning both ways" if tram.play_found else "as measured and as the marks have it"
        yield f"play in the rod {length.length(tram.play)} ± {length.length(tram.play_doubt)} {unit}, {whose}"
        if tram.play < -tram.play_doubt:
            yield "play less than nothing: were the directions of turning noted the right way about?"
    else:
        little, words = (0.1, "0.1 mm") if unit == "mm" else (0.127, "5 thou")
        each = "; ".join(f"{end} {show.with_unit(late * little)}" for end, late in tram.per_play.items())
        yield (
            f"no play is reckoned with; turned one way through, each {words} of it makes the halved mark late by: "
            f"{each}. Turn through both ways, and it is found and taken out"
        )
    if not tram.agree:
        worst = max(range(len(tram.residual)), key=lambda i: abs(tram.residual[i]))
        yield (
            "✗ the pairs differ by more than their accuracy explains (the doubt is widened); furthest off is pair "
            f"{worst + 1}, by {show.with_unit(abs(tram.residual[worst]))}: take them again"
        )
    if not math.isnan(tram.apart):
        off = tram.apart - tram.apart_drawn
        same = abs(off) <= 1.5 * tram.apart_doubt
        yield (
            f"front to back dead centre {tram.apart:.3f}° ± {tram.apart_doubt:.3f} by the marks, "
            f"{tram.apart_drawn:.3f}° by crank, rod and line height as given: "
            + ("they agree" if same else "they differ; is the tyre's diameter right, and are the figures?")
        )


def lead_error_table(title: str, errors: LeadErrors, show: OnTyre, length: Shown) -> Table:
    """What leads are read wrong by with the wheel so far from dead centre."""
    by = show.with_unit(errors.out_by)
    table = bare_table(f"{title}: lead read less true lead, wheel out by {by}, past and short of dead centre")
    table.add_column("notch", no_wrap=True)
    for end in errors.lead:
        for head in (f"{end} lead", "past", "short"):
            table.add_column(f"{head}\n{length.unit}", justify="right", no_wrap=True)
    for i, notch in enumerate(errors.notches):
        cells = [
            length.length(float(each[end][i]))
            for end in errors.lead
            for each in (errors.lead, errors.after, errors.before)
        ]
        table.add_row(escape(notch), *cells)
    return table
