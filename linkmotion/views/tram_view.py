"""What the tram found, printed: where the dead centres are, and what leads read off them are wrong by."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linkmotion.files.readings_method import NOT_NOTED
from linkmotion.studies.setting.lead_errors import LeadErrors
from linkmotion.studies.setting.tram import DeadCentre, Tram
from linkmotion.studies.setting.tram_marks import BACKWARD, FORWARD, TOWARD
from linkmotion.views.grid import Column, Grid
from linkmotion.views.printout import OUT, Answer, Aside, Block, Heading, Point
from linkmotion.views.tables import CAUTION, Shown

TURNED_WORDS = {
    NOT_NOTED: "turning not noted",
    FORWARD: "turned forward",
    BACKWARD: "turned backward",
    TOWARD: "toward the dead centre",
}
"""How the wheel was turned to a pair of marks, in words."""
_WORK = (
    "Make every mark with the play taken up the same way: run past it and come back, so that each is come up to moving "
    "toward the dead centre; or turn through both ways and use the mean. Set the wheel to the dead centre's mark from "
    "the one side only, for every lead."
)


class OnTyre:
    """Angles as lengths along the tyre where its size is known, else degrees.

    Parameters
    ----------
    diameter, unit : float or None, str
        Of the tyre where the marks are made, mm; of what is shown.

    Examples
    --------
    >>> OnTyre(1000.0, "mm").with_unit(1.0), OnTyre(None, "mm").with_unit(1.0)
    ('8.73 mm (1.000°)', '1.000°')
    """

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
        """The angle as shown, and in degrees.

        Parameters
        ----------
        degrees : float
            Of the wheel.
        """
        return f"{degrees:.3f}°" if self.diameter is None else f"{self(degrees)} {self.unit} ({degrees:.3f}°)"


def tram_blocks(
    title: str,
    unit: str,
    tram: Tram | None,
    errors: LeadErrors,
    diameter: float | None,
    assumed: tuple[str, ...],
    in_files: bool = True,
) -> Iterator[Block]:
    """Both tables and what they mean.

    Parameters
    ----------
    title, unit : str
        What they are of; of lengths.
    tram, errors : Tram or None, LeadErrors
        Dead centres, if marks were given; what leads are read wrong by.
    diameter : float or None
        Of the tyre, mm; without it angles are told in degrees.
    assumed : tuple of str
        What was assumed, in words.
    in_files : bool
        Whether it is told what to write into a readings file.
    """
    show = OnTyre(diameter, unit)
    yield _answer(tram, errors, show, Shown(unit))
    yield Heading(title)
    if tram is not None:
        yield _dead_centre_table(tram, show)
        for line in remarks(tram, show, unit):
            yield Point(line.removeprefix(f"{OUT} "), OUT if line.startswith(OUT) else "·")
        if assumed:
            yield Point(f"assumed: {'; '.join(assumed)}")
        if in_files:
            yield Point(f"for the readings file, if leads are read at these marks: dead_centres = {how_near(tram)}")
    yield _lead_error_table(errors, show, Shown(unit))
    yield Aside(_WORK)
    yield Aside(CAUTION)


def how_near(tram: Tram) -> str:
    """How near the dead centres were found, as a readings file says it.

    Parameters
    ----------
    tram : Tram
        As found.
    """
    near = (f'{end} = "{max(centre.doubt, 0.001):.3f}°"' for end, centre in tram.centres.items())
    return f"{{ {', '.join(near)} }}"


def _answer(tram: Tram | None, errors: LeadErrors, show: OnTyre, length: Shown) -> Answer:
    """Where the dead centres are, or how wrong leads may be read, in one sentence."""
    if tram is None:
        by, most = show.with_unit(errors.out_by), f"{length.length(errors.worst)} {length.unit}"
        return Answer(f"With the wheel {by} off dead centre leads are read wrong by up to {most}.")
    found = "; ".join(
        f"{centre.end} dead centre at {show(centre.angle)} ± {show(centre.doubt)} {show.unit}"
        for centre in tram.centres.values()
    )
    sure = "the pairs agree" if tram.agree else "the pairs do not agree, so take them again"
    return Answer(f"From the datum mark on, {found}; {sure}.")


def _dead_centre_table(tram: Tram, show: OnTyre) -> Grid:
    """Each dead centre: its mark, its doubt, and what halving the marks leaves out."""
    heads = ("its\nmark", "within\n(95 %)", "halved\nmarks", "of that:\nline offset", "play in\nthe rod")
    figures = [Column(f"{head}\n{show.unit}") for head in heads]
    table = Grid(
        "Dead centres on the tyre, from the datum mark on",
        [Column("dead\ncentre", key=True), Column("pairs"), *figures],
    )
    for centre in tram.centres.values():
        table.row(centre.end, str(centre.pairs), *(show(each) for each in _figures(centre)))
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
    yield from _unsure(tram, show)
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


def _unsure(tram: Tram, show: OnTyre) -> Iterator[str]:
    either = "; ".join(f"{end} {show.with_unit(late)}" for end, late in tram.unsure.items())
    if either:
        yield (
            f"how the wheel was turned is not noted of every pair; play makes those halved marks late or early by: "
            f"{either}. The doubt holds either"
        )


def _lead_error_table(errors: LeadErrors, show: OnTyre, length: Shown) -> Grid:
    """What leads are read wrong by with the wheel so far from dead centre."""
    by = show.with_unit(errors.out_by)
    heads = [
        Column(f"{head}\n{length.unit}", over=f"{end} end") for end in errors.lead for head in ("lead", "past", "short")
    ]
    table = Grid(
        f"Lead read less true lead, wheel out by {by}, past and short of dead centre",
        [Column("notch", key=True, shared="{}"), *heads],
    )
    for i, notch in enumerate(errors.notches):
        cells = [
            length.length(float(each[end][i]))
            for end in errors.lead
            for each in (errors.lead, errors.after, errors.before)
        ]
        table.row(notch, *cells)
    return table
