"""One figure with its point in the wrong place, or the wrong sign: where the file is refused, it is named, and how."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from linkmotion.files.engine_file import parse_engine
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import UNITS
from linkmotion.files.source import dotted
from linkmotion.gears.reverser import DieHeight, Stop, figure
from linkmotion.gears.sensitivity import declared, numbers
from linkmotion.linkage import order
from tests.bad_engines.changed import EXAMPLES, changed, line_of_text
from tests.bad_engines.command import Command, assert_refused
from tests.fuzzing import in_time

SOON = 20.0  # processor seconds, of a hang: by itself a second or so, six where four other processes share two cores
FACTORS = (10.0, 0.1, -1.0)
DRAWN = {
    path.stem: path.read_text(encoding="utf-8").split("\n[state.")[0]
    for path in sorted(EXAMPLES.glob("*.toml"))
    if path.stem != "dock_sister"  # its figures are worked from one another, and refused where they are
}


@dataclass(frozen=True)
class Mistake:
    """A figure of an example's drawing, as it is written and as it may be miswritten."""

    engine: str
    path: tuple[str, ...]
    given: str
    right: str
    die: bool = False

    @property
    def text(self) -> str:
        """The file with the mistake in it."""
        written = f"{{ die = {self.given} }}" if self.die else self.given
        return changed(".".join(self.path[:-1]), self.path[-1], written, DRAWN[self.engine])

    @property
    def question(self) -> str:
        return f"{dotted(self.path)} = {self.given}: {self.right}"


def mistakes(name: str) -> Iterator[Mistake]:
    """Every figure of a drawing ten times as great, ten times as small, and with its sign turned."""
    engine = parse_engine(DRAWN[name])
    gear, length = engine.gear(), float(UNITS[engine.unit])
    figures = [
        ((table, *key.split(".")), value / (1.0 if declared(gear, (table, key))["kind"] == "angle" else length), False)
        for (table, key), value in numbers(gear).items()
    ]
    for notch, held in gear.notches.items():
        if not isinstance(held, Stop):
            die = isinstance(held, DieHeight)
            figures.append((("reversing", "notches", notch), figure(held) / (length if die else 1.0), die))
    for path, right, die in figures:
        for factor in FACTORS if right else ():
            yield Mistake(name, path, f"{float(f'{right:.6g}') * factor:.6g}", f"{right:.6g}", die)


ALL = {name: list(mistakes(name)) for name in DRAWN}
LOOKED_AT = dict.fromkeys([
    *ALL["donkey_eccentric"],
    *(mistake for name in DRAWN if name != "donkey_eccentric" for mistake in random.Random(name).sample(ALL[name], 9)),
    *(
        mistake for name, path, factor in (
            ("metre_gauge", ("expansion_link", "foot_backset"), 10.0),
            ("allan_saddle_tank", ("reversing", "rod_arm"), 0.1),
            ("allan_saddle_tank", ("reversing", "shaft_y"), -1.0),
            ("gooch_tank", ("reversing", "notches", "full forward"), 0.1),
            ("stephenson_goods", ("reversing", "shaft_x"), 0.1),
        )
        for mistake in [each for each in ALL[name] if each.path == path][FACTORS.index(factor):][:1]
    ),
])  # fmt: skip


@pytest.fixture
def linkmotion(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    monkeypatch.setattr(order, "_orders", {})  # as in a process of its own: nothing was solved before
    monkeypatch.setattr(order, "_branches", {})
    return Command(monkeypatch, capsys)


@pytest.mark.parametrize("mistake", LOOKED_AT, ids=lambda each: f"{each.engine} {each.question}")
def test_a_file_that_is_refused_for_one_figure_names_it_with_its_right_value(
    mistake: Mistake, linkmotion: Command, tmp_path: Path
) -> None:
    file = tmp_path / "engine.toml"
    file.write_text(mistake.text, encoding="utf-8")
    with in_time(SOON):
        run = linkmotion("check", file, "--tables")
    if run.code != 2:
        assert run.code in (0, 1)  # such an engine could be
        return
    assert_refused(run, file)
    assert mistake.question in run.err


def refusal(text: str) -> FileError:
    with pytest.raises(FileError) as told:
        parse_engine(text)
    return told.value


def test_a_check_of_the_figures_asks_for_the_one_that_makes_them_wrong() -> None:
    """Which of the two arms is wrong the check itself cannot know."""
    error = refusal(changed("combination_lever", "lower_arm", "81.4"))
    remedy = "upper_arm may be negative, but less than lower_arm"
    assert error.problem == "the valve pin is at or below the union pin"
    assert error.remedy == f"is it combination_lever.lower_arm = 81.4: 814? Then the gear would pass; else {remedy}"


def test_where_no_gear_would_pass_the_figures_are_asked_for_that_would_go_together() -> None:
    text = changed("combination_lever", "lower_arm", "43")
    error = refusal(text)
    arms = [
        f"combination_lever.{each}"
        for each in ("lower_arm = 43: 430", "upper_arm = -87.5: -8.75", "upper_arm = -87.5: 87.5")
    ]
    assert error.remedy.startswith(f"is it {', or '.join(arms)}? Then the figures would go together; else ")
    assert error.line == line_of_text(text, "upper_arm = -87.5")


def test_a_figure_asked_for_alone_is_told_at_its_own_line() -> None:
    text = changed("expansion_link", "trunnion_x", "9750")
    error = refusal(text)
    assert error.problem.startswith("the rod would run to the side to which the slot is hollow")
    assert (error.line, error.key) == (line_of_text(text, "trunnion_x = 9750"), "expansion_link.trunnion_x")
    assert error.remedy.startswith("is it expansion_link.trunnion_x = 9750: 975? Then the gear would pass; else is ")


STATE = "[state.x.both.connecting_rod]\nlength = 175.0\n[state.x.left.valve]\nsteam_lap = 23\n"


def test_a_figure_of_a_state_is_asked_for_where_the_state_gives_it() -> None:
    text = f"{DRAWN['metre_gauge']}\n{STATE}"
    error = refusal(text)
    assert error.key == "state.x.both.connecting_rod.length"
    assert error.line == line_of_text(text, "length = 175.0")
    assert "is it connecting_rod.length = 175: 1750? Then the gear would pass" in error.remedy
    assert "(state 'x', left side)" in error.problem


def test_a_mistake_of_the_drawing_is_told_of_it_whatever_state_is_looked_at(
    linkmotion: Command, tmp_path: Path
) -> None:
    file = tmp_path / "engine.toml"
    text = (
        changed("eccentric_rod", "length", "92.05", DRAWN["metre_gauge"]) + "\n[state.x.left.valve]\nsteam_lap = 23\n"
    )
    file.write_text(text, encoding="utf-8")
    run = linkmotion("check", file, "--state", "x")
    assert_refused(run, file)
    assert f"line {line_of_text(text, 'length = 92.05')}: eccentric_rod.length: " in run.err
    assert "is it eccentric_rod.length = 92.05: 920.5?" in run.err


def test_a_mistake_of_a_state_blames_no_figure_of_a_drawing_that_passes(linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    text = DRAWN["metre_gauge"] + "\n[state.x.left.union_link]\nlength = 30\n"
    file.write_text(text, encoding="utf-8")
    run = linkmotion("check", file, "--state", "x")
    assert_refused(run, file)
    asked = run.err.partition("is it ")[2]
    assert not asked or "union_link" in asked


@pytest.mark.parametrize(
    ("table", "key", "given", "asked"),
    [
        ("eccentric_rod", "length", "-920.5", "eccentric_rod.length = -920.5: 920.5?"),
        ("return_crank", "angle", "842.5", "return_crank.angle = 842.5: 84.25?"),
        ("targets", "lead_difference", "-0.4", "targets.lead_difference = -0.4: 0.4?"),
        ("reversing.notches", "mid", "-3600", "reversing.notches.mid = -3600: -360?"),
        ("expansion_link", "trunnion_x", "975000", "expansion_link.trunnion_x = 975000: 97500?"),
    ],
)
def test_a_figure_that_its_key_cannot_have_is_asked_for_by_itself(table: str, key: str, given: str, asked: str) -> None:
    assert refusal(changed(table, key, given)).remedy == f"is it {asked} Else correct this figure"


@pytest.mark.parametrize("given", ["-36000", "nan", "1e300", "true", '"x"'])
def test_where_no_slip_makes_a_figure_of_what_is_written_none_is_asked_for(given: str) -> None:
    assert refusal(changed("reversing.notches", "mid", given)).remedy == "correct this figure"


def test_a_gear_that_no_single_figure_mends_blames_no_figure(linkmotion: Command, tmp_path: Path) -> None:
    file = tmp_path / "engine.toml"
    text = changed("union_link", "length", "30", changed("eccentric_rod", "length", "70"))
    file.write_text(text, encoding="utf-8")
    run = linkmotion("check", file)
    assert_refused(run, file)
    assert "is it" not in run.err
