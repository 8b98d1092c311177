"""The pages of one engine: a screen, what follows from an entry, the drawing; as text, whoever serves them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.figure_tried import tried
from linkmotion.bench.figures_of_parts import parts
from linkmotion.bench.filling import steps, wanted
from linkmotion.bench.folder_of_engines import in_address
from linkmotion.bench.looked_at import LookedAt, asked_of, looked_at, offered
from linkmotion.bench.pages import page, sheet_policy
from linkmotion.bench.screen import Answered, Progress, Screen, screens
from linkmotion.bench.screens.side_screen import followed
from linkmotion.bench.sheets_to_print import MadeSheet, Sheet
from linkmotion.bench.side_picture import Drawings, Moment, bare_part_svg, bare_svg
from linkmotion.commands.input import telling
from linkmotion.engine import DRAWING, Engine
from linkmotion.files.faults import FileError, one_line
from linkmotion.files.figure_edit import read_tables
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.gears import GEARS
from linkmotion.sides import BOTH, side_words, sides_meant
from linkmotion.views.printout import Answer, Block
from linkmotion.views.word_list import shown_on

_AROUND = 3  # lines shown before and after one that cannot be read


class EnginePages:
    """One engine's pages.

    Attributes
    ----------
    work : EngineAtWork
        The engine's file.
    root, name : str
        Path of the bench; the engine's name as the bench lists it, where that is not the file's own.
    drawings : Drawings
        Of its side.
    """

    def __init__(self, work: EngineAtWork, root: str, name: str = "") -> None:
        self.work, self.root = work, root
        self.drawings = Drawings(work)
        self.here = f"{root}e/{in_address(name or work.name)}/"

    def screen(self, screen: Screen, asked: Mapping[str, str], word: str = "") -> str:
        """A screen's page; of a long study without its answer, which the page asks for by a word."""
        engine = self.work.engine
        if engine is None:
            return self._unread(screen)
        at = self._at(engine, screen, asked)
        own = asked_of(self.work, engine, at)
        frame = self._frame(screen, engine, at) | dict(screen.beside(own))
        if screen.long and word:
            later = f"{self.here}{screen.name}/answer?{at.whole}&word={word}"
            return page(screen.template, **frame, blocks=(), later=later)
        try:
            return page(screen.template, **frame | {"later": ""} | _shown(screen.answer(own)))
        except FileError as error:
            return page("screen.html", **frame, later="", blocks=_fault(error))

    def answer(self, screen: Screen, asked: Mapping[str, str], progress: Progress) -> str:
        """The answer of a long study alone."""
        engine = self.work.must()
        at = self._at(engine, screen, asked)
        own = asked_of(self.work, engine, at, progress)
        try:
            frame = {"here": self.here, "query": at.query, "whole": at.whole, "screen": screen}
            return page(screen.answer_template, **frame | _shown(screen.answer(own)))
        except FileError as error:
            return page("answer.html", blocks=_fault(error))

    def sheet(self, screen: Screen, asked: Mapping[str, str], progress: Progress) -> tuple[str, str]:
        """A screen's page to print, and what it may do; FileError where there is none."""
        if screen.sheet is None:
            raise FileError(screen.name, "there is no sheet of this", "go back to the page before")
        engine = self.work.must()
        text = screen.sheet(asked_of(self.work, engine, self._at(engine, screen, asked), progress))
        return text, sheet_policy(text)

    def _at(self, engine: Engine, screen: Screen, asked: Mapping[str, str]) -> LookedAt:
        """What an address asks for, with the file beside the engine's that is meant: of those that there are."""
        at = looked_at(engine, screen, asked)
        if not screen.file:
            return at
        there = list(self.work.beside.listed(screen.file, engine.name))
        chosen = at.options.get(screen.file, "")
        chosen = chosen if chosen in there else next(iter(there), "")
        return replace(at, options={**at.options, screen.file: chosen})

    def sheet_to_print(self, sheet: Sheet, asked: Mapping[str, str], progress: Progress) -> MadeSheet:
        """A sheet to be printed, or a file to take away."""
        engine = self.work.must()
        at = looked_at(engine, screens()[sheet.screen], asked)
        return sheet.made(asked_of(self.work, engine, at, progress))

    def moving(self, progress: Progress) -> tuple[str, str]:
        """The page on which the engine moves, and what it may do."""
        from linkmotion.studies.page_data import page_data
        from linkmotion.views.moving.page import page as moving_page
        from linkmotion.views.moving.page import policy, scripts

        engine = self.work.must()
        with telling(engine, self.work.path):
            return moving_page(
                page_data(engine, progress=progress)
            ), f"{policy(scripts())}; base-uri 'none'; form-action 'none'"

    def _frame(self, screen: Screen, engine: Engine, at: LookedAt) -> dict[str, Any]:
        """What stands round every screen."""
        done, undone = self.work.kept.journal.standing()
        side, sides = sides_meant(at.side, engine.sides)[0], engine.sides
        return {
            "root": self.root, "here": self.here, "screen": screen, "screens": list(screens().values()),
            "engine_name": engine.name, "file": self.work.path.name, "gear": engine.gear_type.name,
            "version": self.work.kept.version, "can_undo": bool(done), "can_redo": bool(undone),
            "chooses": screen.chooses, "choices": offered(engine, screen, at), "states": engine.state_names,
            "notches": list(engine.side_state(at.state, side).notches), "query": at.query,
            "files": list(self.work.beside.listed(screen.file, engine.name)) if screen.file else [],
            "file_kind": screen.file, "file_chosen": at.options.get(screen.file, ""), "worked_on": "",
            "unit_name": UNIT_NAMES[engine.unit],
            "state": at.state, "side": at.side, "notch": at.notch, "whose": side_words(side),
            "sides": {own: side_words(own) for own in (*sides, *(BOTH,) * (len(sides) > 1))},
        }  # fmt: skip

    def _unread(self, screen: Screen) -> str:
        """The page of a file that is no engine, or not yet."""
        fault, done = self.work.fault, self.work.kept.journal.standing()
        assert fault is not None
        head, found = _head(self.work), steps(self.work)
        unfilled = [number for number, step in enumerate(found) if step.wanted]
        unfilled += [number for number, step in enumerate(found) if fault.key in step.names]
        return page(
            "unread.html", root=self.root, here=self.here, screen=screen, screens=[], chooses=(), choices=[],
            engine_name=head.get("name", self.work.name), file=self.work.path.name, gear=head.get("gear", ""),
            version=self.work.kept.version, can_undo=bool(done[0]), can_redo=bool(done[1]), query="", fault=fault,
            steps=found, open_step=(unfilled or [0])[0], wanted=wanted(self.work),
            picture=bare_svg(head["gear"]) if found else "", unit_name=UNIT_NAMES.get(head.get("unit", ""), ""),
            excerpt=self._excerpt(fault.line), state=DRAWING, files=[], worked_on="",
        )  # fmt: skip

    def _excerpt(self, line: int | None) -> str:
        lines = self.work.kept.text.splitlines()
        if line is None or not lines:
            return ""
        first = max(line - 1 - _AROUND, 0)
        return "\n".join(
            f"{'>' if number == line else ' '} {number:4d}  {one_line(text, 160)}"
            for number, text in enumerate(lines[first : line + _AROUND], first + 1)
        )

    def after(self, asked: Mapping[str, str], name: str) -> dict[str, Any]:
        """What a page shows anew once a figure was entered: what follows, the figure, how many of its part."""
        engine, screen = self.work.must(), screens()["side"]
        at = looked_at(engine, screen, asked)
        own = asked_of(self.work, engine, at)
        follows = page(
            "follows.html", state=at.state, side=at.side, notch=at.notch, **{"drawn_known": False} | followed(own)
        )
        found: dict[str, Any] = {"follows": follows}
        for part in parts(self.work, at.state, at.side):
            for figure in (*part.figures, *part.more):
                if figure.name == name:
                    found["figure"] = {"own": figure.own, "stands": figure.stands, "whence": figure.whence,
                                       "of_side": bool(figure.layer),
                                       "drawn": figure.drawn, "worked": figure.worked}  # fmt: skip
                    found["part"] = {"name": part.name, "changed": part.changed}
        return found

    def word(self, asked: Mapping[str, str]) -> str:
        """The part on which a word is shown, lit in the drawing; "" where there is none."""
        part = shown_on(asked.get("word", ""))
        if not part:
            return ""
        engine = self.work.engine
        if engine is None:
            gear = _head(self.work).get("gear", "")
            return bare_part_svg(gear, part) if gear in GEARS else ""
        at = looked_at(engine, screens()["side"], asked)
        try:
            side = sides_meant(at.side, engine.sides)[0]
            return self.drawings.part_svg(Moment(at.state, side, at.notch, 40.0), part)
        except FileError:
            return bare_part_svg(engine.gear_type.name, part)

    def tried(self, asked: Mapping[str, str]) -> dict[str, Any]:
        """What would follow from a dimension slid by a share of its reach; nothing is written."""
        engine = self.work.must()
        at = looked_at(engine, screens()["side"], asked)
        try:
            share, moment = float(asked.get("share", "0")), _moment(engine, at, asked)
        except (ValueError, OverflowError):
            raise FileError("share", "this cannot be understood", "load the page anew") from None
        found = tried(self.work, at.state, at.side, asked.get("name", ""), share)
        told = {"drawn_known": False} | followed(asked_of(self.work, engine, at), found.stand)
        own = found.stand.assessment.sides[engine.sides.index(moment.side)]
        follows = page("follows.html", state=at.state, side=at.side, notch=at.notch, **told)
        return {"value": found.value, "picture": self.drawings.svg(moment, own), "follows": follows}

    def picture(self, asked: Mapping[str, str]) -> str:
        """The drawing with a line on how the valve stands in it."""
        engine = self.work.must()
        at = looked_at(engine, screens()["side"], asked)
        try:
            moment = _moment(engine, at, asked)
            return f"{self.drawings.svg(moment)}{page('caption.html', words=self.drawings.words(moment))}"
        except (ValueError, OverflowError) as error:
            told = error.problem if isinstance(error, FileError) else "this is no crank angle"
            return page("caption.html", words=f"Not drawn: {told}.")


def _moment(engine: Engine, at: LookedAt, asked: Mapping[str, str]) -> Moment:
    """What of the side is drawn; ValueError where the crank angle is none."""
    angle = float(asked.get("angle", "40")) % 360.0
    return Moment(at.state, sides_meant(at.side, engine.sides)[0], at.notch, round(angle, 3))


def _shown(found: Answered) -> dict[str, Any]:
    """What a template shows of an answer."""
    return {"blocks": list(found.blocks), **found.told}


def _fault(error: FileError) -> list[Block]:
    """Why there is no answer, as blocks."""
    return [Answer(f"This cannot be told: {error.plain}")]


def _head(work: EngineAtWork) -> dict[str, str]:
    """What the file says of itself, as far as it can be read."""
    try:
        head = read_tables(work.kept.text).get("engine")
    except (ValueError, RecursionError):
        return {}
    return {key: str(value)[:200] for key, value in head.items()} if isinstance(head, dict) else {}
