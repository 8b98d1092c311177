"""The record: who, when, with what; what is told of it, and what cannot be altered in silence."""

from __future__ import annotations

import json
import re
import shutil
from datetime import date
from pathlib import Path

import pytest

from linkmotion.commands.history import HistoryRequest, run_history
from linkmotion.files.engine_file import parse_engine, read_engine
from linkmotion.files.faults import FileError
from linkmotion.files.photographs import photographs
from linkmotion.files.seals import Seal, read_seals, seal_file, seals_now
from linkmotion.files.since_recorded import alterations
from linkmotion.files.written import every_leaf, written_figures
from linkmotion.studies.record_history import changes, history, state_on
from tests.bad_engines.changed import DOCK, EXAMPLES, replaced
from tests.bad_engines.command import Command, assert_refused

WINKLE = EXAMPLES / "winkle"
FIRST, LATER = date(2026, 10, 1), date(2026, 11, 2)
DATED = replaced('[state."as found"]\n', '[state."as found"]\non = 2026-03-14\nby = "E. Marl"\n', DOCK)


@pytest.fixture
def shed(tmp_path: Path) -> Path:
    """A copy of the example folder without what was recorded there."""
    shutil.copytree(WINKLE, tmp_path / "winkle")
    (tmp_path / "winkle" / "winkle.recorded.toml").unlink()
    return tmp_path / "winkle"


def told(shed: Path, day: date, capsys: pytest.CaptureFixture[str], **wishes: object) -> tuple[int, str]:
    capsys.readouterr()
    code = run_history(HistoryRequest(shed / "winkle.toml", **wishes), day)  # type: ignore[arg-type]
    return code, " ".join(capsys.readouterr().out.split())


def rewrite(file: Path, old: str, new: str) -> None:
    file.write_text(replaced(old, new, file.read_text(encoding="utf-8")), encoding="utf-8")


# ---- what is told ---------------------------------------------------------------------------------------------------


def test_every_table_can_have_a_record_and_its_figures_are_what_they_were() -> None:
    tables = re.findall(r"^\[([^\]]+)\]$", DOCK, re.MULTILINE)
    text = DOCK
    wanted = [table for table in tables if table not in ("reversing.notches", "tolerances.clearance")]
    for table in wanted:
        text = text.replace(f"[{table}]\n", f'[{table}]\nby = "E. Marl"\non = 2026-03-14\nphoto = "a.png"\n', 1)
        text = re.sub(
            rf"^(\[{re.escape(table)}\]) +#",
            r'\1\nby = "E. Marl"\non = 2026-03-14\nphoto = "a.png"\n#',
            text,
            count=1,
            flags=re.M,
        )
    marked, plain = parse_engine(text), parse_engine(DOCK)
    assert len(marked.records) >= len(wanted) >= 25
    assert all(own.by == "E. Marl" and own.on == date(2026, 3, 14) for own in marked.records.values() if own.by)
    assert sum(own.by != "" for own in marked.records.values()) == len(wanted)
    for state in plain.state_names:
        for side in ("left", "right"):
            assert marked.side_state(state, side) == plain.side_state(state, side)
    assert (marked.targets, marked.cleanup, marked.adjustments) == (plain.targets, plain.cleanup, plain.adjustments)
    assert marked.tolerances == plain.tolerances


def test_nothing_is_lost_and_nothing_invented() -> None:
    """Every state, every record and every figure of a state stands in the history once, and no other word does."""
    engine = read_engine(WINKLE / "winkle.toml")
    written = written_figures(engine)
    entries = history(engine, written)
    assert {own.state for own in entries} == set(engine.state_names)
    assert {own.where for own in entries} >= set(engine.records)
    of_states = [own for own in entries if own.where[0] == "state"]
    listed = [(own.state, fig.side, fig.dimension, fig.written) for own in of_states for fig in own.figures]
    assert sorted(listed) == sorted(
        (path[1], path[2], ".".join(path[3:]), text) for path, text in written.items() if path[0] == "state"
    )
    for own in entries:
        for words in (own.record.by, own.record.note, own.record.instrument, own.record.from_engine):
            assert words in engine.text


def test_entries_stand_by_their_days_and_the_undated_last() -> None:
    engine = parse_engine(DATED)
    days = [(own.state, own.on) for own in history(engine, written_figures(engine))]
    assert days == [("as found", date(2026, 3, 14)), ("drawing", None), ("as repaired", None)]


def test_a_place_without_a_day_has_the_states_and_says_so() -> None:
    engine = read_engine(WINKLE / "winkle.toml")
    own = {entry.where: (entry.on, entry.own_day) for entry in history(engine, written_figures(engine))}
    assert own["state", "as found", "left", "radius_rod"] == (date(2026, 3, 14), False)
    assert own["state", "as found", "left", "wear"] == (date(2026, 3, 21), True)


def test_a_figure_stands_with_what_was_before_and_how_much_more_it_is() -> None:
    engine = parse_engine(DATED)
    repaired = next(own for own in history(engine, written_figures(engine)) if own.state == "as repaired")
    rod = next(own for own in repaired.figures if own.dimension == "eccentric_rod.length")
    assert (rod.written, rod.before, rod.unit) == ("31 17/32 in", "31 9/16 in", "mm")
    assert rod.by == pytest.approx(-25.4 / 32, abs=1e-9)
    link = next(own for own in repaired.figures if own.dimension == "reversing.lifting_link")
    assert (link.side, link.before) == ("both", "13 15/16")


def test_a_part_has_its_figures_and_what_the_gauge_found_on_it() -> None:
    engine = read_engine(WINKLE / "winkle.toml")
    own = {
        (entry.state, figure.dimension)
        for entry in history(engine, written_figures(engine), "eccentric_rod") for figure in entry.figures
    }  # fmt: skip
    assert own == {
        ("drawing", "eccentric_rod.length"),
        ("as found", "eccentric_rod.length"),
        ("as found", "wear.bow.eccentric rod"),
    }


def test_what_changed_between_two_days() -> None:
    engine = read_engine(WINKLE / "winkle.toml")
    assert [state_on(engine, date(2026, month, 14)) for month in (2, 3, 9)] == [
        "drawing", "as found", "return crank keyed",
    ]  # fmt: skip
    (slip,) = changes(engine, written_figures(engine), "as found", "return crank keyed")
    assert (slip.side, slip.dimension, slip.before, slip.written) == (
        "left",
        "wear.angle_slip.return crank",
        "-0.25",
        "0",
    )
    back = changes(engine, written_figures(engine), "return crank keyed", "drawing")
    assert {own.dimension for own in back if own.written == ""} >= {"wear.clearance.foot", "wear.bow.eccentric rod"}


# ---- seals ----------------------------------------------------------------------------------------------------------


def test_what_is_dated_is_recorded_once_and_told_when_it_differs(
    shed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, out = told(shed, FIRST, capsys)
    assert code == 0
    assert "Recorded now in winkle.recorded.toml: drawing of 1911-05-02" in out
    first = (shed / "winkle.recorded.toml").read_bytes()
    code, out = told(shed, LATER, capsys)
    assert (code, "Recorded now" in out) == (0, False)
    rewrite(shed / "winkle.toml", 'length = "31 9/16 in"', 'length = "31 5/8 in"')
    code, out = told(shed, LATER, capsys)
    assert code == 1
    assert (
        'state."as found" of 2026-03-14: changed since recorded on 2026-10-01: right.eccentric_rod.length was '
        "31 9/16 in, is 31 5/8 in" in out
    )
    assert (shed / "winkle.recorded.toml").read_bytes() == first


def test_a_change_that_is_recorded_again_stays_told(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told(shed, FIRST, capsys)
    first = (shed / "winkle.recorded.toml").read_text(encoding="utf-8")
    rewrite(shed / "winkle.toml", 'length = "31 9/16 in"', 'length = "31 5/8 in"')
    code, out = told(shed, LATER, capsys, record_again=("as found",))
    assert code == 0
    assert "was 31 9/16 in, is 31 5/8 in (recorded again on 2026-11-02)" in out
    assert (shed / "winkle.recorded.toml").read_text(encoding="utf-8").startswith(first), "it is only added to"
    assert told(shed, LATER, capsys)[0] == 0
    rewrite(shed / "winkle.toml", 'length = "31 5/8 in"', 'length = "31 9/16 in"')
    assert told(shed, LATER, capsys)[0] == 1, "what holds is what was recorded last"


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('by = "E. Marl and P. Osk (invented)"', 'by = "P. Osk (invented)"', "by was E. Marl and P. Osk"),
        ("on = 2026-03-14", "on = 2026-03-15", "on was 2026-03-14, is 2026-03-15"),
        ("on = 2026-03-14\n", "", "on was 2026-03-14, is gone"),
        ('"union pin" = "0.018 in"', '"union pin" = "0.017 in"', "was 0.018 in, is 0.017 in"),
        ('bow = { "eccentric rod" = "3/32 in" }\n', "", "was 3/32 in, is gone"),
        ('note = "Stamped 3 on the fork."\n', "", "left.radius_rod.note was Stamped 3 on the fork., is gone"),
        ('greatest = "1.395 in"', 'greatest = "1.396 in"', "was 1.395 in, is 1.396 in"),
        ('length = "31 17/32 in"', 'length = "31 1/2 in"', "drawing of 1911-05-02: changed since recorded"),
        ('"mid" = { die = 0 }', '"mid" = { die = "1/8 in" }', "reversing.notches.mid.die was 0, is 1/8 in"),
    ],
)  # fmt: skip
def test_no_word_of_an_old_state_is_altered_in_silence(
    old: str, new: str, words: str, shed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    told(shed, FIRST, capsys)
    rewrite(shed / "winkle.toml", old, new)
    code, out = told(shed, LATER, capsys)
    assert code == 1
    assert words in out


SAME = [
    ("lead_difference = ", "lead_difference  =  "),
    ("on = 2026-03-21", "on   = 2026-03-21  # a Saturday"),
    ("[union_link]", "\n[union_link]"),
]


@pytest.mark.parametrize(("old", "new"), SAME)
def test_what_says_the_same_is_no_change(old: str, new: str, shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told(shed, FIRST, capsys)
    file = shed / "winkle.toml"
    file.write_text(file.read_text(encoding="utf-8").replace(old, new) + "\n# a remark\n", encoding="utf-8")
    assert told(shed, LATER, capsys)[0] == 0


def test_a_state_that_is_gone_is_told_until_it_is_recorded_so(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told(shed, FIRST, capsys)
    file = shed / "winkle.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text[: text.index('[state."return crank keyed"]')], encoding="utf-8")
    code, out = told(shed, LATER, capsys)
    assert (
        code,
        'state."return crank keyed" of 2026-08-30: changed since recorded on 2026-10-01: it is gone' in out,
    ) == (1, True)
    code, out = told(shed, LATER, capsys, record_again=("return crank keyed",))
    assert (code, "left.wear.angle_slip.return crank" in out.replace('"', "")) == (0, True)


def test_a_record_that_was_altered_itself_is_told(shed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told(shed, FIRST, capsys)
    for file in ("winkle.toml", "winkle.recorded.toml"):
        text = (shed / file).read_text(encoding="utf-8")
        (shed / file).write_text(text.replace("31 9/16 in", "31 5/8 in"), encoding="utf-8")
    code, out = told(shed, LATER, capsys)
    assert code == 1
    assert 'what was recorded of state."as found" on 2026-10-01 was altered since' in out


def test_a_state_on_which_a_dated_one_rests_is_recorded_with_it() -> None:
    engine = parse_engine(replaced('[state."as repaired"]\n', '[state."as repaired"]\non = 2026-09-01\n', DOCK))
    assert [(own.what, own.dated) for own in seals_now(engine, FIRST)] == [
        ("drawing", None), ('state."as found"', None), ('state."as repaired"', date(2026, 9, 1)),
    ]  # fmt: skip


def test_nothing_dated_nothing_recorded(tmp_path: Path, linkmotion: Command) -> None:
    (tmp_path / "e.toml").write_text(DOCK, encoding="utf-8")
    run = linkmotion("history", tmp_path / "e.toml")
    assert run.code == 0
    assert "none with a day" in run.out
    assert [file.name for file in tmp_path.iterdir()] == ["e.toml"]


def test_a_seal_keeps_every_figure_of_its_state() -> None:
    engine = parse_engine(DATED)
    seal = next(own for own in seals_now(engine, FIRST) if own.what == 'state."as found"')
    import tomllib

    leaves = dict(every_leaf(tomllib.loads(DATED)["state"]["as found"]))
    assert len(seal.figures) == len(leaves) > 40
    assert list(seal.figures.values()) == list(leaves.values())


def test_a_record_reads_back_as_it_was_written(tmp_path: Path) -> None:
    odd = {"a": 'quo"te\\ and \u00b1 and \n line', 'b."c d"': 1.5, "e": True, "f": date(2026, 1, 2), "g": -3}
    seal = Seal('state."x"', date(2026, 1, 2), FIRST, odd)
    file = tmp_path / "e.recorded.toml"
    file.write_text(seal.written(), encoding="utf-8")
    assert read_seals(file) == [seal]
    assert alterations(parse_engine(DOCK), [seal], LATER)[0].key == "", "there is no such state"


def test_two_peoples_records_can_be_put_together(
    shed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each added a state of his own; the lines of both, one after another, are a record."""
    told(shed, FIRST, capsys)
    base = (shed / "winkle.recorded.toml").read_text(encoding="utf-8")
    added = []
    original = (shed / "winkle.toml").read_text(encoding="utf-8")
    for name in ("one", "other"):
        (shed / "winkle.recorded.toml").write_text(base, encoding="utf-8")
        state = f'[state.{name}]\non = 2026-10-02\n[state.{name}.left.union_link]\nlength = "14 1/32"\n'
        (shed / "winkle.toml").write_text(f"{original}\n{state}", encoding="utf-8")
        told(shed, LATER, capsys)
        added.append((state, (shed / "winkle.recorded.toml").read_text(encoding="utf-8").removeprefix(base)))
    (shed / "winkle.toml").write_text("\n".join([original, *(state for state, _text in added)]), encoding="utf-8")
    (shed / "winkle.recorded.toml").write_text(base + "".join(text for _state, text in added), encoding="utf-8")
    code, out = told(shed, LATER, capsys)
    assert (code, "Recorded now" in out) == (0, False)


BROKEN = {
    "no TOML": ("[[recorded]]\nwhat = \n", "TOML"),
    "no list": ("recorded = 3\n", "a list"),
    "another table": ("[engine]\n", "engine"),
    "no day": ('[[recorded]]\nwhat = "drawing"\ndigest = "x"\nfigures = {}\n', "recorded"),
    "no words": ('[[recorded]]\nwhat = 3\nrecorded = 2026-01-01\ndigest = "x"\nfigures = {}\n', "what"),
    "no figures": ('[[recorded]]\nwhat = "drawing"\nrecorded = 2026-01-01\ndigest = "x"\nfigures = 2\n', "figures"),
    "one key more": ('[[recorded]]\nmore = 3\n', "more"),
    "a day that is none": (
        '[[recorded]]\nwhat = "drawing"\ndated = "x"\nrecorded = 2026-01-01\ndigest = "x"\nfigures = {}\n', "dated",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", BROKEN)
def test_a_broken_record_is_told_and_left(what: str, shed: Path, linkmotion: Command) -> None:
    text, word = BROKEN[what]
    file = shed / "winkle.recorded.toml"
    file.write_text(text, encoding="utf-8")
    run = linkmotion("history", shed / "winkle.toml")
    assert_refused(run, file)
    assert word in run.err
    assert file.read_text(encoding="utf-8") == text


def test_looking_and_json_record_nothing(shed: Path, linkmotion: Command) -> None:
    for option in ("--look", "--json"):
        assert linkmotion("history", shed, option).code == 0
        assert not (shed / "winkle.recorded.toml").exists()
        run = linkmotion("history", shed, option, "--record-again", "drawing")
        assert_refused(run, "--record-again")


@pytest.mark.parametrize(
    ("words", "name", "remedy"),
    [
        (["--since", "yesterday"], "--since", "2026-11-30"),
        (["--until", "2026-02-30"], "--until", "2026-11-30"),
        (["--since", "2026-03-01", "--until", "2026-02-01"], "--until", "the earlier day"),
        (["--part", "eccentric"], "", "eccentric_rod"),
        (["--record-again", "as fuond"], "--record-again", "as found"),
        (["--paper", "A4"], "--paper", "--dossier"),
        (["--dossier", "x.pdf"], "x.pdf", ".html"),
    ],
)
def test_wrong_wishes_are_told(words: list[str], name: str, remedy: str, shed: Path, linkmotion: Command) -> None:
    linkmotion("history", shed)
    run = linkmotion("history", shed, *words)
    assert_refused(run, name or shed / "winkle.toml")
    assert remedy in run.err


# ---- photographs ----------------------------------------------------------------------------------------------------


def test_photographs_stand_in_the_dossier_and_missing_ones_are_told(shed: Path, linkmotion: Command) -> None:
    page = shed / "dossier.html"
    assert linkmotion("history", shed, "--dossier", page).code == 0
    html = page.read_text(encoding="utf-8")
    assert html.count('<img src="data:image/') == 2
    assert "http" not in re.sub(r"data:[^\"]+", "", html)
    (shed / "photos" / "fork-stamp.png").unlink()
    run = linkmotion("history", shed, "--dossier", page)
    assert run.code == 1
    assert "fork-stamp.png" in run.out
    assert "put it there" in " ".join(run.out.split())
    html = page.read_text(encoding="utf-8")
    assert html.count('<img src="data:image/') == 1
    assert "photos/fork-stamp.png: is not there" in html
    check = " ".join(linkmotion("check", shed, "--state", "as found", "--notch", "mid", "--tables").out.split())
    assert "fork-stamp.png" in check


def test_a_photograph_that_is_none_or_lies_outside_is_told(shed: Path, tmp_path: Path) -> None:
    engine = read_engine(shed / "winkle.toml")
    stamp = shed / "photos" / "fork-stamp.png"

    def problem() -> str:
        return next(own.problem for own in photographs(engine.records, shed) if "stamp" in own.name)

    assert problem() == ""
    stamp.write_bytes(b"six months of measuring")
    assert "no picture" in problem()
    stamp.unlink()
    (tmp_path / "elsewhere.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    stamp.symlink_to(tmp_path / "elsewhere.png")
    assert "out of the folder" in problem()
    stamp.unlink()
    stamp.mkdir()
    assert "is not there" in problem()


def test_a_damaged_picture_is_told_in_its_place(shed: Path, linkmotion: Command) -> None:
    stamp = shed / "photos" / "fork-stamp.png"
    stamp.write_bytes(stamp.read_bytes()[:2000])
    assert linkmotion("history", shed, "--dossier", shed / "d.html").code == 0
    assert "is damaged and cannot be shown" in (shed / "d.html").read_text(encoding="utf-8")


def test_a_record_elsewhere_than_asked_for_is_not_written_over(shed: Path, linkmotion: Command) -> None:
    record = seal_file(shed / "winkle.toml")
    linkmotion("history", shed)
    before = record.read_bytes()
    run = linkmotion("history", shed, "--dossier", record, "--replace")
    assert_refused(run, record)
    assert record.read_bytes() == before


def test_the_round_trip_keeps_records_to_the_letter() -> None:
    import linkmotion as lm

    engine = lm.read_engine(WINKLE / "winkle.toml")
    edited = engine.edit("union_link.length", "14 1/64")
    assert edited.text == replaced('length = "14"', 'length = "14 1/64"', engine.text)
    assert edited.as_read.records == engine.as_read.records


def test_a_key_of_a_record_where_none_can_be_is_unknown() -> None:
    with pytest.raises(FileError, match=r"valve\.set_in"):
        parse_engine(replaced('direction = "forward" }', 'direction = "forward", by = "x" }', DOCK))


def test_a_photograph_that_is_a_circle_of_links_is_told_in_its_place(shed: Path, linkmotion: Command) -> None:
    stamp = shed / "photos" / "fork-stamp.png"
    stamp.unlink()
    stamp.symlink_to(stamp.name)
    run = linkmotion("history", shed)
    assert run.code in (0, 1)
    assert "photos/fork-stamp.png" in run.out


def test_the_library_tells_what_the_command_tells(linkmotion: Command) -> None:
    """Of readings, wheel marks and slot readings beside the engine's file too."""
    import linkmotion as lm

    told = json.loads(linkmotion("history", EXAMPLES / "pipit" / "pipit.toml", "--json").out)["entries"]
    keys = ("on", "own_day", "file", "state", "side", "by", "with", "note", "from_engine")
    rows = lm.read_engine(EXAMPLES / "pipit").record().rows()
    assert [[row[key] for key in keys] for row in rows] == [[own[key] for key in keys] for own in told]
    assert {row["file"] for row in rows} >= {None, "readings.toml", "marks.toml", "slot-right.csv", "trammel.toml"}
    assert {row["file"] for row in lm.read_engine(EXAMPLES / "pipit").edit("engine.note", "x").record().rows()} == {
        row["file"] for row in rows
    }
    assert all(row["file"] is None for row in lm.parse_engine(lm.read_engine(EXAMPLES / "pipit").text).record().rows())
