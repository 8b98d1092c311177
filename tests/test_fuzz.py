"""Files made wrong at random: each is read or refused, in its time, without a word of Python's own.

The same files every time. Many more, and more commands: ``python -m tests.benchmarks.fuzz``.
"""

from __future__ import annotations

import warnings
from collections import Counter
from pathlib import Path

import pytest

from linkmotion.commands import input
from linkmotion.engine import Engine
from linkmotion.files.engine_file import read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.readings_file import read_readings
from tests.bad_engines.command import Run, assert_refused
from tests.fuzzing import LONGEST, USUAL, Hang, in_time, judged
from tests.mutated_files import EXAMPLES, Mutant, mutants

COUNTS = {"engine": 140, "marks": 44, "slot": 28}
READINGS = {"readings": 46, "table": 46}


@pytest.mark.parametrize("kind", COUNTS)
def test_a_file_made_wrong_is_worked_on_or_refused(kind: str, tmp_path: Path) -> None:
    found: Counter[str] = Counter()
    for mutant in mutants(kind, COUNTS[kind]):
        how, told = judged(mutant, tmp_path, USUAL[kind])
        assert how in ("within", "out", "refused"), f"{mutant.how}: {how}\n{told}"
        found[how] += 1
    assert found.total() == COUNTS[kind]
    assert min(found["refused"], found["within"] + found["out"]) > COUNTS[kind] / 10, "the files are neither all wrong"


@pytest.mark.parametrize("kind", READINGS)
def test_readings_made_wrong_are_read_or_refused(kind: str, tmp_path: Path) -> None:
    read = 0
    for mutant in mutants(kind, READINGS[kind]):
        file = tmp_path / f"file{mutant.suffix}"
        file.write_bytes(mutant.data)
        with in_time(), warnings.catch_warnings():
            warnings.simplefilter("error")
            try:
                found = read_readings(file, read_engine(EXAMPLES / f"{mutant.engine}.toml"))
            except FileError as error:
                assert_refused(Run(2, "", f"{error}\n"), file)
            else:
                assert found.readings, mutant.how
                read += 1
    assert READINGS[kind] / 10 < read < READINGS[kind], "the files are neither all wrong nor all right"


def test_the_same_files_are_made_every_time() -> None:
    for kind in (*COUNTS, *READINGS):
        one, two, other = list(mutants(kind, 20)), list(mutants(kind, 20)), list(mutants(kind, 20, seed=2))
        assert one == two
        assert [each.data for each in one] != [each.data for each in other]


def without_end() -> None:
    """Loop in Python itself: one within the interpreter, as of sum, would be interrupted only when it is over."""
    while True:
        pass


def test_what_hangs_and_what_is_not_refused_well_is_seen(tmp_path: Path) -> None:
    with pytest.raises(Hang), in_time(0.05):
        without_end()
    assert LONGEST == 10.0
    good = Mutant("engine", "metre_gauge", "as it is", (EXAMPLES / "metre_gauge.toml").read_bytes())
    assert judged(good, tmp_path, USUAL["engine"])[0] == "within"
    assert judged(good, tmp_path, ("nonsense FILE",))[0] == "bad refusal"


def test_a_warning_that_a_user_would_not_be_shown_is_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def warning(path: Path) -> Engine:
        warnings.warn("divide by zero", RuntimeWarning, stacklevel=1)
        return read_engine(path)

    monkeypatch.setattr(input, "read_engine", warning)
    good = Mutant("engine", "metre_gauge", "as it is", (EXAMPLES / "metre_gauge.toml").read_bytes())
    how, told = judged(good, tmp_path, USUAL["engine"])
    assert (how, told.split(": ")[-1]) == ("warning", "divide by zero")
