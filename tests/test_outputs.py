"""The one rule of what may be written, and over what."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from linkmotion.files.faults import FileError
from linkmotion.files.marks import Mark, mark_of, marked
from linkmotion.files.outputs import PAGE, PICTURE, SOUND, Outputs
from linkmotion.files.wav import as_wav

SVG = b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"><g/></svg>\n'


def test_what_comes_between_the_look_and_the_writing_stays(tmp_path: Path) -> None:
    place = tmp_path / "plot.svg"
    output = Outputs(()).file(place, PICTURE)
    place.write_bytes(b"mine")
    with pytest.raises(FileError, match="was not written by linkmotion"):
        output.write(SVG)
    assert place.read_bytes() == b"mine"
    assert list(tmp_path.iterdir()) == [place]


def test_what_comes_while_it_is_being_moved_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place, fsync = tmp_path / "plot.svg", os.fsync

    def meanwhile(handle: int) -> None:
        fsync(handle)
        place.write_bytes(b"mine")

    monkeypatch.setattr(os, "fsync", meanwhile)
    with pytest.raises(FileError, match="just been written by another"):
        Outputs(()).file(place, PICTURE).write(SVG)
    assert place.read_bytes() == b"mine"
    assert list(tmp_path.iterdir()) == [place]


def test_replace_writes_over_the_users_file_through_its_link_and_keeps_its_rights(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    place, link = tmp_path / "far" / "plot.svg", tmp_path / "link.svg"
    place.write_bytes(b"mine")
    place.chmod(0o640)
    link.symlink_to(place)
    assert Outputs((), replace=True).file(link, PICTURE).write(SVG) == place.stat().st_size
    assert link.is_symlink()
    assert place.read_bytes() == marked(SVG, ".svg")
    assert place.stat().st_mode & 0o777 == 0o640
    assert {path.name for path in tmp_path.rglob("*")} == {"far", "plot.svg", "link.svg"}


def test_a_link_to_nothing_is_followed(tmp_path: Path) -> None:
    link = tmp_path / "link.svg"
    link.symlink_to(tmp_path / "new" / "plot.svg")
    Outputs(()).file(link, PICTURE).write(SVG)
    assert (tmp_path / "new" / "plot.svg").read_bytes() == marked(SVG, ".svg")


def test_a_link_to_itself_and_what_is_no_file_are_refused(tmp_path: Path) -> None:
    loop, pipe, null = tmp_path / "loop.svg", tmp_path / "pipe.svg", tmp_path / "null.svg"
    loop.symlink_to(loop)
    os.mkfifo(pipe)
    null.symlink_to("/dev/null")
    for place, why in ((loop, "leads to itself"), (pipe, "no ordinary file"), (null, "not the name of a picture")):
        with pytest.raises(FileError, match=why):
            Outputs((), replace=True).file(place, PICTURE)


def test_names_too_long_for_the_system_are_refused_by_their_name(tmp_path: Path) -> None:
    place = tmp_path / ("m" * 300 + ".svg")
    with pytest.raises(FileError, match="file name too long") as caught:
        Outputs(()).file(place, PICTURE)
    assert caught.value.file == str(place)


def test_the_longest_name_that_the_system_takes_is_written(tmp_path: Path) -> None:
    place = tmp_path / ("m" * 251 + ".svg")
    Outputs(()).file(place, PICTURE).write(SVG)
    assert list(tmp_path.iterdir()) == [place]


def test_an_ending_in_capitals_is_the_same_ending(tmp_path: Path) -> None:
    for name, kind, data in (
        ("a.SVG", PICTURE, SVG),
        ("a.HTM", PAGE, b"<p>ours</p>"),
        ("a.Wav", SOUND, as_wav(np.zeros((9, 1)), 8000)),
    ):
        for _again in range(2):
            Outputs(()).file(tmp_path / name, kind).write(data)
        assert mark_of(tmp_path / name) == Mark("", True)


def test_a_file_system_that_knows_no_case_has_one_file_of_two_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Such a system is stood in for: it says of both names that they are the same file."""
    engine = tmp_path / "engine.svg"
    engine.write_bytes(b"the engine")
    stat = os.stat

    def folding(path: object, **more: object) -> os.stat_result:
        return stat(str(path).replace("ENGINE", "engine") if isinstance(path, str | Path) else path, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(os, "stat", folding)
    with pytest.raises(FileError, match="the command reads this file"):
        Outputs((engine,), replace=True).file(tmp_path / "ENGINE.svg", PICTURE)
