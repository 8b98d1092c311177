"""A bench killed at random moments while something is entered: of every kind of thing that is typed."""

from __future__ import annotations

import random
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.entering import Wish, carry_out
from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.bench.kept_file import KeptFile
from linkmotion.bench.marks_typed import enter_mark, pairs
from linkmotion.bench.readings_typed import enter_reading
from linkmotion.bench.screens import hold_screen, pins_screen, repairs_screen, setting_screen
from linkmotion.files.engine_file import parse_engine
from linkmotion.files.figure_edit import read_tables, typed
from linkmotion.files.readings_edit import RowPlace, reading_at
from linkmotion.files.readings_file import read_readings
from linkmotion.files.tram_file import read_tram_marks
from tests.bench_at import DOCK, EXAMPLES, ROD, laid_out

WINKLE = "winkle"
_DRAWN = {"state": "drawing", "side": "left"}
_MID = RowPlace("left", "mid", "lead", "", None, 0)


@dataclass(frozen=True)
class Kind:
    """A kind of thing that is entered.

    Attributes
    ----------
    engine : str
        Of the examples.
    enter : callable
        Enters a value.
    before : str
        What the value has before the number in it, and how its key begins in the file.
    file : str
        The file that it goes into, of those beside the engine's; "" for that.
    """

    engine: str
    enter: Callable[[EngineAtWork, str], Any]
    before: str
    file: str = ""

    def value(self, number: int) -> str:
        """The value of an entry."""
        return f"{self.before}{number:06d} in"

    def found(self, text: str) -> int:
        """The entry that a text holds; 0 while it has none."""
        own = re.search(rf'"{re.escape(self.before)}(\d{{6}}) in"', text)
        return int(own[1]) if own else 0

    def kept(self, work: EngineAtWork) -> KeptFile:
        """The file that it goes into."""
        return work.kept_of(self.file)

    def see_whole(self, folder: Path) -> None:
        """See that the file can be used as it lies there; FileError where it cannot."""
        engine = parse_engine((folder / f"{self.engine}.toml").read_text("utf-8"))
        if self.file == "readings.toml":
            read_readings(folder / self.file, engine)
        elif self.file:
            read_tram_marks(folder / self.file, engine.unit)


def _of_table(screen: Any, name: str, **more: str) -> Callable[[EngineAtWork, str], Any]:
    def enter(work: EngineAtWork, value: str) -> None:
        screen.takes(work, {"do": "figure", "name": name, "value": value, "seen": work.kept.version, **more})

    return enter


def _figure(work: EngineAtWork, value: str) -> None:
    carry_out(work, Wish("figure", work.kept.version, "as found", "left", ROD, value))


def _reading(work: EngineAtWork, value: str) -> None:
    kept = work.kept_of("readings.toml")
    was = typed(reading_at(read_tables(kept.text), _MID, "front"))
    enter_reading(work, kept, {"box": "front", "value": value, "was": was, **vars(_MID)})


def _mark(work: EngineAtWork, value: str) -> None:
    kept = work.kept_of("marks.toml")
    was = pairs(read_tables(kept.text))[0]["marks"][0]
    enter_mark(kept, work.must(), {"number": 0, "which": "0", "value": value, "was": was})


KINDS = {
    "figure": Kind(DOCK, _figure, "31."),
    "repair": Kind(WINKLE, _of_table(repairs_screen, 'repair."bush the left side".metal'), "0.0"),
    "pin": Kind(WINKLE, _of_table(pins_screen, 'pins."crank pin".pin'), "3."),
    "tolerance": Kind(
        WINKLE, _of_table(hold_screen, "tolerances.crosshead.arm_x", state="drawing", side="left"), "0.00"
    ),
    "adjustment": Kind(WINKLE, _of_table(setting_screen, "adjustments.expansion_link.trunnion_x.most"), "0.7"),
    "reading": Kind(WINKLE, _reading, "0.1", "readings.toml"),
    "mark": Kind(WINKLE, _mark, "3.", "marks.toml"),
}


def laid_out_for(kind: Kind, folder: Path) -> None:
    """A folder in which it can be entered."""
    if kind.engine == WINKLE:
        shutil.copytree(EXAMPLES / WINKLE, folder, dirs_exist_ok=True)
    else:
        laid_out(folder)


def enter_for_ever(name: str, folder: Path, number: int, out: IO[str]) -> None:
    """Enter one kind of thing as fast as can be, and say of each that it was answered."""
    kind = KINDS[name]
    work = EngineAtWork(FolderOfEngines(folder), kind.engine)
    while True:
        number += 1
        kind.enter(work, kind.value(number))
        print(number, flush=True, file=out)


def by_itself(name: str, folder: Path, last: int) -> subprocess.Popen[bytes]:
    """The same in a process of its own."""
    script = "import sys, pathlib; from tests.killed import enter_for_ever as e; "
    script += "e(sys.argv[1], pathlib.Path(sys.argv[2]), int(sys.argv[3]), sys.stdout)"
    command = [sys.executable, "-c", script, name, str(folder), str(last)]
    return subprocess.Popen(command, stdout=subprocess.PIPE)


def killed_at_random(name: str, folder: Path, times: int, seed: int, begun: Any = by_itself) -> list[tuple[int, int]]:
    """Enter one kind of thing and be killed: what was answered last, and what is found then, each time."""
    rng, last, found, kind = random.Random(seed), 0, [], KINDS[name]
    for _ in range(times):
        with begun(name, folder, last) as run:
            assert run.stdout is not None
            first = run.stdout.readline()
            assert first, "it entered nothing"
            time.sleep(rng.random() * 0.5)
            run.send_signal(signal.SIGKILL)
            answered = [int(line) for line in (first + run.stdout.read()).splitlines() if line]
        kind.see_whole(folder)  # as it lies there
        kept = kind.kept(EngineAtWork(FolderOfEngines(folder), kind.engine))
        assert kept.text == kept.path.read_text("utf-8") == kept.journal.text
        assert [change.kind for change in kept.journal.changes[1:]].count("outside") == 0
        last = kind.found(kept.text)
        found.append((answered[-1], last))
    return found
