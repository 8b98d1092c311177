"""What makes CI fail when a test is passed over unsaid: tried on a file with skips of every kind."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TRIED = """\
import pytest

def test_sound():
    assert True

@pytest.mark.xfail(strict=True, reason="known")
def test_known_to_fail():
    assert False

@pytest.mark.skip(reason="always")
def test_marked():
    assert True

def test_of_what_is_missing():
    pytest.importorskip("no_such_library")
"""
WHOLE = 'import pytest\n\npytest.skip("the whole file", allow_module_level=True)\n'


@pytest.mark.parametrize(
    ("named", "told", "processes"),
    [
        (["tried.py", "whole.py"], [], []),
        (["tried.py::test_marked", "whole.py"], ["tried.py::test_of_what_is_missing"], []),
        (["tried.py"], ["whole.py"], []),
        (["tried.py::test_marked"], ["whole.py", "tried.py::test_of_what_is_missing"], ["-n", "1"]),
    ],
)
def test_a_skip_that_is_not_named_makes_the_run_fail(
    named: list[str], told: list[str], processes: list[str], tmp_path: Path
) -> None:
    (tmp_path / "tried.py").write_text(TRIED)
    (tmp_path / "whole.py").write_text(WHOLE)
    options = ["-p", "tests.named_skips", *(f"--named-skip={each}" for each in named), *processes]
    command = [
        sys.executable,
        "-m",
        "pytest",
        "--rootdir",
        str(tmp_path),
        "-c",
        "/dev/null",
        *options,
        "tried.py",
        "whole.py",
    ]
    path = {"PYTHONPATH": str(ROOT), "PATH": ""}
    done = subprocess.run(command, cwd=tmp_path, env=path, capture_output=True, text=True, timeout=120)
    assert done.returncode == (1 if told else 0), done.stdout + done.stderr
    said = [line for line in done.stdout.splitlines() if line.startswith("SKIPPED though not named")]
    assert said == [f"SKIPPED though not named: {each}" for each in told]
