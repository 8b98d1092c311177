"""A how-to of DEVELOPERS.md followed in a copy of the house: the files and changes that it prints, as they stand."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
COPIED = ("linkmotion", "tests", "examples", "README.md", "DEVELOPERS.md", "pyproject.toml")
_LEFT_OUT = shutil.ignore_patterns("__pycache__", "node_modules", "*-report", ".*_cache")


def followed(heading: str, into: Path) -> Path:
    """Copy the house into a folder and make every change that a section prints; AssertionError where one does not fit.

    A python block says in its first line what file it is, new or "at its end"; a diff block's old lines must stand in
    its file just once.
    """
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, into / name, ignore=_LEFT_OUT)
        else:
            shutil.copy(source, into / name)
    section = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    blocks = re.findall(r"```(\w+)\n(.*?)```", section, re.DOTALL)
    assert blocks, f"{heading}: nothing is printed"
    for kind, text in blocks:
        (_write if kind == "python" else _change)(into, text)
    return into


def _write(into: Path, text: str) -> None:
    head, body = text.split("\n", 1)
    found = re.fullmatch(r"# (\S+), (a new file|at its end)", head)
    assert found is not None, f"what file is this? {head}"
    file = into / found[1]
    assert file.exists() == (found[2] == "at its end"), file
    with file.open("a", encoding="utf-8") as open_file:
        open_file.write(body)


def _change(into: Path, text: str) -> None:
    head, *lines = text.splitlines()
    assert head.startswith("--- "), head
    file = into / head.removeprefix("--- ")
    old, new = ("".join(line[1:] + "\n" for line in lines if line[0] in f" {own}") for own in "-+")
    whole = file.read_text(encoding="utf-8")
    assert whole.count(old) == 1, f"{file}: these lines do not stand there once:\n{old}"
    file.write_text(whole.replace(old, new), encoding="utf-8")


def in_copy(copy: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run Python in the copied house, with the copy's own linkmotion."""
    env = os.environ | {"PYTHONPATH": str(copy), "OMP_NUM_THREADS": "1", "COLUMNS": "100", "MPLBACKEND": "agg"}
    return subprocess.run(
        [sys.executable, *words], cwd=copy, env=env, capture_output=True, text=True, timeout=300, check=False
    )
