"""What every command prints: the answer first, in lines that fit, in signs that the terminal has."""

from __future__ import annotations

import ast
import importlib
import re
import sys
from collections.abc import Iterable
from pathlib import Path

import pytest
from typer.testing import CliRunner

from linkmotion import cli
from linkmotion.views import printout
from linkmotion.views.grid import Grid
from linkmotion.views.printout import Answer, Command, Said
from linkmotion.views.signs import plain
from linkmotion.views.wrap import wrapped
from tests.desk import ENCODINGS, WORDS, commands, lay_out, shown_wide

WIDTHS = (120, 80, 60)


def test_every_command_has_its_words() -> None:
    assert set(WORDS) == set(commands())
    assert all(len(two) == 2 and all(words[0] == name for words in two) for name, two in WORDS.items())


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    lay_out(tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


class Caught:
    """A command run in this process: how it ended, what it would show, and what it wrote besides."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], words: list[str]) -> None:
        self.blocks: list[printout.Block] = []
        usual = printout.show
        for name, module in list(sys.modules.items()):
            if name.startswith("linkmotion.") and getattr(module, "show", None) is usual:
                monkeypatch.setattr(module, "show", self._keep)
        monkeypatch.setattr(sys, "argv", ["linkmotion", *words])
        capsys.readouterr()
        with pytest.raises(SystemExit) as ended:
            cli.main()
        self.code = ended.value.code
        self.out, self.err = capsys.readouterr()

    def _keep(self, blocks: Iterable[printout.Block]) -> None:
        self.blocks += blocks


def run(name: str, number: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Caught:
    for path in (Path(cli.__file__).parents[1] / "commands").glob("[a-z]*.py"):
        importlib.import_module(f"linkmotion.commands.{path.stem}")
    return Caught(monkeypatch, capsys, WORDS[name][number])


@pytest.mark.parametrize("number", [0, 1])
@pytest.mark.parametrize("name", commands())
def test_whatever_a_command_prints_fits_and_can_be_encoded(
    name: str, number: int, desk: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One run; its printout laid out for every width and encoding. Names of files and commands alone may be wider."""
    ran = run(name, number, monkeypatch, capsys)
    if name == "bench":
        assert ran.code == (0, 2)[number]
        return
    assert ran.code in (0, 1), ran.err
    assert ran.err == ""
    assert isinstance(ran.blocks[0], Answer), "the answer stands first"
    for encoding in ENCODINGS:
        for width in WIDTHS:
            lines = [line.text for line in printout.laid_out(ran.blocks, width, encoding)]
            "\n".join(lines).encode(encoding)  # strictly
            copied = [block.words for block in ran.blocks if isinstance(block, Command)]
            long = [line for line in lines if shown_wide(line) > width and line.strip() not in copied]
            assert not long, (encoding, width)
            if encoding == "utf-8":
                for grid in (block for block in ran.blocks if isinstance(block, Grid)):
                    assert_whole(grid, [line.text for line in grid.laid_out(width)])


def assert_whole(grid: Grid, lines: list[str]) -> None:
    """Every row has one line in each part of the table, on which its cells stand whole and in order."""
    told = " ".join(" ".join(lines).split())
    keys = [i for i, column in enumerate(grid.columns) if column.key]
    gone = left_out(told) if any(column.spare for column in grid.columns) else []
    shown = [
        i
        for i, column in enumerate(grid.columns)
        if not column.key and f"{column.over} {column.head}".replace("\n", " ").strip() not in gone
    ]
    assert len(shown) + len(keys) + len(gone) == len(grid.columns)
    for cells, _bold in grid.rows:
        cut = [cells[i] for i in shown if cells[i]]
        parts = 0
        while cut:
            parts += 1
            fits = max(_fitting(cut, line) for line in lines)
            assert fits, (grid.title, cut)
            cut = cut[fits:]
        assert parts <= 4, grid.title


def left_out(told: str) -> list[str]:
    names = told.partition("Left out for want of room: ")[2].partition(" (a terminal of ")[0]
    return names.split(", ") if names else []


def _fitting(cells: list[str], line: str) -> int:
    """How many of the cells, from the first on, end the line in order."""
    words = line.split()
    for count in range(len(cells), 0, -1):
        wanted = [word for cell in cells[:count] for word in cell.split()]
        if words[len(words) - len(wanted) :] == wanted:
            return count
    return 0


@pytest.mark.parametrize("width", [80, 60])
@pytest.mark.parametrize("name", ["", *commands()])
def test_help_fits_and_is_in_plain_letters(
    name: str, width: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", str(width))
    monkeypatch.setattr(sys, "argv", ["linkmotion", *name.split(), "--help"])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    told = capsys.readouterr().out
    assert ended.value.code == 0
    assert told.startswith(f"Usage: linkmotion {name}".rstrip())
    assert 40 < max(map(len, told.splitlines())) <= width
    assert told.isascii()  # the command line's library writes it past our own streams


WRITE_ONLY = {"bench", "begin", "measure", "form", "page", "diagram"}
"""They judge nothing, and need not say that they end with 0."""


@pytest.mark.parametrize("name", [name for name in commands() if name not in WRITE_ONLY])
def test_a_command_tells_how_it_ends(name: str) -> None:
    """When with 1, or that it judges nothing."""
    told = " ".join(CliRunner().invoke(cli.app, [name, "--help"]).output.split()).lower()
    assert re.search(r"\bends? with\b.* 1\b|\bends with 0: it judges nothing", told), told


def test_a_name_that_is_to_be_copied_is_never_broken() -> None:
    file = "a folder with a long name/" * 4 + "engine file.toml"
    lines = [line.text for line in printout.laid_out([Said(f"Plots and report: {file}.", file)], 60, "utf-8")]
    assert lines == ["Plots and report:", f"{file}."]
    assert wrapped(f"{file}: not there", 60, whole=file)[0] == f"{file}:"


# --- signs ------------------------------------------------------------------------------------------------------------


def test_every_sign_that_the_program_prints_has_a_plain_one() -> None:
    """Signs in the texts of what is printed; what the card, the plots and the formulas draw is drawn."""
    package = Path(cli.__file__).parents[1]
    views = [*package.glob("views/*_table.py"), *package.glob("views/*_view.py"), *package.glob("views/*_words.py")]
    sources = [*package.glob("commands/*.py"), *package.glob("studies/**/*.py"), *package.glob("files/*.py"), *views,
               package / "views" / "tables.py"]  # fmt: skip
    signs = set()
    for source in sources:
        tree = ast.parse(source.read_text(encoding="utf-8"))
        docs = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs:
                signs |= {sign for sign in node.value if not sign.isascii()}
    assert {"°", "±", "–", "✗", "≠", "…"} <= signs
    lost = {sign for sign in signs if plain(sign) == "?"}
    assert lost <= {"\ufffd"}  # itself the sign of what could not be read


def test_a_figure_is_never_parted_from_its_unit_at_the_end_of_a_line() -> None:
    text = "The same in 7 more places, 2.2 % to 5.5 %; 1 5/16 in is allowed (0.40 mm), at 20 °C, 3.1 kN."
    whole = ("2.2 %", "5.5 %;", "1 5/16 in", "(0.40 mm),", "20 °C,", "3.1 kN.")
    for width in range(12, 80):
        lines = wrapped(text, width)
        assert " ".join(lines) == text
        assert all(any(figure in line for line in lines) for figure in whole), width
        assert max(map(len, lines)) <= width
