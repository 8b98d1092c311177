"""The slot on the bench: readings typed along it, its clean-up and drawings as the command has them."""

from __future__ import annotations

import io
import re
import shutil
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import ezdxf
import pytest

from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.commands.cleanup import CleanupRequest, run_cleanup
from linkmotion.files.engine_file import read_engine
from tests.bench_at import DOCK, EXAMPLES, Answer, Wire, laid_out, on_the_wire
from tests.test_bench_screens import WINKLE, Told, asked, bench, by_command, first

__all__ = ["bench"]  # the fixture


ROWS = [("-4 in", "2 thou", "0.003 in"), ("0", "1 thou", "2 thou"), ("3 in + 1 in", "0.0015", "0.1 mm")]


def enter_slot(bench: Wire, rows: list[tuple[str, str, str]], seen: int = -1, **other: str) -> Answer:
    typed = [dict(zip(("at", "front", "back"), row, strict=True)) for row in rows]
    wish = {"do": "slot", "state": "as found", "side": "right", "rows": typed}
    return bench.ask(f"e/{DOCK}/change", wish | {"seen": bench.seen() if seen < 0 else seen} | other)


def test_readings_typed_along_a_slot_are_in_the_file_and_cleaned_up_as_by_the_command(
    bench: Wire, capsys: Told
) -> None:
    file = bench.folder.path / f"{DOCK}.toml"
    before = file.read_bytes()
    assert "has not been read yet" in first(asked(bench, f"{DOCK}/slot/answer", state="as found", side="right"))
    told = enter_slot(bench, ROWS)
    assert told.code == 200, told.text
    assert told.read["words"] == "as found, right side: slot read at 3 places"
    losses = read_engine(file).condition("as found", "right").slot
    assert [(loss.at, loss.front, loss.back) for loss in losses] == [
        pytest.approx((25.4 * at, 25.4 * front, 25.4 * back), abs=1e-9)
        for at, front, back in ((-4, 0.002, 0.003), (0, 0.001, 0.002), (4, 0.0015, 0.1 / 25.4))
    ]
    text = asked(bench, f"{DOCK}/slot/answer", state="as found", side="right")
    found = by_command(capsys, run_cleanup(CleanupRequest(file, "as found", "right", output="json")))
    best = next(own for own in found["proposals"] if own["proposal"] == found["least_cut"])
    assert f"{best['proposal']}, mean cut {best['cut_mean']:.4f} in" in first(text)
    assert bench.ask(f"e/{DOCK}/change", {"do": "undo", "seen": bench.seen()}).code == 200
    assert file.read_bytes() == before, "with every comment"


def test_a_reading_that_is_none_is_told_at_its_field(bench: Wire) -> None:
    file = bench.folder.path / f"{DOCK}.toml"
    before = file.read_bytes()
    for row, column, value, said in (
        (1, "back", "2 apples", "unknown unit 'apples'"), (0, "front", "30 mm", "is the unit right?"),
        (2, "at", "x", "is not a length"),
    ):  # fmt: skip
        rows = [list(own) for own in ROWS]
        rows[row][("at", "front", "back").index(column)] = value
        told = enter_slot(bench, [(own[0], own[1], own[2]) for own in rows])
        assert told.code == 422
        assert told.read["field"] == f"slot.{row}.{column}"
        assert said in told.read["said"]
    twice = enter_slot(bench, [ROWS[0], ROWS[0]])
    assert twice.code == 422
    assert "two readings at one place" in twice.read["said"]
    assert enter_slot(bench, ROWS, state="drawing").code == 422
    assert enter_slot(bench, ROWS, side="both").code == 422
    assert enter_slot(bench, [("1", "2", "")]).code == 422
    assert enter_slot(bench, [ROWS[0]] * 201).code == 422
    odd: Any
    for odd in ([1], [{}], [{"at": 1, "front": 2, "back": 3}], [{"at": "1", "front": "2", "back": "3", "x": "4"}]):
        wish = {"do": "slot", "seen": 0, "state": "as found", "side": "left", "rows": odd}
        assert bench.ask(f"e/{DOCK}/change", wish).code == 422
    assert file.read_bytes() == before


def test_a_second_window_is_told_of_readings_entered_elsewhere(bench: Wire) -> None:
    seen = bench.seen()
    assert enter_slot(bench, ROWS, seen).code == 200
    told = enter_slot(bench, ROWS[:2], seen)
    assert told.code == 409
    assert told.read["elsewhere"] is True
    assert bench.enter("31.6", seen).code == 200, "another figure is another place"


def test_limits_are_entered_and_change_what_is_proposed(bench: Wire, capsys: Told) -> None:
    path = f"{DOCK}/slot/answer"
    assert "worn centre, limited" in first(asked(bench, path, state="as found"))

    def limit(name: str, value: str) -> Answer:
        wish = {"do": "figure", "seen": bench.seen(), "name": name, "value": value}
        return bench.ask(f"e/{DOCK}/slot/take", wish)

    for name in ("cleanup.cut_front", "cleanup.cut_back"):
        assert limit(name, "0.020 in").code == 200
    told = by_command(
        capsys, run_cleanup(CleanupRequest(bench.folder.path / f"{DOCK}.toml", "as found", "left", output="json"))
    )
    assert told["least_cut"] == "drawn centre", "the one that keeps the ends within the targets"
    assert "drawn centre, mean cut 0.0056 in" in first(asked(bench, path, state="as found"))
    text = (bench.folder.path / f"{DOCK}.toml").read_text("utf-8")
    assert re.search(r'cut_front = "0.020 in" +# deepest cut this shop will take', text), "the comment stays"
    wrong = limit("cleanup.gauge", "coarse")
    assert wrong.code == 422
    assert wrong.read["field"] == "cleanup.gauge"
    assert limit("cleanup.nothing", "1").code == 422
    assert limit("cleanup.gauge", "").code == 200
    assert "standard uncertainty of one depth reading" in first(asked(bench, path, state="as found"))


def test_the_clean_up_that_is_chosen_is_drawn_and_its_drawings_are_the_commands(bench: Wire, tmp_path: Path) -> None:
    choice = {"state": "as found", "side": "left", "cleanup": "drawn centre"}
    assert "Drawn centre: machining drawing" in asked(bench, f"{DOCK}/slot/answer", **choice)
    before = sorted(own.name for own in bench.folder.path.iterdir())
    query = urlencode(choice)
    dxf, page = (bench.ask(f"e/{DOCK}/sheet/{name}?{query}") for name in ("dxf", "machining"))
    assert sorted(own.name for own in bench.folder.path.iterdir()) == before
    into = tmp_path / "sheets"
    run_cleanup(CleanupRequest(bench.folder.path / f"{DOCK}.toml", "as found", "left", into=into))
    assert dxf.headers["content-disposition"].startswith("attachment; filename*=UTF-8''dock_shunter-left-slot-drawn")
    own = [
        [each.dxf.all_existing_dxf_attribs() | {"handle": "", "owner": "", "kind": each.dxftype()} for each in
         ezdxf.read(io.StringIO(text)).modelspace()]  # type: ignore[attr-defined]
        for text in (dxf.text, (into / "slot-drawn-centre.dxf").read_text("utf-8"))
    ]  # fmt: skip
    assert own[0] == own[1]
    assert len(own[0]) > 30
    made = (into / "slot-drawn-centre.html").read_text("utf-8")
    tables = r"<table.*?</table>"
    assert re.findall(tables, page.text, re.DOTALL) == re.findall(tables, made, re.DOTALL)


def test_a_table_of_readings_in_the_engines_own_folder_serves(tmp_path: Path, capsys: Told) -> None:
    folder = tmp_path / WINKLE
    shutil.copytree(EXAMPLES / WINKLE, folder)
    with on_the_wire(FolderOfEngines(folder)) as own:
        text = asked(own, f"{WINKLE}/slot/answer", state="as found", side="right")
    request = CleanupRequest(folder / f"{WINKLE}.toml", "as found", "right", output="json", home=folder)
    told = by_command(capsys, run_cleanup(request))
    best = next((each for each in told["proposals"] if each["proposal"] == told["least_cut"]), None)
    assert (best["proposal"] if best else "No proposal") in first(text)


def test_a_gear_without_a_slot(tmp_path: Path) -> None:
    with on_the_wire(laid_out(tmp_path / "engines", "donkey_eccentric")) as own:
        assert "no slot in a gear of this kind" in first(asked(own, "donkey_eccentric/slot/answer"))
        assert "machining" not in asked(own, "donkey_eccentric/sheets")
        assert own.ask("e/donkey_eccentric/sheet/machining").code == 404
        assert own.ask("e/donkey_eccentric/sheet/nothing").code == 404
