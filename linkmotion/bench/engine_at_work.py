"""An engine that is worked on: its file, the engine read from it, and how its states stand, each turned once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from linkmotion.bench.files_beside import FilesBeside
from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.bench.kept_file import KeptFile
from linkmotion.commands.input import telling
from linkmotion.engine import Engine
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import Place, read_tables
from linkmotion.files.journal import Change, digest
from linkmotion.files.lines_edit import with_figure
from linkmotion.files.source import BOM
from linkmotion.studies.assess import Assessment
from linkmotion.studies.findings import findings
from linkmotion.studies.page_case import Memory
from linkmotion.studies.standing import Stand
from linkmotion.views.tables import Shown

T = TypeVar("T")
_STANDS, _STUDIES = 12, 4  # states and long studies kept at hand


class EngineAtWork:
    """One engine file of a folder.

    Attributes
    ----------
    kept : KeptFile
        Its text, and the changes of it.
    beside : FilesBeside
        Readings and marks that lie beside it.
    fault : FileError or None
        Why the text is no engine, where it is none.
    """

    def __init__(self, folder: FolderOfEngines, name: str) -> None:
        self.kept = KeptFile(folder, name)
        self.beside = FilesBeside(folder, name)
        self._memory = Memory()
        self._read: tuple[str, Engine | None, Mapping[str, Any]] | None = None
        self._last: Engine | None = None
        self._made: tuple[str, dict[tuple[str, ...], Any]] = ("", {})
        self._studies: dict[tuple[str, ...], Any] = {}
        self._stands: dict[tuple[str, str], Stand] = {}
        self.fault: FileError | None = None

    @property
    def name(self) -> str:
        """Of the file, without ending."""
        return self.kept.name

    @property
    def path(self) -> Path:
        """Of the file."""
        return self.kept.path

    @property
    def engine(self) -> Engine | None:
        """The engine as its file has it now; None where that cannot be read, and ``fault`` tells why."""
        with self.kept.lock:
            self.kept.look()
            return self._parsed(self.kept.text)

    def must(self) -> Engine:
        """The engine; its fault is raised where it cannot be read."""
        engine = self.engine
        if engine is None:
            raise self.fault or FileError(self.name, "this file cannot be read", "look at it in an editor")
        return engine

    def _parsed(self, text: str) -> Engine | None:
        mark = digest(text)
        if self._read is None or self._read[0] != mark:
            self.fault = None
            try:
                self._read = (mark, self.read(text), read_tables(text))
            except FileError as error:
                self._read, self.fault = (mark, None, {}), error
        return self._read[1]

    def read(self, text: str) -> Engine:
        """The engine of a text (FileError where it is none); what was read last is at hand."""
        if self._last is None or self._last.text != text.lstrip(BOM):
            self._last = parse_engine(text.lstrip(BOM), self.path.name)
        return self._last

    @property
    def document(self) -> Mapping[str, Any]:
        """The file's tables as written."""
        _ = self.engine
        assert self._read is not None
        return self._read[2]

    def once(self, name: tuple[str, ...], made: Callable[[], T]) -> T:
        """Something of the text as it is, made once for it."""
        mark = self._read[0] if self._read else ""
        if self._made[0] != mark:
            self._made = (mark, {})
        if name not in self._made[1]:
            self._made[1][name] = made()
        return self._made[1][name]  # type: ignore[no-any-return]

    def change_figure(
        self,
        place: Place,
        value: Any,
        words: str | Callable[[str, str], str],
        seen: int,
        key: str,
        remedy: str = "nothing was changed",
    ) -> Change | None:
        """Write one figure of the file anew: as :meth:`change_figures`, of one ``place`` and its ``value``."""
        return self.change_figures({place: value}, words, seen, key, remedy)

    def change_figures(
        self,
        values: Mapping[Place, Any],
        words: str | Callable[[str, str], str],
        seen: int,
        key: str,
        remedy: str = "nothing was changed",
    ) -> Change | None:
        """Write figures of the file anew, all or none, where an engine file may hold them so.

        Parameters
        ----------
        values : dict
            Where each stands, and what is to stand there; GONE takes it out.
        words, seen : str or callable, int
            As for :meth:`.KeptFile.change`.
        key, remedy : str
            How they are named, and what to do, where they cannot be written there.

        Raises
        ------
        FileError
            It cannot be so; the file is as it was.
        """

        def made(text: str) -> str:
            for place, value in values.items():
                text = with_figure(text, place, value)
            return text

        return self.change_text(made, words, seen, tuple(values), key, remedy)

    def change_text(
        self,
        made: Callable[[str], str],
        words: str | Callable[[str, str], str],
        seen: int,
        places: tuple[Place, ...],
        key: str,
        remedy: str = "nothing was changed",
    ) -> Change | None:
        """The same by a text made of the present one; ``made`` raises ValueError where it cannot be written."""

        def seen_to(text: str) -> str:
            try:
                new = made(text)
            except ValueError as error:
                raise FileError(self.path.name, str(error), remedy, key=key) from None
            if new != text:
                self.read(new)  # refuses what no engine file may hold
            return new

        return self.kept.change(seen_to, words, seen, places)

    @property
    def shown(self) -> Shown:
        """How lengths are shown."""
        return Shown(self.must().unit)

    def kept_of(self, name: str) -> KeptFile:
        """The engine's own file for "", else one beside it (FileError where there is none)."""
        return self.beside.kept(name) if name else self.kept

    def study(self, name: tuple[str, ...], made: Callable[[], T]) -> T:
        """A long study of the text as it is and of whatever its name says besides; the last few are at hand."""
        key = (digest(self.must().text), *name)
        if key not in self._studies:
            self._studies = dict([*self._studies.items(), (key, made())][-_STUDIES:])
        return self._studies[key]  # type: ignore[no-any-return]

    def stand(self, state: str, engine: Engine | None = None) -> Stand:
        """How a state stands, as it stands; every side, all notches.

        Parameters
        ----------
        state : str
            By name.
        engine : Engine, optional
            Another text of the same file; as it is now unless given.

        Raises
        ------
        FileError
            The gear cannot be turned.
        """
        engine = engine or self.must()
        key = (digest(engine.text), state)
        with self.kept.lock:
            if key not in self._stands:
                with telling(engine, Path(self.path.name)):
                    found = self._assessed(engine, state)
                    made = Stand(found, findings(found))
                self._stands = dict([*self._stands.items(), (key, made)][-_STANDS:])
            return self._stands[key]

    def stood(self, state: str, mark: str) -> Stand | None:
        """How a state stood with another text of the file, where that is at hand.

        Parameters
        ----------
        state, mark : str
            By name; the digest of the text.
        """
        return self._stands.get((mark, state))

    def _assessed(self, engine: Engine, state: str) -> Assessment:
        first, *others = (engine.side_state(state, side) for side in engine.sides)
        own = self._memory.side(first)
        rest = (replace(own, side=each.side) if each.alike(first) else self._memory.side(each) for each in others)
        return Assessment(engine, state, (own, *rest))
