"""Who uses the library under mypy --strict sees real types: what it gives, and what it refuses."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

GIVEN = """
from typing import assert_type
import linkmotion as lm
"""


def checked(text: str, folder: Path) -> str:
    """What mypy --strict says of a user's file."""
    (folder / "own.py").write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "mypy", "--strict", "--config-file=", "--no-incremental", "own.py"]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=500, check=False).stdout
