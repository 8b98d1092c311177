"""The lessons keep their form: no outputs stored, short cells, claims checked as they go, questions at the end."""

from __future__ import annotations

import ast
import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from linkmotion.cli import app

FOLDER = Path(__file__).parents[1] / "notebooks"
LESSONS = sorted(FOLDER.glob("*.ipynb"), key=lambda lesson: int(lesson.name.split("_")[0]))
MOST_LINES = 12
ALLOWED = {"linkmotion", "matplotlib", "numpy", *sys.stdlib_module_names}


def cells(lesson: Path, kind: str) -> list[str]:
    return ["".join(cell["source"]) for cell in notebook(lesson)["cells"] if cell["cell_type"] == kind]


def notebook(lesson: Path) -> dict[str, Any]:
    return json.loads(lesson.read_text(encoding="utf-8"))


def imported(code: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Import):
            yield from (name.name.split(".")[0] for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield str(node.module).split(".")[0]


def test_the_lessons_are_numbered_in_order() -> None:
    numbers = [int(lesson.name.split("_")[0]) for lesson in LESSONS]
    assert numbers == list(range(1, len(LESSONS) + 1))
    assert len(LESSONS) >= 8


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_is_stored_as_it_was_written_without_what_it_printed(lesson: Path) -> None:
    for cell in notebook(lesson)["cells"]:
        if cell["cell_type"] == "code":
            assert cell["outputs"] == []
            assert cell["execution_count"] is None


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_has_its_number_and_its_name_at_the_head(lesson: Path) -> None:
    number, name = lesson.stem.split("_", 1)
    heading = cells(lesson, "markdown")[0].splitlines()[0]
    assert heading.lower() == f"# lesson {number}: {name.replace('_', ' ')}".lower()


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_cells_are_short_and_import_nothing_but_the_program_and_its_plotting(lesson: Path) -> None:
    for code in cells(lesson, "code"):
        assert len(code.splitlines()) <= MOST_LINES, code
        assert set(imported(code)) <= ALLOWED, code
        assert not re.search(r"^\s*[%!]", code, re.M), code  # no magic


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_draws_checks_its_claims_and_ends_with_questions_whose_answers_are_worked_out(lesson: Path) -> None:
    prose, code = cells(lesson, "markdown"), cells(lesson, "code")
    assert sum(bool(re.search(r"\bplot_\w+\(|\.(bar|plot|stackplot)\(", cell)) for cell in code) >= 3
    assert sum(isinstance(node, ast.Assert) for cell in code for node in ast.walk(ast.parse(cell))) >= 10
    assert "## Questions" in prose[-1]
    assert "<details>" in prose[-1]
    assert prose[-1].index("## Questions") < prose[-1].index("<details>")
    assert "assert" in code[-1]
    assert notebook(lesson)["cells"][-1]["cell_type"] == "code"


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_says_that_its_engine_is_invented(lesson: Path) -> None:
    assert any("invented" in prose for prose in cells(lesson, "markdown"))


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_the_commands_that_a_lesson_names_exist(lesson: Path) -> None:
    known = {command.name or command.callback.__name__ for command in app.registered_commands if command.callback}
    named = {name for prose in cells(lesson, "markdown") for name in re.findall(r"`linkmotion (\w+)", prose)}
    assert named <= known, named - known
