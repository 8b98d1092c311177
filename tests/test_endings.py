"""Streams of other encodings and widths, and runs that end before their time, in processes of their own."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.desk import CHECK, DOCK, lay_out, own_process

POSIX = {"LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    lay_out(tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("env", "encoding"),
    [
        *(({"PYTHONIOENCODING": n}, n.partition(":")[0]) for n in ("utf-8", "cp437", "ascii:strict", "utf-16")),
        (POSIX, "ascii"),
    ],
    ids=str,
)
def test_the_status_is_that_under_utf_8_and_every_sign_has_a_plain_one(
    env: dict[str, str], encoding: str, desk: Path
) -> None:
    """One encoding of each sort; that every command's signs go into all of them is test_terminals' affair."""
    done = own_process(*CHECK, env=env)
    assert (done.returncode, done.stderr) == (1, b"")
    text = done.stdout.decode(encoding)
    assert "Żółw & Søn" in text if "utf" in encoding else "lw & S" in text
    assert max(map(len, text.splitlines())) <= 80
    if encoding == "ascii":
        assert "Zolw & Son" in text
        assert " ! right side" in text
        assert "return crank ahead of the crank pin left 83.31deg" in " ".join(text.split())


def test_a_message_with_letters_that_the_terminal_lacks_is_a_message(desk: Path) -> None:
    done = own_process("check", "Żółw°.toml", env={"PYTHONIOENCODING": "ascii"})
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr.startswith(b"Zolwdeg.toml: no such file")


def test_json_and_csv_lose_no_letter(desk: Path) -> None:
    """In an encoding that has some of the letters (ó) and lacks others."""
    encoding = "cp1252"
    text = (desk / DOCK).read_text(encoding="utf-8").replace("forward 40", "Łódź 40 𝄞")
    (desk / DOCK).write_text(text, encoding="utf-8")
    words = ("check", DOCK, "--notch", "Łódź 40 𝄞")
    told = {
        (output, name): own_process(*words, output, env={"PYTHONIOENCODING": name}).stdout.decode(name)
        for output in ("--json", "--csv")
        for name in (encoding, "utf-8")
    }
    assert json.loads(told["--json", encoding]) == json.loads(told["--json", "utf-8"])
    assert {row["notch"] for row in json.loads(told["--json", encoding])["events"]} == {"Łódź 40 𝄞"}
    csv = re.sub(r"(\\u[0-9a-f]{4})+", lambda hit: json.loads(f'"{hit[0]}"'), told["--csv", encoding])
    assert csv == told["--csv", "utf-8"]
    assert "Łódź 40 𝄞" in csv


def test_the_width_is_the_pipe_s_unless_columns_says_otherwise(desk: Path) -> None:
    lines = own_process(*CHECK, env={"COLUMNS": "60"}).stdout.decode().splitlines()
    assert 50 < max(map(len, lines)) <= 60
    assert any(len(line) > 80 for line in own_process(*CHECK, env={"COLUMNS": "110"}).stdout.decode().splitlines())


@pytest.mark.skipif(os.name != "posix", reason="asks for a terminal of its own")
def test_a_terminal_s_own_width_is_kept(desk: Path) -> None:
    import fcntl
    import pty
    import struct
    import termios

    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 66, 0, 0))
    done = own_process(*CHECK, stdout=theirs, env={"TERM": "dumb"})
    os.close(theirs)
    text = b""
    while part := _read(ours):
        text += part
    assert done.returncode == 1
    assert 60 < max(map(len, text.decode().splitlines())) <= 66


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 65536)
    except OSError:
        return b""


# --- runs that end before their time ----------------------------------------------------------------------------------


@pytest.mark.parametrize("output", ["--tables", "--json"])
def test_a_reader_that_has_gone_is_no_fault(output: str, desk: Path) -> None:
    ours, theirs = os.pipe()
    os.close(ours)
    done = own_process("check", DOCK, output, stdout=theirs)
    os.close(theirs)
    assert (done.returncode, done.stderr) == (141, b"")


@pytest.mark.parametrize(("closed", "words", "status"), [
    (">&-", CHECK, 141), (">&-", ("check", "none.toml"), 2), ("2>&-", ("check", "none.toml"), 2), ("2>&-", CHECK, 1),
])  # fmt: skip
def test_a_closed_stream_is_no_fault(closed: str, words: tuple[str, ...], status: int, desk: Path) -> None:
    before = {file: file.read_bytes() for file in desk.iterdir() if file.is_file()}
    shell = ["sh", "-c", f'exec "$@" {closed}', "sh", sys.executable, "-m", "linkmotion", *words]
    done = subprocess.run(shell, capture_output=True, check=False)
    assert done.returncode == status
    assert b"Traceback" not in done.stderr
    assert (status == 2) == bool(done.stderr) or closed == "2>&-"
    assert before == {file: file.read_bytes() for file in desk.iterdir() if file.is_file()}


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_a_full_device_is_told_by_its_name(desk: Path) -> None:
    with open("/dev/full", "wb") as full:
        done = own_process(*CHECK, stdout=full)
    assert done.returncode == 2
    assert done.stderr.decode().startswith("standard output: no space left on device")


STOPPED_AT = """
import os, signal, sys
class Stop:
    def find_spec(self, name, *_):
        if name == {module!r}:
            os.kill(os.getpid(), signal.{signal})
sys.meta_path.insert(0, Stop())
sys.argv = ["linkmotion", "check", {engine!r}, "--into", "out"]
from linkmotion.cli import main
main()
"""


@pytest.mark.parametrize(("module", "sign", "status"), [
    ("typer", "SIGINT", 130), ("linkmotion.cli.app", "SIGINT", 130), ("linkmotion.commands.check", "SIGINT", 130),
    ("numpy.linalg", "SIGINT", 130), ("pydantic", "SIGINT", 130), ("linkmotion.views.report", "SIGINT", 130),
    ("matplotlib.figure", "SIGINT", 130), ("linkmotion.views.report", "SIGTERM", 143),
])  # fmt: skip
def test_a_run_that_is_stopped_says_nothing_and_leaves_nothing(module: str, sign: str, status: int, desk: Path) -> None:
    """The signal comes while a module is being loaded: before the command, within it, before it writes.

    What was found is told before the pictures are drawn, and it stays; of what was not written nothing is said.
    """
    before = set(desk.iterdir())
    words = [sys.executable, "-c", STOPPED_AT.format(module=module, signal=sign, engine=DOCK)]
    done = subprocess.run(words, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (status, b"")
    told = module in ("linkmotion.views.report", "matplotlib.figure")
    assert done.stdout.startswith(b"drawing, as it stands: ") if told else done.stdout == b""
    assert b"Plots and report" not in done.stdout
    assert set(desk.iterdir()) == before


WARNED = """
import sys, warnings, logging
from linkmotion.cli import main
import linkmotion.commands.check as check
def told(request):
    warnings.warn("steam on the glass", RuntimeWarning)
    logging.getLogger("matplotlib").warning("no such font")
    return 0
check.run_check = told
sys.argv = ["linkmotion", "check", "any.toml"]
main()
"""


@pytest.mark.parametrize(("asked", "shown"), [((), False), (("-W", "default"), True)])
def test_warnings_of_libraries_are_shown_only_when_asked_for(asked: tuple[str, ...], shown: bool) -> None:
    done = subprocess.run([sys.executable, *asked, "-c", WARNED], capture_output=True, check=False)
    assert done.returncode == 0
    assert (b"steam on the glass" in done.stderr) == shown
    assert shown or done.stderr == b""
