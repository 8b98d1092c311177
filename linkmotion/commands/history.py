"""``linkmotion history``: what was found and done on an engine or a part, when, by whom; what was altered since."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from linkmotion.commands.input import engine_with, table_named
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.engine_history import History
from linkmotion.files.faults import FileError, nearest
from linkmotion.files.outputs import Outputs
from linkmotion.files.photographs import photographs
from linkmotion.files.records_beside import all_entries
from linkmotion.files.seals import Seal, add_to_record, read_seals, seal_file, seals_now
from linkmotion.files.since_recorded import Altered, alterations, unsound
from linkmotion.files.source import Source, dotted
from linkmotion.files.written import written_figures
from linkmotion.studies.record_history import Entry, WrittenFigure, changes, state_on
from linkmotion.studies.row_figures import measured
from linkmotion.views.paper import PaperPage
from linkmotion.views.printout import Block, print_json, show


@dataclass(frozen=True)
class HistoryRequest:
    """What the user asked for.

    Attributes
    ----------
    engine : Path
        Engine file.
    part : str
        A table of the gear; the whole engine if "".
    since, until : str
        Days (2026-11-30) between which is told, and what changed; "" for no bound.
    record_again : tuple of str
        States (or "drawing") to be recorded again as they are now.
    look : bool
        Whether nothing is recorded.
    dossier : Path or None
        HTML page with everything, photographs too.
    paper : str
        Paper for which the page is written as PDF too; "" for none.
    replace, json : bool
        Whether the user's own files may be written over; everything as JSON, nothing recorded.
    """

    engine: Path
    part: str = ""
    since: str = ""
    until: str = ""
    record_again: tuple[str, ...] = ()
    look: bool = False
    dossier: Path | None = None
    paper: str = ""
    replace: bool = False
    json: bool = False


def run_history(request: HistoryRequest, today: date | None = None) -> int:
    """Tell it; 1 when something was altered since it was recorded or a photograph is missing, else 0.

    Raises
    ------
    FileError
        Wrong input.
    """
    day = today or date.today()
    record = seal_file(request.engine)
    outputs = Outputs((request.engine, record), request.replace)
    page = PaperPage.into(request.dossier, outputs, request.paper) if request.dossier else None
    if request.paper and page is None:
        raise FileError("--paper", "a paper for no page", "give --dossier too: the page that is to be printed")
    engine = engine_with(request.engine)
    found = history_of(request, engine, record, day)
    if page is not None:
        from linkmotion.views.dossier import dossier

        page.write(dossier(found))
    if request.json:
        print_json("history", engine.unit, _data(found))
    else:
        show(_blocks(found, request.dossier))
    return int(found.wrong)


def history_of(request: HistoryRequest, engine: Engine, record: Path, today: date) -> History:
    """What was found and done; what is not recorded yet is recorded, unless the request is to look only.

    Parameters
    ----------
    request, engine : HistoryRequest, Engine
        What was asked for; as read.
    record, today : Path, date
        The file of records beside the engine's; the day of what is recorded now.

    Raises
    ------
    FileError
        Wrong input.
    """
    part = table_named(engine, request.engine, request.part) if request.part else ""
    since, until = _day(request.since, "--since"), _day(request.until, "--until")
    if since and until and until < since:
        raise FileError("--until", f"{until} is before {since}", "give the earlier day as --since")
    entries, beside = all_entries(engine, request.engine, part)
    within = [own for own in entries if own.on is None or _within(own.on, since, until)]
    recorded, altered, faults = _recorded(request, engine, record, today)
    between, changed = None, []
    if since or until:
        between = (
            state_on(engine, (since or date.min) - timedelta(1)) if since else DRAWING,
            state_on(engine, until or date.max),
        )
        changed = [own for own in changes(engine, written_figures(engine), *between) if not part or _is_part(own, part)]
    places = {own.where for own in within}
    photos = photographs(
        {where: own for where, own in engine.records.items() if where in places}, request.engine.parent
    )
    photos += [own for each in beside for own in each.photos() if own.where in places]
    return History(
        engine, part, within, len(entries) - len(within), (since, until), between, changed, altered, faults, recorded,
        record, photos,
    )  # fmt: skip


def _is_part(figure: WrittenFigure, part: str) -> bool:
    return figure.dimension.split(".")[0] == part


def _within(day: date, since: date | None, until: date | None) -> bool:
    return (since is None or day >= since) and (until is None or day <= until)


def _day(text: str, option: str) -> date | None:
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise FileError(option, f"read {text!r}, which is no day", "write it as 2026-11-30") from None


def _recorded(
    request: HistoryRequest, engine: Engine, record: Path, today: date
) -> tuple[list[Seal], list[Altered], list[str]]:
    """What is recorded now; what differs from the record; what is wrong with the record itself."""
    old = Source.read(record).text if record.exists() else ""
    seals = read_seals(record)
    current = {own.what: own for own in seals_now(engine, today)}
    known = {own.what for own in seals}
    fresh = [own for own in current.values() if own.what not in known]
    for wish in request.record_again:
        what = wish if wish == DRAWING or wish in known else dotted(("state", wish))
        if what not in known:
            raise FileError("--record-again", f"{wish!r} has not been recorded yet", nearest(what, sorted(known)))
        fresh.append(current.get(what, Seal(what, None, today, {})))
    write = not request.look and not request.json
    if request.record_again and not write:
        raise FileError("--record-again", "nothing is recorded with --look or --json", "leave them out")
    if fresh and write:
        add_to_record(record, old, fresh, request.engine)
        seals = read_seals(record)
    return (fresh if write else []), alterations(engine, seals, today), unsound(record, seals)


def _blocks(found: History, dossier: Path | None) -> Iterator[Block]:
    from linkmotion.views.history_words import history_blocks
    from linkmotion.views.printout import Said

    yield from history_blocks(found)
    if dossier is not None:
        yield Said(f"Dossier: {dossier}", str(dossier))


def _data(found: History) -> dict[str, Any]:
    """Everything as plain data."""
    return {
        "engine": found.engine.name,
        "part": found.part or None,
        "since": None if found.days[0] is None else found.days[0].isoformat(),
        "until": None if found.days[1] is None else found.days[1].isoformat(),
        "entries": [_entry(own) for own in found.entries],
        "on_other_days": found.outside,
        "changes": None
        if found.between is None
        else {"from": found.between[0], "to": found.between[1], "figures": [_figure(own) for own in found.changed]},
        "altered": [
            {"what": own.seal.what, "dated": _iso(own.seal.dated), "recorded": _iso(own.seal.recorded),
             "key": own.key or None, "was": own.was, "now": own.now, "recorded_again": _iso(own.again)}
            for own in found.altered
        ],
        "record": str(found.record),
        "record_altered": found.unsound,
        "photos": [
            {"place": dotted(own.where), "photo": own.name, "problem": own.problem or None,
             "remedy": own.remedy or None}
            for own in found.photos
        ],
    }  # fmt: skip


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _entry(own: Entry) -> dict[str, Any]:
    record = own.record
    return {
        "place": dotted(own.where), "file": own.file or None, "state": own.state or None,
        "side": own.side or None, "table": own.table or None,
        "on": _iso(own.on), "own_day": own.own_day, "by": record.by or None, "with": record.instrument or None,
        "note": record.note or None, "photos": list(record.photos), "from_engine": record.from_engine or None,
        "based_on": own.based_on or None, "set_afresh": own.set_afresh,
        "figures": [_figure(figure) for figure in own.figures],
    }  # fmt: skip


def _figure(own: WrittenFigure) -> dict[str, Any]:
    return {
        "side": own.side or None, "dimension": own.dimension, "written": own.written, "before": own.before or None,
        "by": None if own.by is None else measured(own.by, own.unit), "unit": own.unit or None,
    }  # fmt: skip
