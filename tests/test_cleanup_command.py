"""``linkmotion cleanup``: the example out of the box, readings from a file, what is refused and how."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from typer.testing import CliRunner

from linkmotion.cli import app
from linkmotion.files.faults import FileError
from linkmotion.files.slot_readings import read_slot_readings, slot_readings
from tests.gears_at_hand import EXAMPLES

ENGINES = {path.stem: path for path in EXAMPLES}
SHUNTER = ENGINES["dock_shunter"]


def run(*wishes: str, engine: Path = SHUNTER, state: str = "as found", side: str = "left") -> Any:
    return CliRunner().invoke(app, ["cleanup", str(engine), "--state", state, "--side", side, *wishes])


def data(*wishes: str, **where: Any) -> Any:
    return json.loads(run("--json", *wishes, **where).output)


def told(*wishes: str, **where: Any) -> str:
    result = run("--tables", *wishes, **where)
    assert isinstance(result.exception, FileError)
    assert len(str(result.exception).splitlines()) == 2
    return str(result.exception)


def test_the_example_runs_as_it_stands_and_writes_sheets_that_agree_with_the_table(tmp_path: Path) -> None:
    result = run("--into", str(tmp_path / "slot"))
    assert result.exit_code == 0, result.exception
    names = {path.name for path in (tmp_path / "slot").iterdir()}
    assert names == {f"slot-{centre}{end}" for centre in ("drawn-centre", "worn-centre", "drawn-centre-limited",
                     "worn-centre-limited") for end in (".html", ".dxf")}  # fmt: skip
    own = {p["proposal"]: p for p in data()["proposals"]}["worn centre, limited"]
    sheet = (tmp_path / "slot" / "slot-worn-centre-limited.html").read_text()
    for key in ("radius_front", "centre_x", "die_width", "slot_width"):
        assert f"{own[key]:.4f}" in sheet
        assert f"{own[key]:.4f}" in result.output
    text = (tmp_path / "slot" / "slot-worn-centre-limited.dxf").read_text()
    document = ezdxf.read(io.StringIO(text))  # type: ignore[attr-defined]
    assert document.header["$INSUNITS"] == 1  # inches, as the file is
    cut = list(document.modelspace().query('ARC[layer=="slot finished"]'))
    assert sorted(arc.dxf.radius for arc in cut) == pytest.approx([own["radius_front"], own["radius_back"]], abs=1e-6)
    assert all(arc.dxf.center.x == pytest.approx(own["centre_x"], abs=1e-6) for arc in cut)


def test_limits_turn_a_sheet_into_one_that_leaves_metal_and_the_exit_status_tells_when_none_will_do() -> None:
    deep = data()
    assert [p["cleans_within_limits"] for p in deep["proposals"]] == [False, False, False, True]
    assert (deep["least_cut"], deep["least_cut_keeps_targets"]) == ("worn centre, limited", True)
    free = data("--given", "cut_front=1 in", "--given", "cut_back=1 in")
    assert free["least_cut"].startswith("drawn centre")  # the worn centre takes less, but drives the leads apart
    assert free["proposals"][1]["cut_mean"] < free["proposals"][0]["cut_mean"]
    tight = run("--json", "--given", "cut_back=0.002 in", "--given", "cut_front=0.002 in")
    assert tight.exit_code == 1
    own = json.loads(tight.output)["proposals"]
    assert not any(p["cleans_within_limits"] for p in own)
    assert json.loads(tight.output)["least_cut"] is None
    assert all(p["cut_back_most"] <= 0.002 + 1e-6 for p in own if "limited" in p["proposal"])


def test_readings_from_a_file_give_what_the_engine_file_gives(tmp_path: Path) -> None:
    document = SHUNTER.read_text()
    rows = [line for line in document.splitlines() if line.strip().startswith("{ at = ") and "back" in line]
    table = ["# read on the bench", "back (thou); place; front (in)"]
    for row in rows:
        at, front, back = (
            part.split("=")[1].strip(' "}]').removesuffix(" in") for part in row.strip().strip("{},").split(",")
        )
        table.append(f"{float(back) * 1000:g}; {at}; {front}")
    file = tmp_path / "slot.csv"
    file.write_text("\n".join(table) + "\n")
    assert len(rows) > 8
    from_file = data("--readings", str(file))
    for one, two in zip(from_file["proposals"], data()["proposals"], strict=True):
        assert one["radius_front"] == pytest.approx(two["radius_front"], abs=1e-6)
        assert one["cut_mean"] == pytest.approx(two["cut_mean"], abs=1e-7)
    assert data("--readings", str(file), state="drawing", side="right")["side"] == "right"


def test_the_worn_slot_is_not_counted_twice() -> None:
    """About the drawn centre, with its die, the events are those of the drawn slot, whatever else is worn."""
    for row in data()["events"]:
        for figure in ("lead", "cutoff_percent"):
            assert row[figure]["drawn centre"] == pytest.approx(row[figure]["slot as drawn"], abs=1e-6)
    apart = [abs(row["lead"]["slot as it is"] - row["lead"]["slot as drawn"]) for row in data()["events"]]
    assert max(apart) > 0.002  # in.


def test_ends_that_something_else_holds_off_their_targets_are_not_laid_to_the_slot() -> None:
    other = " ".join(run("--tables", engine=ENGINES["hackworth_quarry"]).output.split())
    assert "no proposal, nor the slot as drawn, brings the ends within the targets: something else" in other
    assert "something else" not in run("--tables").output


@pytest.mark.parametrize("stem", ["dock_shunter", "hackworth_quarry", "southern_mineral"])
def test_the_slot_as_it_is_gives_what_check_tells_of_the_state_set_afresh(stem: str) -> None:
    wishes = ("--state", "as found", "--side", "left", "--all-tables", "--json")
    checked = json.loads(CliRunner().invoke(app, ["check", str(ENGINES[stem]), *wishes]).output)["events"]
    afresh = {
        (row["notch"], row["direction"], row["end"]): (row["lead"], row["cutoff_percent"])
        for row in checked
        if row["standing"] == "set afresh"
    }
    rows = data(engine=ENGINES[stem])["events"]
    assert rows
    for row in rows:
        own = row["lead"]["slot as it is"], row["cutoff_percent"]["slot as it is"]
        assert own == afresh[row["notch"], row["direction"], row["end"]]


@pytest.mark.parametrize(
    ("stem", "width"), [("stephenson_goods", "60 mm"), ("gooch_tank", "60 mm"), ("metre_gauge", "50 mm")]
)
def test_every_gear_with_a_curved_slot_is_served(stem: str, width: str, tmp_path: Path) -> None:
    file = tmp_path / "read.csv"
    file.write_text("place (mm),front (mm),back (mm)\n-70,0.1,0.4\n0,0.2,0.1\n70,0.5,0.1\n")
    found = data("--readings", str(file), "--given", f"slot_width={width}", "--given", "gauge=0.02 mm",
                 engine=ENGINES[stem], state="drawing")  # fmt: skip
    assert [p["no_events"] for p in found["proposals"]] == [None, None]
    drawn, worn = (p["cut_mean"] for p in found["proposals"])
    assert 0 < worn < drawn


def test_a_gear_without_a_slot_is_refused_with_the_reason() -> None:
    assert "clean-up is for gears with a link" in told(engine=ENGINES["donkey_eccentric"], state="drawing")


@pytest.mark.parametrize(
    ("wishes", "where", "words"),
    [
        ((), {"side": "right"}, "no depth readings of the slot (as found, right side)"),
        (("--given", "gauge"), {}, "write KEY=VALUE"),
        (("--given", "guage=0.02 mm"), {}, "did you mean 'gauge'?"),
        (("--given", "gauge=0.02 m"), {}, "--given: gauge: "),
        (("--given", "datum=gudgeon"), {}, "choose one of: mid slot, trunnion, foot"),
        (("--given", "datum={0}"), {}, "no datum '{0}' on this link"),
        (("--given", "gauge=5 in"), {}, "a gauge uncertain by 5.000 in"),
        (("--given", "clearance=5 in"), {}, "5.000 in is no clearance for this die"),
        (("--given", "slot_width=4 ft"), {}, "give 0 < width < radius"),
        (("--readings", "nowhere.csv"), {}, "place (mm), front (mm), back (mm)"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_told_with_a_remedy(wishes: tuple[str, ...], where: Any, words: str) -> None:
    assert words in told(*wishes, **where)


def test_what_lacks_in_the_table_is_told_with_its_meaning(tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    file.write_text("\n".join(line for line in SHUNTER.read_text().splitlines() if not line.startswith("gauge =")))
    words = told(engine=file)
    assert "cleanup.gauge: missing" in words
    assert "standard uncertainty of one depth reading" in words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("place,front,back\n1,2\n", None),  # back not read there ...
        ("place,front\n1,2\n", "no column 'back'"),
        ("place,front,back,note\n", "no column 'note'"),
        ("place,fornt,back\n", "did you mean 'front'?"),
        ("place,front,back,back\n", "line 1: back: two columns of this name"),
        ("place (cm),front,back\n", "no unit 'cm'"),
        ("place,front,back\n\n10,0.1,0.2x\n", "line 3: back: "),
        ("place,front,back\n10,0,1,0\n", "line 2: 4 figures"),
        ("place,front,back\n,0.1,0.2\n", "line 2: place: missing"),
        ("place,front,back\n10,,\n", "line 2: a place without a reading"),
        ("place,front,back\n10,0.1,\n", "back: no reading of the back face"),
        ("", "no column 'place'"),
    ],
)  # fmt: skip
def test_a_file_of_readings_is_refused_with_line_and_column(text: str, words: str | None) -> None:
    if words is None:
        text, words = text + "2,,3\n", ""
        front, back = slot_readings(text, "x.csv", "mm")
        assert (front.places.tolist(), back.places.tolist(), back.losses.tolist()) == ([1.0], [2.0], [3.0])
        return
    with pytest.raises(FileError, match=r"^x\.csv") as caught:
        slot_readings(text, "x.csv", "mm")
    assert words in str(caught.value)


def test_a_file_of_readings_is_read_as_spreadsheets_save_it(tmp_path: Path) -> None:
    path = tmp_path / "slot.csv"
    path.write_bytes("# relev\u00e9 \u00e0 l'atelier\r\nplace;front;back\r\n-10,5;0,25;0,1 mm\r\n".encode("cp1252"))
    front, back = read_slot_readings(path, "mm")
    assert (front.places.tolist(), front.losses.tolist(), back.losses.tolist()) == ([-10.5], [0.25], [0.1])
    path.write_bytes(b"place;front;back\r\n1;2;\x00\r\n\xe9")
    with pytest.raises(FileError, match="not a text file"):
        read_slot_readings(path, "mm")


def test_a_drawing_without_readings_is_told_of_its_own_table(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(Path(__file__).parents[1])
    told = CliRunner().invoke(app, ["cleanup", "examples/gooch_tank.toml", "--state", "drawing"])
    assert "give slot = [ … ] in [wear], or --readings FILE" in str(told.exception)
