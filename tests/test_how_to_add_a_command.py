"""DEVELOPERS.md, 'How to add a command', followed to the letter in a copy of the house."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.gears_at_hand import example, number_of, of_engine, plain_tables
from tests.independent.joint_angles import VALVE
from tests.independent.port_events import Revolution
from tests.printed_changes import followed, in_copy

HEADING = "How to add a command"
LAWS = ("tests/test_terminals.py", "tests/test_kept_files.py", "tests/test_readme.py")


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return followed(HEADING, tmp_path_factory.mktemp("house"))


def test_the_printed_command_tells_the_travel(copy: Path) -> None:
    """The travel in mid gear by joint angles, one degree after another, in inches as the file has them."""
    ran = in_copy(copy, "-m", "linkmotion", "travel", "examples/dock_shunter.toml", "--picture", "travel.svg")
    assert (ran.returncode, ran.stderr) == (0, "")
    assert ran.stdout.startswith("The valve travels from ")
    mid = next(line for line in ran.stdout.splitlines() if line.split()[:1] == ["mid"])
    engine = example("dock_shunter")
    turn = Revolution(plain_tables(engine), number_of(of_engine(engine).settings["mid"]), "forward")
    places = [float(x[VALVE]) / 25.4 for x in turn.scan]
    assert float(mid.split()[-1]) == pytest.approx(max(places) - min(places), abs=0.0011)
    assert "svg" in (copy / "travel.svg").read_text(encoding="utf-8")


def test_its_input_is_kept_and_wrong_input_is_told(copy: Path) -> None:
    ran = in_copy(copy, "-m", "linkmotion", "travel", "examples/dock_shunter.toml", "--state", "as fuond")
    assert ran.returncode == 2
    assert "did you mean 'as found'" in ran.stderr
    (copy / "mine.svg").write_text("mine")
    ran = in_copy(copy, "-m", "linkmotion", "travel", "examples/dock_shunter.toml", "--picture", "mine.svg")
    assert ran.returncode == 2
    assert (copy / "mine.svg").read_text() == "mine"


def test_the_laws_of_commands_find_it_and_it_keeps_them(copy: Path) -> None:
    ran = in_copy(copy, "-m", "pytest", "-p", "no:cacheprovider", "-vv", "-k", "travel or every_command", *LAWS)
    assert ran.returncode == 0, ran.stdout[-3000:]
    for law in LAWS:
        assert f"{law}::" in ran.stdout, f"{law} looks at it"
    assert ran.stdout.count("travel") >= 10
    assert "SKIPPED" not in ran.stdout
