"""How far a long job is: on a terminal's error stream only, and gone when the job is done or stopped."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from linkmotion.views.progress import progress, untold
from tests.planted import EXAMPLES

ENGINE = str(EXAMPLES / "donkey_eccentric.toml")


def started(*words: str, **streams: Any) -> subprocess.Popen[bytes]:
    """A command in a session of its own, as a shell starts one."""
    command = [sys.executable, "-m", "linkmotion", *words]
    begun: subprocess.Popen[bytes] = subprocess.Popen(command, start_new_session=True, **streams)
    return begun


def read_until_closed(terminal: int, process: subprocess.Popen[bytes], enough: bytes | None = None) -> bytes:
    """What comes on a terminal, until its other end is closed or something wanted was seen."""
    got = b""
    while enough is None or enough not in got:
        try:
            piece = os.read(terminal, 65536)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        got += piece
    return got


def nobody_is_left(session: int) -> bool:
    """Whether all processes of a session end, given a moment."""
    for _ in range(100):
        try:
            os.killpg(session, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.1)
    return False


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="a pseudo-terminal is wanted")
class TestOnATerminal:
    def test_hold_shows_how_far_it_is_and_leaves_its_answer_alone(self, tmp_path: Path) -> None:
        ours, theirs = os.openpty()
        with (tmp_path / "answer").open("wb") as answer:
            words = ("hold", ENGINE, "--samples", "4000", "--json")
            process = started(*words, "--processes", "2", stdout=answer.fileno(), stderr=theirs)
            os.close(theirs)
            seen = read_until_closed(ours, process)
            assert process.wait(60) in (0, 1)
        alone = subprocess.run(
            [sys.executable, "-m", "linkmotion", *words, "--processes", "1"], capture_output=True, check=False
        )
        assert b"present tolerances" in seen
        assert b"4000" in seen
        assert seen.rstrip().endswith((b"\x1b[2K", b"\x1b[?25h"))  # the line is cleared, the cursor shown again
        assert (tmp_path / "answer").read_bytes() == alone.stdout
        assert alone.stderr == b""  # no terminal, no word

    @pytest.mark.parametrize("whom", ["everyone, as a terminal's Ctrl-C does", "the command alone"])
    def test_ctrl_c_ends_it_at_once_without_a_traceback_and_leaves_no_process(self, whom: str) -> None:
        ours, theirs = os.openpty()
        process = started(
            "hold", ENGINE, "--samples", "1000000", "--processes", "2", stdout=subprocess.DEVNULL, stderr=theirs
        )
        os.close(theirs)
        read_until_closed(ours, process, b"present tolerances")
        time.sleep(1.0)
        if whom.startswith("everyone"):
            os.killpg(process.pid, signal.SIGINT)
        else:
            process.send_signal(signal.SIGINT)
        seen = read_until_closed(ours, process)
        assert process.wait(60) not in (0, None)
        assert b"Traceback" not in seen
        assert nobody_is_left(process.pid)

    def test_workers_end_with_a_command_that_is_killed(self) -> None:
        ours, theirs = os.openpty()
        process = started(
            "hold", ENGINE, "--samples", "1000000", "--processes", "2", stdout=subprocess.DEVNULL, stderr=theirs
        )
        os.close(theirs)
        read_until_closed(ours, process, b"present tolerances")
        time.sleep(3.0)  # they are at work by then
        process.kill()
        assert process.wait(60) == -signal.SIGKILL
        assert nobody_is_left(process.pid)


def test_where_nobody_looks_nothing_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    with progress() as begin:
        told = begin("something")
        assert told is untold
        told(1, 2)
    assert capsys.readouterr().err == ""
