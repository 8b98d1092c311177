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

import linkmotion as lm
from linkmotion.cli import app

FOLDER = Path(__file__).parents[1] / "notebooks"
LESSONS = sorted(FOLDER.glob("*.ipynb"), key=lambda lesson: int(lesson.name.split("_")[0]))
MOST_LINES = 12
ALLOWED = {"matplotlib", "numpy", "pandas", "scipy", "sympy", *sys.stdlib_module_names}
FACE = {"linkmotion"}  # the library's face, and no room below it
OTHER_FACES = {10: {"linkmotion.linkage"}}  # the lesson of a linkage that is no valve gear


def cells(lesson: Path, kind: str) -> list[str]:
    return ["".join(cell["source"]) for cell in notebook(lesson)["cells"] if cell["cell_type"] == kind]


def notebook(lesson: Path) -> dict[str, Any]:
    return json.loads(lesson.read_text(encoding="utf-8"))


def imported(code: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield "." * node.level + str(node.module)


def taken_from_the_face(code: str) -> Iterator[str]:
    """Names taken from the package itself: ``from linkmotion import x``, ``lm.x``."""
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.ImportFrom) and node.module == "linkmotion":
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "lm":
            yield node.attr


@pytest.mark.parametrize(
    "code",
    [
        "from linkmotion.studies.assess import assess",
        "import linkmotion.views.plots as plots",
        "if True:\n    from linkmotion.views import plots",
        "from linkmotion import face",
    ],
)
def test_a_room_below_the_face_is_seen(code: str) -> None:
    """The last names a room by way of the face: told from the face by its own list of names."""
    named = {*imported(code), *taken_from_the_face(code)}
    assert not named <= {*FACE, *lm.__all__}


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
def test_cells_are_short_and_import_nothing_but_the_librarys_face_and_common_libraries(lesson: Path) -> None:
    faces = OTHER_FACES.get(int(lesson.name.split("_")[0]), FACE)
    for code in cells(lesson, "code"):
        assert len(code.splitlines()) <= MOST_LINES, code
        ours = {name for name in imported(code) if name.split(".")[0] == "linkmotion"}
        assert ours <= faces, code
        assert set(taken_from_the_face(code)) <= set(lm.__all__), code
        assert {name.split(".")[0] for name in set(imported(code)) - ours} <= ALLOWED, code
        assert not re.search(r"^\s*[%!]", code, re.M), code  # no magic


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_draws_checks_its_claims_and_ends_with_questions_whose_answers_are_worked_out(lesson: Path) -> None:
    prose, code = cells(lesson, "markdown"), cells(lesson, "code")
    assert sum(bool(re.search(r"\bplot_\w+\(|\.(bar|loglog|plot|semilogy|stackplot)\(", cell)) for cell in code) >= 3
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
