"""Everything that the README shows is run, as a new user would run it."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.files.engine_file import parse_engine

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
COMMANDS = [
    line
    for kind, block in BLOCKS
    if kind == "sh"
    for line in block.splitlines()
    if line.startswith(".venv/bin/linkmotion")
]
READINGS = {
    "readings.toml": "dock_shunter.toml", "marks.toml": "dock_shunter-marks.toml",
    "measured.toml": "dock_sister-trammel.toml", "back.toml": "dock_shunter.toml",
}  # fmt: skip
ENGINES, FOLDER = {"reconcile": "dock_sister.toml"}, "examples/winkle"
OUT = [  # with the shunter something is out here, so that the command ends with 1; every other one ends with 0
    ["check", "our_engine.toml", "--state", "as found"],
    ["wear", "our_engine.toml", "--state", "as found"],
    ["wear", "our_engine.toml", "--state", "as found", "--gains", "--moving", "--lost"],
    ["compare", "our_engine.toml", "--state", "drawing", "--state", "as found"],
    ["pins", FOLDER, "--state", "as found"],
    ["reconcile", "our_engine.toml", "measured.toml"],
    ["diagnose", "our_engine.toml", "readings.toml"],
    ["adjust", "our_engine.toml", "readings.toml", "--sheet", "setting.html"],
]


def arguments(command: str) -> list[str]:
    return shlex.split(command, comments=True)[1:]


@pytest.mark.parametrize("command", COMMANDS, ids=[" ".join(arguments(command)[:1]) for command in COMMANDS])
def test_a_command_of_the_readme_runs(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    own = arguments(command)
    writes = own[0] in ("begin", "form")
    if own[0] != "begin":
        shutil.copy(ROOT / "examples" / ENGINES.get(own[0], "dock_shunter.toml"), "our_engine.toml")
    if any(word.startswith("examples/") for word in own):
        shutil.copytree(ROOT / "examples", "examples")
    for name, source in READINGS.items():
        if name in own and not writes:
            shutil.copy(ROOT / "examples" / "readings" / source, name)
    before = set(tmp_path.iterdir())
    if own[0] == "bench":
        own = [*own, "--help"]  # a server does not end; tests/browser has it
    done = CliRunner().invoke(app, own)
    assert done.exception is None or isinstance(done.exception, SystemExit), repr(done.exception)
    assert done.exit_code == (own in OUT), done.output
    if writes or own[0] in ("page", "card", "check") or {"--sound", "--sheet"} & set(own):
        assert set(tmp_path.iterdir()) > before


def test_commands_that_end_with_one_stand_in_the_readme() -> None:
    given = [arguments(command) for command in COMMANDS]
    assert [own for own in OUT if own not in given] == []


def test_every_command_stands_in_the_readme() -> None:
    named = {command.name or command.callback.__name__ for command in app.registered_commands if command.callback}
    assert named == {arguments(command)[0] for command in COMMANDS}


def test_the_python_of_the_readme_runs(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The library's own lines, and a four-bar whose swing is held by the triangles at the ends of its travel."""
    monkeypatch.chdir(ROOT)
    matplotlib.use("agg")
    face, bar = (block for kind, block in BLOCKS if kind == "python")
    exec(compile(face, "README.md", "exec"), {})
    told = capsys.readouterr().out
    assert told.startswith("76.4")
    assert "('eccentric_rod.length',)" in told
    exec(compile(bar, "README.md", "exec"), {})
    ends = [np.arccos((120**2 + 80**2 - apart**2) / (2 * 120 * 80)) for apart in (110 + 40, 110 - 40)]
    assert float(capsys.readouterr().out) == pytest.approx(np.degrees(ends[0] - ends[1]), abs=0.01)  # of whole degrees


def test_the_engine_file_of_the_readme_is_one() -> None:
    (shown,) = [block for kind, block in BLOCKS if kind == "toml"]
    text = (ROOT / "examples" / "dock_shunter.toml").read_text(encoding="utf-8")
    whole = parse_engine(text[: text.index('[state."as found"]')] + shown[shown.index("[state.") :])
    assert whole.gear("as found", "left").eccentric_rod.length == pytest.approx((31 + 19 / 32) * 25.4, abs=1e-9)  # type: ignore[attr-defined]


def test_the_job_stands_in_one_paragraph_at_the_top() -> None:
    paragraph = README.split("\n\n")[1]
    for word in ("crank", "eccentric rods", "expansion link", "die block", "travel", "lead", "cutoff", "die slip"):
        assert word in paragraph
