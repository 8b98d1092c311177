"""In a folder only what linkmotion wrote there is replaced or cleared away: every command, every folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from linkmotion.files.marks import mark_of, marked
from tests.bad_engines.command import Command, assert_refused
from tests.writing_commands import Written, every_output
from tests.writing_trial import BARE, MINE, everything


@pytest.mark.parametrize("own", [own for own in every_output() if own.folder], ids=str)
def test_in_a_folder_only_what_linkmotion_wrote_is_replaced_or_cleared(
    own: Written, linkmotion: Command, tmp_path: Path
) -> None:
    files, folder, link = own.files(tmp_path), tmp_path / "real", tmp_path / "linked"
    folder.mkdir()
    link.symlink_to(folder)
    assert linkmotion(*own.argv(link, files)).code in (0, 1)
    assert link.is_symlink()
    written = [path for path in sorted(folder.rglob("*")) if path.is_file()]
    assert written
    groups = {mark_of(path) for path in written}
    assert len(groups) == 1, "all of a set bear the same mark"
    (mark,) = groups
    assert mark is not None
    assert (mark.sound, mark.group != "") == (True, True)
    theirs = {}
    for inner in {path.parent for path in written}:
        for ending in BARE:
            theirs[inner / f"mine{ending}"] = MINE
            theirs[inner / f"alone{ending}"] = marked(BARE[ending], ending)  # by another command, asked for by name
            theirs[inner / f"edited{ending}"] = marked(BARE[ending], ending, mark.group) + b"\n"
        theirs[inner / "notes"] = MINE
    for path, data in theirs.items():
        path.write_bytes(data)
    stale = written[0].with_name("stale.svg")
    stale.write_bytes(marked(BARE[".svg"], ".svg", mark.group))
    fresh = {path: path.read_bytes() for path in written}
    written[-1].write_bytes(marked(BARE[written[-1].suffix], written[-1].suffix, mark.group))
    assert linkmotion(*own.argv(link, files)).code in (0, 1)
    assert {path: path.read_bytes() for path in theirs} == theirs
    assert not stale.exists()
    assert mark_of(written[-1]) == mark
    assert {path for path in folder.rglob("*") if path.is_file()} == {*fresh, *theirs}

    kept = written[0].read_bytes()
    for path, data in ((written[-1], MINE), (written[0], kept + b"\n")):  # by the name of one of the set
        path.write_bytes(data)
        before = everything(tmp_path)
        run = linkmotion(*own.argv(link, files))
        assert_refused(run, link / path.relative_to(folder))
        assert "--replace" in run.err
        assert everything(tmp_path) == before
        path.write_bytes(marked(BARE[path.suffix], path.suffix, mark.group))

    written[-1].unlink()  # the engine's file itself by one of the names
    files["engine"].rename(written[-1])
    files["engine"] = written[-1]
    before = everything(tmp_path)
    assert_refused(linkmotion(*own.argv(link, files), "--replace"), link / written[-1].relative_to(folder))
    assert everything(tmp_path) == before
