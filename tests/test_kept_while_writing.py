"""Disk full, folder shut, killed at every step: of every path that a command writes, the old or the new is there."""

from __future__ import annotations

import os

import pytest

from linkmotion.files import outputs
from linkmotion.files.outputs import Kind
from linkmotion.files.whole import write_together
from tests.apart import open_folder
from tests.bad_engines.command import Command, Run
from tests.writing_commands import Written, every_output
from tests.writing_trial import MINE, Trial

OUTPUTS = every_output()
ALSO_WRITES = {"measure marks": 2}  # tries of another file that the command writes before
CLOSELY = {own.marker: str(own) for own in OUTPUTS}  # one path of each kind is looked at step by step, the rest at some


@pytest.mark.parametrize("own", OUTPUTS, ids=str)
def test_full_shut_or_killed_the_old_or_the_new_is_there(
    own: Written, linkmotion: Command, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_folder() as root:
        (root / "out").mkdir()
        (root / "out" / "mine.svg").write_bytes(MINE)
        trial = Trial(root, write_together, steps=15 if str(own) in CLOSELY.values() else 4)
        monkeypatch.setattr(outputs, "write_together", trial)
        place = root / "out" if own.folder else root / "out" / f"new{own.ending}"
        replace = not (own.folder or own.kept)
        if replace:
            place.write_bytes(MINE)  # which, this once, may go
        run: Run = linkmotion(*own.argv(place, own.files(root)), *["--replace"] * replace)
        assert run.code in (0, 1), run.err
        assert trial.tried == (1 if own.kept else 2) + ALSO_WRITES.get(str(own), 0)
        assert (root / "out" / "mine.svg").read_bytes() == MINE
        assert not list(root.rglob(".*"))
        if isinstance(own.marker, Kind):
            assert place.read_bytes() != MINE
            assert place.stat().st_mode & 0o777 == 0o666 & ~umask()


def umask() -> int:
    now = os.umask(0)
    os.umask(now)
    return now
