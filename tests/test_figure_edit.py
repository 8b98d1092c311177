"""A figure written into an engine file: it alone is changed, and every comment stays where it was."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from linkmotion.files.engine_file import parse_engine
from linkmotion.files.figure_edit import GONE, as_typed, figure_at, leaves, typed
from linkmotion.files.lines_edit import with_figure

EXAMPLES = sorted(Path("examples").glob("*.toml"))


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
@pytest.mark.parametrize("whole", [False, True], ids=["one side", "both"])
def test_only_the_figure_changes_and_no_comment_goes(file: Path, whole: bool) -> None:
    text = file.read_text("utf-8")
    engine = parse_engine(text)
    side = "both" if whole else engine.sides[0]
    comments = [line.split("#", 1)[1] for line in text.splitlines() if "#" in line]
    for state in ("a new state", *engine.states):
        place = ("state", state, side, "wear", "clearance", "crank pin")
        new = with_figure(text, place, "0.25 mm")
        assert figure_at(tomllib.loads(new), place) == "0.25 mm"
        before, after = leaves(tomllib.loads(text)), leaves(tomllib.loads(new))
        assert {key: value for key, value in after.items() if key != place} == {
            key: value for key, value in before.items() if key != place
        }
        assert [line.split("#", 1)[1] for line in new.splitlines() if "#" in line] == comments
        assert parse_engine(new).condition(state).clearance["crank pin"] in (pytest.approx(0.25, abs=1e-12), 0)
        gone = with_figure(new, place, GONE)
        assert figure_at(tomllib.loads(gone), place) is None


def test_a_comment_keeps_its_column() -> None:
    text = '[valve]\nsteam_lap = "13/16 in"      # beyond the port\nport_width = 28\n'
    new = with_figure(text, ("valve", "steam_lap"), "27/32 in")
    assert new == '[valve]\nsteam_lap = "27/32 in"      # beyond the port\nport_width = 28\n'
    longer = with_figure(text, ("valve", "steam_lap"), "680 mm - 400 mm - 259 mm")
    assert longer.splitlines()[1] == 'steam_lap = "680 mm - 400 mm - 259 mm" # beyond the port'


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_lines_end_as_they_did(ending: str) -> None:
    text = ending.join(["[valve]", 'steam_lap = "13/16 in"  # lap', "port_width = 28", ""])
    new = with_figure(text, ("valve", "steam_lap"), 21)
    assert new.split(ending) == ["[valve]", "steam_lap = 21          # lap", "port_width = 28", ""]


def test_what_cannot_be_written_alone_is_refused() -> None:
    with pytest.raises(ValueError, match="laid out so that"):
        with_figure('valve = "no table"\n', ("valve", "steam_lap"), 21)


HOSTILE = [
    '"',
    "'''",
    '"""',
    "\\",
    "a\nb",
    "\x00",
    "]",
    '" = 3\n[engine]\nname = "x',
    "# no comment",
    "€ ½ 名",
    "\x7f",
    "{",
    "=",
]


@pytest.mark.parametrize("value", HOSTILE)
def test_whatever_is_typed_stays_one_text(value: str) -> None:
    text = '[engine]\nname = "one"  # its name\n[valve]\nport_width = 28\n'
    for place in (("engine", "name"), ("state", value, "left", "valve", "port_width")):
        new = with_figure(text, place, value)
        assert figure_at(tomllib.loads(new), place) == value
        assert len(leaves(tomllib.loads(new))) == 2 + (place[0] == "state")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("31.5", 31.5), ("31", 31), (" 31 9/16 in ", "31 9/16 in"), ("680 mm - 400 mm", "680 mm - 400 mm"),
        ("769.2 ± 0.3 mm", "769.2 ± 0.3 mm"),
        ('[ "1 in", 2 ]', ["1 in", 2]), ('{ die = "-7/8 in" }', {"die": "-7/8 in"}),
        ("{ broken", "{ broken"), ('"quoted"', "quoted"), ("1e400", "1e400"), ("nan", "nan"),
        ("[1]\ny = 2", "[1]\ny = 2"),
    ],
)  # fmt: skip
def test_figures_as_typed(text: str, value: object) -> None:
    assert as_typed(text) == value
    if not isinstance(value, float):
        assert as_typed(typed(value)) == value
