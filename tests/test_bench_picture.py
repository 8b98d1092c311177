"""Points put on a picture at the bench: what is written, what is refused, and the figures ``trace`` makes of them."""

from __future__ import annotations

import html
import json
import os
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from linkmotion.bench.folder_of_engines import FolderOfEngines
from tests.bad_engines.command import Command
from tests.bench_at import EXAMPLES, Answer, Wire, on_the_wire

SISTER, PICTURE, POINTS = "dock_sister", "dock_arrangement.png", "dock_arrangement-picks.toml"


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Wire]:
    folder = tmp_path_factory.mktemp("pictures")
    for name in (f"{SISTER}.toml", f"pictures/{PICTURE}", f"pictures/{POINTS}"):
        shutil.copy(EXAMPLES / name, folder)
    (folder / "drawn.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'><script>1</script></svg>", "utf-8")
    os.symlink(EXAMPLES / "winkle" / "photos", folder / "elsewhere")
    with on_the_wire(FolderOfEngines(folder)) as own:
        yield own


def sent(bench: Wire, do: str, **wish: Any) -> Answer:
    """What the screen answers to a wish."""
    own = {"do": do, "file": POINTS, "like": "drawing", "seen": 0} | wish
    return bench.ask(f"e/{SISTER}/traced/take", own)


def version(bench: Wire) -> int:
    """Of the points file, as a page has it."""
    text = bench.ask(f"e/{SISTER}/traced?points={POINTS}").text
    return int(text.partition('data-seen="')[2].partition('"')[0])


def points(bench: Wire) -> Any:
    return tomllib.loads((bench.folder.path / POINTS).read_text("utf-8"))["points"]


def test_the_figures_are_those_of_the_command(
    bench: Wire, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    run = Command(monkeypatch, capsys)(
        "trace", bench.folder.path / f"{SISTER}.toml", bench.folder.path / POINTS, "--json"
    )
    wanted = json.loads(run.out)["figures"]
    told = sent(bench, "follows").read
    rows = html.unescape(told["rest"])
    assert len(wanted) > 20
    assert f"{len(wanted)} figures scaled off {PICTURE}" in html.unescape(told["first"])
    for own in wanted:
        assert f">{own['dimension']}<" in rows
    assert told["usable"]
    assert told["svg"].count("<path") == 2
    put = points(bench)["crank pin"]
    assert told["places"]["crank pin"] == pytest.approx(put, abs=6), "the gear lies on its own points, pixels"


def test_a_point_is_put_undone_and_refused_beside_the_picture(bench: Wire) -> None:
    before = (bench.folder.path / POINTS).read_bytes()
    put = sent(bench, "point", name="slot 3", takings=[[1120.04, 400], [1121, 401.5]], seen=version(bench))
    assert put.code == 200, put.text
    assert points(bench)["slot 3"] == [[1120.0, 400], [1121, 401.5]]
    beside = sent(bench, "point", name="slot 3", takings=[[-4, 400]], seen=version(bench))
    assert beside.code == 422
    assert "lies beside the picture" in beside.read["said"]
    bad = sent(bench, "point", name="slot 3\n[x]", takings=[[4, 400]], seen=version(bench))
    assert bad.code == 422
    late = sent(bench, "point", name="slot 3", takings=[[4, 400]], seen=0)
    assert late.code in (409, 422)
    assert points(bench)["slot 3"] == [[1120.0, 400], [1121, 401.5]], "what was refused left it alone"
    gone = sent(bench, "point", name="slot 3", takings=[], seen=version(bench))
    assert gone.code == 200
    assert (bench.folder.path / POINTS).read_bytes() == before, "taken out again, the rest to the letter"


def test_only_pictures_with_pixels_in_the_folder_are_offered(bench: Wire) -> None:
    for name in ("drawn.svg", "elsewhere/other-side.jpg", "../x.png", f"{SISTER}.toml"):
        told = bench.ask(f"e/{SISTER}/traced/take", {"do": "begin", "picture": name, "kind": "drawing"})
        assert told.code == 422, name
        assert "no such picture in this folder" in told.read["said"]


def test_the_figures_become_a_state(bench: Wire) -> None:
    told = sent(bench, "state", state="off the sheet")
    assert told.code == 200, told.text
    document = tomllib.loads((bench.folder.path / f"{SISTER}.toml").read_text("utf-8"))
    state = document["state"]["off the sheet"]
    assert "±" in state["both"]["cylinder"]["crank_radius"]
    assert PICTURE in Path(bench.folder.path / f"{SISTER}.toml").read_text("utf-8")
