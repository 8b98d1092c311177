"""The real command, run within this process."""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from linkmotion import cli


@dataclass(frozen=True)
class Run:
    """How a command ended and what it said."""

    code: int
    out: str
    err: str


class Command:
    """``linkmotion`` with arguments, its two streams caught."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
        self.monkeypatch, self.capsys = monkeypatch, capsys

    def __call__(self, *arguments: str | Path) -> Run:
        self.monkeypatch.setattr(sys, "argv", ["linkmotion", *map(str, arguments)])
        self.capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            cli.main()
        said = self.capsys.readouterr()
        assert isinstance(ended.value.code, int)
        return Run(ended.value.code, said.out, said.err)


def assert_refused(run: Run, name: str | Path) -> None:
    """The form of every refusal: 2, nothing on stdout, the file's name, two plain lines, no foreign words."""
    assert (run.code, run.out) == (2, ""), run
    lines = run.err.rstrip("\n").split("\n")
    assert len(lines) == 2, run.err
    assert lines[0].startswith(str(name)), run.err
    assert re.fullmatch(r"  \S.{8,}", lines[1]), f"no remedy: {run.err}"
    assert max(map(len, lines)) < 700, run.err
    assert all(sign.isprintable() for line in lines for sign in line), repr(run.err)
    foreign = re.search(
        r"Traceback|\bError\b|pydantic|Input should|instance of|dictionary|\bdict\b|NoneType|\bnan mm", run.err
    )
    assert foreign is None, run.err
