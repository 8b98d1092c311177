"""Points on a picture as the bench writes them: begun, refused, two windows, and nothing from outside the folder."""

from __future__ import annotations

import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.kept_file import SinceChanged
from linkmotion.bench.screens.traced_screen import takes
from linkmotion.files.faults import FileError
from linkmotion.views.traced_plot import read_image
from tests.bench_at import EXAMPLES, laid_out

SISTER = "dock_sister"


@pytest.fixture
def work(tmp_path: Path) -> EngineAtWork:
    """An engine with a picture, one that is a drawing of lines, and a link to one that lies elsewhere."""
    folder = laid_out(tmp_path / "own", SISTER)
    shutil.copy(EXAMPLES / "pictures" / "dock_arrangement.png", folder.path / "ga.png")
    shutil.copy(EXAMPLES / "pictures" / "dock_arrangement.png", tmp_path / "elsewhere.png")
    (folder.path / "out.png").symlink_to(tmp_path / "elsewhere.png")
    (folder.path / "lines.svg").write_text('<svg xmlns="http://www.w3.org/2000/svg"><script>1</script></svg>', "utf-8")
    return EngineAtWork(folder, SISTER)


def begun(work: EngineAtWork) -> Path:
    takes(work, {"do": "begin", "picture": "ga.png", "kind": "drawing"})
    (found,) = work.kept.folder.path.glob("* points *.toml")
    return found


def ask(work: EngineAtWork, file: Path, **wish: Any) -> Any:
    seen = work.beside.kept(file.name).version
    return takes(work, {"file": file.name, "seen": seen, "like": "drawing"} | wish)


@pytest.mark.parametrize("name", ["out.png", "lines.svg", "../elsewhere.png", "/etc/hostname", "ga.png/", ""])
def test_points_are_begun_only_on_a_picture_of_the_folder_that_has_pixels(work: EngineAtWork, name: str) -> None:
    with pytest.raises(FileError, match="no such picture"):
        takes(work, {"do": "begin", "picture": name, "kind": "drawing"})
    assert not list(work.kept.folder.path.glob("* points *"))


def test_what_is_entered_is_written_and_each_step_is_taken_back(work: EngineAtWork) -> None:
    file = begun(work)
    first = file.read_bytes()
    assert "Not to be told yet" in ask(work, file, do="follows")["first"]
    ask(work, file, do="known", form="between", a="tread, back", b="tread, front", length="3' 6\"")
    assert "Still to be put: tread, back, tread, front" in ask(work, file, do="follows")["first"]
    ask(work, file, do="known", form="level", a="axle", b="crosshead pin", within="")
    ask(work, file, do="point", name="axle", takings=[[507.54, 656.8]])
    ask(work, file, do="point", name="axle", takings=[[507.54, 656.8], [508, 657]])
    ask(work, file, do="forget", number=1)
    ask(work, file, do="said", name="within", value="2")
    told = tomllib.loads(file.read_text("utf-8"))
    assert told["picture"] | {"note": ""} == {
        "file": "ga.png", "engine": work.must().name, "kind": "drawing", "within": 2, "line": 0, "paper": 1, "note": "",
    }  # fmt: skip
    assert told["known"] == [{"between": ["tread, back", "tread, front"], "length": "3' 6\""}]
    assert told["points"] == {"axle": [[507.5, 656.8], [508, 657]]}
    kept = work.beside.kept(file.name)
    for _ in range(6):
        assert kept.undo(kept.version) is not None
    assert file.read_bytes() == first


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"do": "point", "name": "axle", "takings": [[9000, 5]]}, "beside the picture"),
    ({"do": "point", "name": "axle", "takings": [[float("nan"), 5]]}, "no place"),
    ({"do": "point", "name": "axle", "takings": [["5", 5]]}, "no place"),
    ({"do": "point", "name": "axle", "takings": [[1, 2]] * 10}, "cannot be understood"),
    ({"do": "point", "name": "a\nb", "takings": [[1, 2]]}, "cannot be a point's name"),
    ({"do": "known", "form": "between", "a": "x", "b": "y", "length": "4 furlongs"}, "furlongs"),
    ({"do": "known", "form": "between", "a": "x", "b": "x", "length": "4 in"}, "read"),
    ({"do": "known", "form": "between", "a": "x", "b": "y", "length": "-4 in"}, "read"),
    ({"do": "known", "form": "dimension", "dimension": "boiler.length", "figure": "4"}, "no figure"),
    ({"do": "known", "form": "eval"}, "cannot be understood"),
    ({"do": "said", "name": "kind", "value": "etching"}, "etching"),
    ({"do": "said", "name": "file", "value": "../elsewhere.png"}, "cannot be understood"),
    ({"do": "said", "name": "within", "value": "0"}, "read 0"),
    ({"do": "forget", "number": 3}, "no longer"),
    ({"do": "turn", "by": 1e9}, "cannot be understood"),
]


@pytest.mark.parametrize(("wish", "words"), WRONG)
def test_what_cannot_be_is_refused_and_nothing_is_written(work: EngineAtWork, wish: dict[str, Any], words: str) -> None:
    file = begun(work)
    before = file.read_bytes()
    with pytest.raises(FileError) as refused:
        ask(work, file, **wish)
    assert words in f"{refused.value.problem}"
    assert file.read_bytes() == before


def test_of_two_windows_the_second_is_told_where_both_put_the_same_point(work: EngineAtWork) -> None:
    file = begun(work)
    ask(work, file, do="point", name="axle", takings=[[1, 2]])
    ask(work, file, do="point", name="foot", takings=[[3, 4]], seen=0)  # another point: both are kept
    with pytest.raises(SinceChanged, match="changed elsewhere"):
        ask(work, file, do="point", name="axle", takings=[[9, 9]], seen=0)
    assert tomllib.loads(file.read_text("utf-8"))["points"] == {"axle": [1, 2], "foot": [3, 4]}


def test_a_photograph_is_read_upright_as_its_camera_notes_it(tmp_path: Path) -> None:
    """Exif 2.3, tag 0x0112: 6 is shown turned by a quarter clockwise, so that its lower left is seen upper left."""
    picture = Image.new("RGB", (4, 2), "white")
    picture.putpixel((0, 1), (200, 0, 0))
    noted = Image.Exif()
    noted[0x0112] = 6
    picture.save(tmp_path / "held.png", exif=noted)
    seen = read_image(tmp_path / "held.png")
    assert seen.shape[:2] == (4, 2)
    assert seen[0, 0].tolist() == [200, 0, 0]
