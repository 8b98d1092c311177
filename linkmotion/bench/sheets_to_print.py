"""Sheets to print and files to take away, made when they are asked for; nothing of them is written into the folder."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from linkmotion.bench.pages import sheet_policy
from linkmotion.bench.screen import Asked
from linkmotion.commands.input import telling
from linkmotion.sides import side_words
from linkmotion.studies.assess import assess

HTML, PDF, DXF = "text/html", "application/pdf", "image/vnd.dxf"


@dataclass(frozen=True)
class MadeSheet:
    """A sheet as it goes to the browser: its bytes, what they are, its name, whether it is only to be taken away."""

    data: bytes
    media: str
    name: str
    away: bool = False

    @property
    def headers(self) -> dict[str, str]:
        """What the page may do; and that a drawing for other programs is kept, while the rest is shown."""
        way = "attachment" if self.media == DXF or self.away else "inline"
        return {
            "Content-Security-Policy": sheet_policy(self.data.decode())
            if self.media == HTML
            else "frame-ancestors 'none'",
            "Content-Disposition": f"{way}; filename*=UTF-8''{quote(self.name, safe='')}",
        }


@dataclass(frozen=True)
class Sheet:
    """A sheet that can be asked for.

    Attributes
    ----------
    name, title, words : str
        In the address; on the page; what it is for.
    made : callable
        From what is asked to the sheet.
    screen : str
        Whose choices it knows.
    listed : bool
        Whether it stands among the sheets of an engine; else a screen of its own leads to it.
    there : callable
        Whether there is anything to print.
    """

    name: str
    title: str
    words: str
    made: Callable[[Asked], MadeSheet]
    screen: str = "sheets"
    listed: bool = True
    there: Callable[[Asked], bool] = lambda _asked: True


def _page(asked: Asked, name: str, text: str | bytes) -> MadeSheet:
    return MadeSheet(text.encode() if isinstance(text, str) else text, HTML, f"{asked.work.name}-{name}.html")


def _report(asked: Asked) -> MadeSheet:
    from linkmotion.commands.check import doubts_of
    from linkmotion.studies.standing import how_it_stands
    from linkmotion.views.report import report_files
    from linkmotion.views.request import REPORT, Request

    request = Request(asked.path, (asked.state,), asked.side)
    with telling(asked.engine, asked.path):
        found = [how_it_stands(asked.engine, asked.state, asked.sides)]
        doubts = doubts_of(asked.engine, found)
    return _page(asked, "report", report_files(request, found, doubts, asked.progress)[REPORT])


def _measuring(asked: Asked) -> MadeSheet:
    from linkmotion.views.measuring_parts import Measured
    from linkmotion.views.measuring_sheets import measuring_sheets

    measured = Measured(asked.engine.gear_type, asked.engine, True, asked.state, asked.engine.unit)
    with telling(asked.engine, asked.path):
        return _page(asked, "measuring", measuring_sheets(measured))


def _readings(asked: Asked) -> MadeSheet:
    from linkmotion.views.readings_sheet import readings_sheet

    with telling(asked.engine, asked.path):
        sides = assess(asked.engine, asked.state, asked.sides).sides
    return _page(asked, "readings", readings_sheet(asked.engine, sides, asked.engine.unit))


def _phone(asked: Asked) -> MadeSheet:
    from linkmotion.views.phone.phone_page import phone_page

    with telling(asked.engine, asked.path):
        text = phone_page(asked.engine, assess(asked.engine, asked.state, asked.sides).sides, asked.engine.unit)
    return MadeSheet(text.encode(), HTML, f"{asked.work.name}-telephone.html", True)


def _card(asked: Asked) -> MadeSheet:
    from linkmotion.commands.card import CardRequest, made_of_card

    request = CardRequest(asked.path, asked.state, asked.sides[0])
    made = made_of_card(request, asked.engine, lambda _stage: asked.progress)
    return MadeSheet(made.sheets, PDF, f"{asked.work.name}-card.pdf")


def _pins(asked: Asked) -> MadeSheet:
    from linkmotion.commands.pins import PinsRequest, schedule
    from linkmotion.views.pins_sheet import pins_sheet

    return _page(asked, "pins", pins_sheet(schedule(PinsRequest(asked.path, asked.state), asked.engine)))


def _job_cards(asked: Asked) -> MadeSheet:
    from linkmotion.bench.screens.repairs_screen import request_of
    from linkmotion.commands.job_work import job_details
    from linkmotion.commands.repairs import weighed
    from linkmotion.views.job_cards import job_cards

    with telling(asked.engine, asked.path):
        weigher, found, work = weighed(request_of(asked), asked.engine, asked.progress)
        details = job_details(asked.engine, asked.path, asked.state, work)
    text = job_cards(asked.engine, asked.state, weigher.standing, found, work, Path(asked.path.name), details)
    return _page(asked, "job-cards", text)


def _machining(asked: Asked) -> MadeSheet:
    from linkmotion.bench.screens.slot_screen import proposal_of, work_of
    from linkmotion.views.machining_sheet import sheet

    work = work_of(asked)
    own = proposal_of(asked, work)
    return _page(asked, "slot", sheet(work, own, _of_slot(asked), asked.engine.unit, _dxf_name(asked, own.name)))


def _dxf(asked: Asked) -> MadeSheet:
    from linkmotion.bench.screens.slot_screen import proposal_of, work_of
    from linkmotion.views.machining_sheet import dxf_drawing

    work = work_of(asked)
    own = proposal_of(asked, work)
    text = dxf_drawing(work, own, _of_slot(asked), asked.engine.unit)
    return MadeSheet(text.encode(), DXF, _dxf_name(asked, own.name))


def _dxf_name(asked: Asked, proposal: str) -> str:
    return re.sub(r"\W+", "-", f"{asked.work.name} {asked.side} slot {proposal}") + ".dxf"


def _of_slot(asked: Asked) -> str:
    return f"{asked.engine.name}: {asked.state}, {side_words(asked.side)}"


SHEETS: dict[str, Sheet] = {
    own.name: own
    for own in (
        Sheet("report", "Report", "Events, findings and pictures of the state that is chosen.", _report),
        Sheet(
            "measuring", "Measuring sheets",
            "To measure by and to write on, part by part; the last is for the marks of the wheel.", _measuring,
        ),
        Sheet("readings", "Readings sheet", "To write on at the engine what is read in each notch.", _readings),
        Sheet("pins", "Pins and bushes", "What to bore and turn for every joint.", _pins, "pins",
              there=lambda asked: "[pins" in asked.engine.text),
        Sheet("job-cards", "Job cards", "A card for each job that is chosen.", _job_cards, "repairs",
              there=lambda asked: bool(asked.engine.repairs)),
        Sheet("card", "Card model", "The gear of the side that is chosen, to be cut out and to move (PDF).", _card),
        Sheet("phone", "Readings on a telephone", "One file to take to the engine.", _phone, listed=False),
        Sheet("machining", "Machining sheet", "A slot clean-up for the machinist.", _machining, "slot", listed=False),
        Sheet("dxf", "Machining drawing", "The same for other programs.", _dxf, "slot", listed=False),
    )
}  # fmt: skip
