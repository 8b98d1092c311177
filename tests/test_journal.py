"""The journal of a file's changes: every text can be made again, whatever was cut off when."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linkmotion.files.journal import BEGUN, ENTRY, KEPT, UNDO, Journal, Splice

TEXTS = ["a = 1\n", "a = 2\n", "a = 2\nb = 3\n", "", "ä = €\n", "b = 3\n"]


def written(path: Path, texts: list[str] = TEXTS) -> Journal:
    own = Journal(path)
    own.add(BEGUN, "begun", texts[0])
    for text in texts[1:]:
        own.add(ENTRY, "an entry", text)
    return own


@given(st.text(), st.text())
def test_a_splice_makes_the_one_text_of_the_other_and_back(old: str, new: str) -> None:
    splice = Splice.between(old, new)
    assert splice.done(old) == new
    assert splice.undone(new) == old


def test_a_splice_is_refused_by_a_text_to_which_it_does_not_belong() -> None:
    with pytest.raises(ValueError, match="does not belong"):
        Splice.between("length = 31", "length = 32").done("length = 35")


def test_every_text_is_made_again_from_the_disk(tmp_path: Path) -> None:
    written(tmp_path / "x")
    again = Journal(tmp_path / "x")
    assert [again.text_at(number) for number in range(len(TEXTS))] == TEXTS
    assert again.text == TEXTS[-1]
    with pytest.raises(KeyError):
        again.text_at(len(TEXTS))


def test_cut_off_anywhere_nothing_before_the_last_line_is_lost_and_it_goes_on(tmp_path: Path) -> None:
    written(tmp_path / "x")
    whole = (tmp_path / "x").read_bytes()
    ends = [at + 1 for at, byte in enumerate(whole) if byte == ord("\n")]
    for cut in range(len(whole) + 1):
        (tmp_path / "y").write_bytes(whole[:cut])
        own = Journal(tmp_path / "y")
        count = sum(end <= cut for end in ends)
        assert own.number == count - 1
        assert own.text == (TEXTS[count - 1] if count else "")
        own.add(ENTRY, "goes on", "after the cut\n")
        assert Journal(tmp_path / "y").text == "after the cut\n"


def test_rubbish_between_its_lines_is_passed_over(tmp_path: Path) -> None:
    written(tmp_path / "x")
    lines = (tmp_path / "x").read_bytes().splitlines(keepends=True)
    rubbish = [b"\n", b"{}\n", b"[1]\n", b"null\n", b"\xff\xfe\n", b'{"kind": "written"}\n', b"[" * 5000 + b"\n"]
    (tmp_path / "y").write_bytes(
        b"".join(line + rubbish[at % len(rubbish)] for at, line in enumerate(lines)) + rubbish[-1]
    )
    assert Journal(tmp_path / "y").text == TEXTS[-1]


def test_another_run_s_lines_are_taken_up(tmp_path: Path) -> None:
    one = written(tmp_path / "x", TEXTS[:2])
    other = Journal(tmp_path / "x")
    other.add(ENTRY, "by the other", TEXTS[2])
    one.look()
    assert (one.text, one.number) == (TEXTS[2], 2)


def test_steps_back_and_forth(tmp_path: Path) -> None:
    own = written(tmp_path / "x", TEXTS[:3])
    done, undone = own.standing()
    assert [change.number for change in done] == [1, 2]
    assert undone == []
    own.add(UNDO, "undone", done[-1].splice.undone(own.text))
    assert own.text == TEXTS[1]
    done, undone = own.standing()
    assert ([change.number for change in done], [change.number for change in undone]) == ([1], [2])
    own.add(ENTRY, "another", TEXTS[4])
    assert own.standing()[1] == []


def test_a_long_journal_is_kept_at_hand_in_part_and_on_the_disk_whole(tmp_path: Path) -> None:
    rng = random.Random(5)
    own = Journal(tmp_path / "x")
    own.add(BEGUN, "begun", "a = 0\n")
    for _ in range(2 * KEPT + 5):
        own.add(ENTRY, "entry", f"a = {rng.randrange(10**6)}\n")
    assert KEPT <= len(own.changes) <= 2 * KEPT
    first = own.changes[0].number
    assert first > 0
    again = Journal(tmp_path / "x")
    assert again.text_at(first) == own.text_at(first)
    assert own.text_at(own.number) == own.text == again.text
