"""The user's files are as they were, whatever a command is told to write: every command, every path, from the command
line's own list.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest

from linkmotion.cli.app import INPUT
from linkmotion.files.marks import marked
from tests.apart import apart, open_folder
from tests.bad_engines.command import Command, assert_refused
from tests.writing_commands import FILES, GROUP, Written, every_output, markers
from tests.writing_trial import BARE, MINE, everything

OUTPUTS = every_output()
each_output = pytest.mark.parametrize("own", OUTPUTS, ids=str)
each_file = pytest.mark.parametrize("own", [own for own in OUTPUTS if not own.folder], ids=str)


def with_replace(own: Written) -> list[tuple[str, ...]]:
    return [()] if own.kept else [(), ("--replace",)]


# ---- the list itself ------------------------------------------------------------------------------------------------


def test_every_path_of_the_command_line_says_what_it_is() -> None:
    for command in GROUP.commands:
        for name, said in markers(command).items():
            assert len(said) == 1, f"{command} {name} says {said}: annotate it as read, as a folder, or with its Kind"
    assert {str(own) for own in OUTPUTS} >= {
        "check into",
        "adjust sheet",
        "adjust pictures",
        "beats sound",
        "form file",
    }


def test_inputs_are_told_from_outputs() -> None:
    assert markers("adjust")["readings"] == [INPUT]


@each_output
def test_whatever_writes_over_marked_files_takes_replace(own: Written) -> None:
    takes = any("--replace" in parameter.opts for parameter in GROUP.commands[own.command].params)
    assert takes == any(not other.kept for other in OUTPUTS if other.command == own.command)


# ---- an output that is an input -------------------------------------------------------------------------------------


def names_of(file: Path) -> dict[str, Path]:
    """Names under which one file can be called, all of its own kind."""
    folder = file.parent
    (folder / "linked folder").symlink_to(folder)
    (folder / f"link{file.suffix}").symlink_to(file)
    (folder / f"hard link{file.suffix}").hardlink_to(file)
    (folder / "sub").mkdir()
    return {
        "itself": file,
        "the long way": folder / "sub" / ".." / file.name,
        "through a linked folder": folder / "linked folder" / file.name,
        "a link": folder / f"link{file.suffix}",
        "a hard link": folder / f"hard link{file.suffix}",
    }


@pytest.mark.parametrize(
    ("own", "read"), [(own, read) for own in OUTPUTS for read in own.inputs], ids=lambda value: str(value)
)
def test_an_output_that_is_an_input_is_refused_by_every_name(
    own: Written, read: str, linkmotion: Command, tmp_path: Path
) -> None:
    files = own.files(tmp_path, *([read] if read in FILES else []))
    files[read] = files[read].rename(tmp_path / f"it{own.ending or '.toml'}")
    names = names_of(files[read])
    before = everything(tmp_path)
    for words, name in names.items():
        for more in with_replace(own):
            run = linkmotion(*own.argv(name, files), *more)
            assert_refused(run, name)
            assert "the command reads this file" in run.err, words
            assert everything(tmp_path) == before, words


# ---- what is there already ------------------------------------------------------------------------------------------


@each_file
def test_a_file_of_the_users_is_refused_before_the_work_and_through_a_link_too(
    own: Written, linkmotion: Command, tmp_path: Path
) -> None:
    files = own.files(tmp_path)
    mine, link = tmp_path / f"mine{own.ending}", tmp_path / f"link{own.ending}"
    for file in files.values():
        file.write_text("not looked at yet", encoding="utf-8")
    mine.write_bytes(MINE)
    link.symlink_to(mine)
    before = everything(tmp_path)
    for name in (mine, link):
        run = linkmotion(*own.argv(name, files))
        assert_refused(run, name)
        assert ("--replace" in run.err) is not own.kept
        assert everything(tmp_path) == before
    assert link.is_symlink()


@pytest.mark.parametrize(
    ("command", "place"),
    [
        ("card", "engine-card.pdf"),
        ("page", "engine-moving.html"),
        ("check", "engine-report/report.html"),
        ("cleanup", "engine-left-slot-report"),
    ],
)
def test_a_file_of_the_users_where_a_command_writes_if_no_place_is_named_is_refused(
    command: str, place: str, linkmotion: Command, tmp_path: Path
) -> None:
    own = next(own for own in OUTPUTS if own.command == command)
    files, mine = own.files(tmp_path), tmp_path / place
    mine.parent.mkdir(exist_ok=True)
    mine.write_bytes(MINE)
    before = everything(tmp_path)
    words = own.argv(Path("none"), files)
    at = words.index("--into")
    assert_refused(linkmotion(*words[:at], *words[at + 2 :]), mine)
    assert everything(tmp_path) == before


@each_file
def test_a_file_that_was_changed_since_is_the_users(own: Written, linkmotion: Command, tmp_path: Path) -> None:
    files, place = own.files(tmp_path), tmp_path / f"plot{own.ending}"
    place.write_bytes(MINE if own.kept else marked(BARE[own.ending], own.ending) + b"\n")
    before = everything(tmp_path)
    run = linkmotion(*own.argv(place, files))
    assert_refused(run, place)
    assert own.kept or "has been changed since linkmotion wrote it" in run.err
    assert everything(tmp_path) == before


@each_file
@pytest.mark.parametrize("name", ["x", "x.txt", "x.mp3", "x.svg.bak", "x.toml.html.xyz"])
def test_a_name_that_does_not_end_as_the_kind_does_is_refused(
    own: Written, name: str, linkmotion: Command, tmp_path: Path
) -> None:
    files = own.files(tmp_path)
    before = everything(tmp_path)
    for more in with_replace(own):
        run = linkmotion(*own.argv(tmp_path / name, files), *more)
        assert_refused(run, tmp_path / name)
        assert f"let it end with {own.ending}" in run.err
    assert everything(tmp_path) == before


@each_file
def test_a_link_whose_name_ends_well_does_not_hide_a_file_of_another_kind(
    own: Written, linkmotion: Command, tmp_path: Path
) -> None:
    files, other, link = own.files(tmp_path), tmp_path / "diary.txt", tmp_path / f"link{own.ending}"
    other.write_bytes(MINE)
    link.symlink_to(other)
    for more in with_replace(own):
        assert_refused(linkmotion(*own.argv(link, files), *more), link)
    assert other.read_bytes() == MINE


@each_output
def test_a_folder_or_a_file_in_the_way_is_refused_before_the_work(
    own: Written, linkmotion: Command, tmp_path: Path
) -> None:
    files, place = own.files(tmp_path), tmp_path / f"way{own.ending}"
    if own.folder:
        place.write_bytes(MINE)
    else:
        (place / "inner").mkdir(parents=True)
    under = files["engine"] / f"x{own.ending}" if "engine" in files else place / "inner"
    for file in files.values():
        file.write_text("not looked at yet", encoding="utf-8")
    before = everything(tmp_path)
    for name in (place, under):
        for more in with_replace(own):
            assert_refused(linkmotion(*own.argv(name, files), *more), name)
    assert everything(tmp_path) == before


@each_output
def test_where_an_ordinary_user_may_not_write_nothing_is_altered(own: Written, linkmotion: Command) -> None:
    with open_folder() as root:
        files, shut = own.files(root), root / "shut"
        shut.mkdir()
        protected = root / f"protected{own.ending}"
        if own.folder:
            protected.mkdir(mode=0o555)
        else:
            protected.write_bytes(MINE if own.kept else marked(BARE[own.ending], own.ending))
            protected.chmod(0o444)
        shut.chmod(0o555)
        before = everything(root)
        linkmotion(own.command, "--help")
        for name in (shut / f"new{own.ending}", protected):
            for more in with_replace(own):
                words = [*own.argv(name, files), *more]
                linkmotion(*own.argv(root / "x.wrong" if own.ending else files["engine"], files))  # loads its rooms
                run = apart(partial(linkmotion, *words), ordinary=True).result
                assert_refused(run, name)
                assert everything(root) == before


@pytest.mark.parametrize("name", ["", "/", "."])
@pytest.mark.parametrize("command", ["card", "page", "check", "cleanup"])
def test_an_engine_without_a_name_is_told_as_such(command: str, name: str, linkmotion: Command) -> None:
    state = ["--state", "as found"] if command == "cleanup" else []
    run = linkmotion(command, name, *state)
    assert run.code == 2, run
    assert_refused(run, name or ".")
