"""Files put into their places whole or not at all, several together, by several runs at once."""

from __future__ import annotations

import ast
import os
import re
import signal
import sys
import time
from pathlib import Path

import pytest

from linkmotion.files import whole
from linkmotion.files.faults import FileError
from linkmotion.files.marks import Mark, mark_of
from linkmotion.files.outputs import PICTURE, Outputs
from linkmotion.files.whole import write_together
from tests.apart import NOBODY, apart, open_folder

SVG = b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"><g/></svg>\n'


def no_matter(path: Path) -> bool:
    return path.exists()


def test_nothing_outside_this_room_writes_files() -> None:
    """Every other writer would be a way round the rule."""
    room = Path(whole.__file__)
    found = {
        (file.name, way)
        for file in sorted(room.parents[1].rglob("*.py"))
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if (way := way_of_writing(node))
    }
    outside = {(name, way) for name, way in found if name != room.name}
    assert outside == {
        ("wav.py", "open"),
        ("card_book.py", "PdfPages"),
        ("card_book.py", "savefig"),
        ("style.py", "savefig"),
        ("picture.py", "savefig"),
        ("ending.py", "open"),
        ("kept_file.py", "mkdir"),
    }, "these write into memory or into the null device; the bench makes the folder of its journal"
    assert {way for name, way in found if name == room.name} >= {"mkdir", "unlink", "replace", "link", "fdopen"}


def way_of_writing(node: ast.AST) -> str:
    """The name of a call that alters files, "" for anything else."""
    if isinstance(node, ast.Import | ast.ImportFrom):
        names = {one.name for one in node.names} | {getattr(node, "module", "")}
        return next(iter(names & {"shutil", "tempfile"}), "")
    if not isinstance(node, ast.Call):
        return ""
    own = node.func
    name = own.attr if isinstance(own, ast.Attribute) else own.id if isinstance(own, ast.Name) else ""
    modes = [one.value for one in node.args if isinstance(one, ast.Constant) and isinstance(one.value, str)]
    modes += [
        str(one.value.value) for one in node.keywords if one.arg == "mode" and isinstance(one.value, ast.Constant)
    ]
    if name == "open":
        return name if any(re.fullmatch(r"[rwaxbt+]*[wax+][rwaxbt+]*", str(mode)) for mode in modes) else ""
    if name in ("replace", "link", "remove"):  # also of words and lists
        return name if isinstance(own, ast.Attribute) and getattr(own.value, "id", "") == "os" else ""
    ways = (
        "write_bytes write_text unlink rename rmdir mkdir makedirs touch fdopen savefig PdfPages symlink_to hardlink_to"
    )
    return name if name in ways.split() else ""


def test_parts_of_a_run_that_was_killed_are_cleared_and_the_users_hidden_files_are_not(tmp_path: Path) -> None:
    left = tmp_path / ".linkmotion-0123456789abcdef.part"
    names = (".linkmotion-notes.part", ".linkmotion-0123456789abcdef", f"{left.name}.txt", ".part", "x.part")
    theirs = [tmp_path / name for name in names]
    for path in (left, *theirs):
        path.write_bytes(b"x")
    write_together({tmp_path / "new": b"new"}, no_matter)
    assert sorted(tmp_path.iterdir()) == sorted([tmp_path / "new", *theirs])


def test_a_failure_leaves_no_folder_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    place = tmp_path / "a" / "b" / "plot.svg"
    with pytest.raises(FileError, match="no space left on device") as caught:
        Outputs(()).file(place, PICTURE).write(SVG)
    assert caught.value.file == str(place)
    assert caught.value.remedy == "make room or choose another place; nothing was lost"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("locks", [True, False])
def test_two_runs_at_once_leave_one_set_whole(locks: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty runs write ten files each into one folder, all at the same time."""
    if not locks:  # a file system on which nothing can be locked: each file is still whole
        monkeypatch.setattr(whole, "_lock", lambda _handle, _path: False)
    names = [f"{i}.svg" for i in range(10)]
    children = []
    for run in range(20):
        child = os.fork()
        if child == 0:
            try:
                Outputs(()).folder(tmp_path, "set").write({name: SVG + b"<!--%d-->" % run for name in names})
            except FileError as error:
                os._exit(1 if "by another" in str(error) else 2)
            finally:
                os._exit(3 if sys.exc_info()[0] else 0)
        children.append(child)
    codes = {os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children}
    assert codes <= ({0} if locks else {0, 1})
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(names)
    assert all(mark_of(path) == Mark("set", True) for path in tmp_path.iterdir())
    assert len({path.read_bytes() for path in tmp_path.iterdir()}) == 1 or not locks


def test_a_folder_held_by_another_is_waited_for_and_at_last_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(whole, "_WAIT", 0.2)
    end, go = os.pipe()
    holder = os.fork()
    if holder == 0:
        try:
            with whole._held(tmp_path, tmp_path):
                os.write(go, b"held")
                time.sleep(60)
        finally:
            os._exit(0)
    os.read(end, 4)
    try:
        with pytest.raises(FileError, match="another run is writing here"):
            write_together({tmp_path / "new": b"new"}, no_matter)
    finally:
        os.kill(holder, signal.SIGKILL)
        os.waitpid(holder, 0)
    write_together({tmp_path / "new": b"new"}, no_matter)  # what held it was killed
    assert (tmp_path / "new").read_bytes() == b"new"


def test_ctrl_c_waits_until_the_set_is_in_its_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    link, files = os.link, {tmp_path / f"{i}": b"%d" % i for i in range(5)}

    def interrupted(*words: Path) -> None:
        os.kill(os.getpid(), signal.SIGINT)
        link(*words)

    monkeypatch.setattr(os, "link", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_together(files, no_matter)
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == files
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_ctrl_c_while_a_part_is_written_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", lambda _handle: os.kill(os.getpid(), signal.SIGINT))
    with pytest.raises(KeyboardInterrupt):
        write_together({tmp_path / "in" / "new": b"new"}, no_matter)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("umask", [0o022, 0o077, 0o002])
def test_a_new_file_has_the_rights_of_any_new_file(umask: int, tmp_path: Path) -> None:
    before = os.umask(umask)
    try:
        write_together({tmp_path / "new": b"new"}, no_matter)
        (tmp_path / "usual").write_bytes(b"")
    finally:
        os.umask(before)
    assert (tmp_path / "new").stat().st_mode == (tmp_path / "usual").stat().st_mode


def test_without_hard_links_what_is_there_still_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_words: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", none)
    write_together({tmp_path / "new": b"new"}, no_matter)
    assert (tmp_path / "new").read_bytes() == b"new"
    with pytest.raises(FileError, match="operation not permitted"):
        write_together({tmp_path / "new": b"newer"}, lambda _path: False)
    assert (tmp_path / "new").read_bytes() == b"new"
    assert [path.name for path in tmp_path.iterdir()] == ["new"]


def test_a_folder_that_may_not_be_listed_can_be_written_into() -> None:
    with open_folder() as root:
        folder = root / "drop"
        folder.mkdir()
        os.chown(folder, NOBODY, NOBODY) if os.geteuid() == 0 else None
        folder.chmod(0o300)
        apart(lambda: Outputs(()).file(folder / "plot.svg", PICTURE).write(SVG), ordinary=True)
        folder.chmod(0o700)
        assert [path.name for path in folder.iterdir()] == ["plot.svg"]
