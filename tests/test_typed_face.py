"""Who uses the library under mypy --strict sees real types: what it gives, and what it refuses."""

from __future__ import annotations

import re
import subprocess
import sys
from importlib.resources import files
from pathlib import Path
from shutil import copytree

import pytest

import linkmotion

OWN = """
from typing import assert_type

import linkmotion as lm

engine = lm.read_engine("engine.toml")
assert_type(engine, lm.Engine)
assert_type(engine.states, tuple[str, ...])
state = engine["as found"]
assert_type(state, lm.State)
assert_type(state.within_targets, bool)
assert_type(state.events(), lm.Table)
left = state.left
assert_type(left, lm.Side)
assert_type(left.change({"eccentric_rod.length": 1000.0}), lm.Side)
assert_type(left.wear(), lm.Wear)
assert_type(left.hold("mid"), lm.Held)
assert_type(left.clean_up(), lm.SlotCleanUp)
notch = left["mid"]
assert_type(notch, lm.Notch)
assert_type(notch.travel, float)
assert_type(notch.front, lm.End)
assert_type(notch.front.cutoff, float | None)
assert_type(lm.__version__, str)
"""
WRONG = """
import linkmotion as lm

engine = lm.read_engine(3)  # arg-type
engine["drawing"].middle  # attr-defined
engine["drawing"].left["mid"].front.cutoff + 1.0  # operator
number: int = engine["drawing"].left["mid"].travel  # assignment
lm.no_such_thing  # attr-defined
"""


ROOT = Path(__file__).parents[1]


def test_types_are_seen_and_wrong_ones_refused(tmp_path: Path) -> None:
    """One run over both files: nothing is said of the first, and of each line of the second what stands beside it.

    It starts from what a run over the house found out, which CI has done before; else it reads the house by itself.
    """
    pytest.importorskip("mypy")
    (tmp_path / "own.py").write_text(OWN, encoding="utf-8")
    (tmp_path / "wrong.py").write_text(WRONG, encoding="utf-8")
    cache = tmp_path / "cache"
    if (ROOT / ".mypy_cache").is_dir():
        copytree(ROOT / ".mypy_cache", cache)  # a copy: this run's own files are no business of the next over the house
    theirs = [str(tmp_path / name) for name in ("own.py", "wrong.py")]
    command = [sys.executable, "-m", "mypy", f"--cache-dir={cache}", *theirs]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=500, check=False)
    told = re.findall(r"(\w+\.py):(\d+): error: .*\[([\w-]+)\]$", ran.stdout, re.MULTILINE)
    wanted = [(i, line.split("# ")[1]) for i, line in enumerate(WRONG.splitlines(), 1) if "# " in line]
    assert [(file, int(line), code) for file, line, code in told] == [("wrong.py", *each) for each in wanted]


def test_the_mark_of_types_goes_with_the_package() -> None:
    assert (files(linkmotion) / "py.typed").is_file()
