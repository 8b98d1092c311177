"""The lessons keep their form: pictures with words, code folded away, claims checked, questions at the end."""

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
MOST_LINES, MOST_OPEN = 16, 12  # of a folded cell; of one that the reader is to change
FOLDED = {"set-up", "picture", "figures", "check"}  # the tag says why
LEAST_WORDS = 20  # letters that say what is to be seen in a picture, beside what is reckoned
DRAWING = {"bar", "barh", "errorbar", "loglog", "plot", "semilogy", "stackplot", "subplots"}
ALLOWED = {"matplotlib", "numpy", "pandas", "scipy", "sympy", *sys.stdlib_module_names}
FACE = {"linkmotion"}  # the library's face, and no room below it
OTHER_FACES = {10: {"linkmotion", "linkmotion.linkage"}}  # the lesson of a linkage that is no valve gear


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
def test_cells_import_nothing_but_the_librarys_face_and_common_libraries(lesson: Path) -> None:
    faces = OTHER_FACES.get(int(lesson.name.split("_")[0]), FACE)
    for code in cells(lesson, "code"):
        ours = {name for name in imported(code) if name.split(".")[0] == "linkmotion"}
        assert ours <= faces, code
        assert set(taken_from_the_face(code)) <= set(lm.__all__), code
        assert {name.split(".")[0] for name in set(imported(code)) - ours} <= ALLOWED, code
        assert not re.search(r"^\s*[%!]", code, re.M), code  # no magic


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_all_code_is_folded_away_but_the_few_lines_that_the_reader_is_to_change(lesson: Path) -> None:
    """As Jupyter's notebook format documents it: ``jupyter.source_hidden`` and ``tags`` in a cell's metadata."""
    found = list(kinds(lesson))
    for kind, code in found:
        assert len(code.splitlines()) <= (MOST_LINES if kind else MOST_OPEN), code
        assert kind == "set-up" or not set(imported(code)), code
    open_cells = [code for kind, code in found if not kind]
    assert open_cells
    assert all(re.search(r"^\w[\w, ]* = |^def ", code, re.M) for code in open_cells)


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_what_checks_a_claim_stands_by_itself(lesson: Path) -> None:
    for kind, code in kinds(lesson):
        tree = ast.parse(code)
        asserts = any(isinstance(node, ast.Assert) for node in ast.walk(tree))
        assert asserts == (kind == "check"), code
        assert not (asserts and (calls(tree) & {"print", "picture"} or draws(tree))), code


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_every_picture_has_words_of_its_own_that_say_what_is_to_be_seen(lesson: Path) -> None:
    told: list[str] = []
    helpers: set[str] = set()
    for _kind, code in kinds(lesson):
        tree = ast.parse(code)
        if draws(tree, helpers):
            told.append(words_of_picture(tree))
            assert len(told[-1]) >= LEAST_WORDS, code
        helpers |= {node.name for node in tree.body if isinstance(node, ast.FunctionDef) and draws(node)}
    assert len(told) >= 3
    assert len(set(told)) == len(told)


@pytest.mark.parametrize(
    "code",
    [
        "side.plot_leads()",
        "side.plot_leads();",
        "lm.picture(side.plot_leads(), '')",
        "lm.picture(side.plot_leads(), 'Leads.')",
        "lm.picture(side.plot_leads(), words)",
        "lm.picture(side.plot_leads(), 'The leads of all notches: two level lines.')\nplt.subplots()",
        "ax = plt.subplots()[1]\nax.plot(turn, valve)",
    ],
)
def test_a_picture_without_words_is_seen(code: str) -> None:
    tree = ast.parse(code)
    assert draws(tree)
    assert len(words_of_picture(tree)) < LEAST_WORDS


def kinds(lesson: Path) -> Iterator[tuple[str, str]]:
    """Why each cell of code is folded away ("" where it stands open), and its code."""
    for cell in notebook(lesson)["cells"]:
        if cell["cell_type"] == "code":
            (kind,) = cell["metadata"].get("tags", [""])
            folded = {"jupyter": {"source_hidden": True}, "tags": [kind]}
            assert cell["metadata"] == (folded if kind in FOLDED else {}), cell["source"]
            yield kind, "".join(cell["source"])


def calls(tree: ast.AST) -> set[str]:
    """Names of what is called, but within a function that is only made."""
    if isinstance(tree, ast.Module):
        return {name for node in tree.body if not isinstance(node, ast.FunctionDef) for name in calls(node)}
    called = [node.func for node in ast.walk(tree) if isinstance(node, ast.Call)]
    return {func.attr if isinstance(func, ast.Attribute) else getattr(func, "id", "") for func in called}


def draws(tree: ast.AST, helpers: set[str] = frozenset()) -> bool:  # type: ignore[assignment]
    return any(name in DRAWING | helpers or name.startswith("plot_") for name in calls(tree))


def words_of_picture(tree: ast.Module) -> str:
    """What a cell's last line says in letters of its picture; nothing where it shows none."""
    match tree.body[-1]:
        case ast.Expr(ast.Call(ast.Attribute(ast.Name("lm"), "picture"), [_, words])):
            said = [node.value for node in ast.walk(words) if isinstance(node, ast.Constant)]
            return "".join(text for text in said if isinstance(text, str))
    return ""


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_checks_its_claims_and_ends_with_questions_whose_answers_are_worked_out(lesson: Path) -> None:
    prose, code = cells(lesson, "markdown"), cells(lesson, "code")
    assert sum(isinstance(node, ast.Assert) for cell in code for node in ast.walk(ast.parse(cell))) >= 15
    assert "## Questions" in prose[-1]
    assert "<details>" in prose[-1]
    assert prose[-1].index("## Questions") < prose[-1].index("<details>")
    assert "assert" in code[-1]
    assert notebook(lesson)["cells"][-1]["cell_type"] == "code"


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_draws_in_no_colour_of_its_own(lesson: Path) -> None:
    """Colours have one meaning everywhere, by their names in ``lm.style``."""
    for code in cells(lesson, "code"):
        for node in ast.walk(ast.parse(code)):
            if isinstance(node, ast.keyword) and node.arg in {
                "c",
                "color",
                "facecolor",
                "edgecolor",
                "fc",
                "ec",
                "mfc",
            }:
                assert not isinstance(node.value, ast.Constant), code
        assert not re.search(r"#[0-9a-fA-F]{6}\b|\"C\d\"|tab:", code), code


def test_steam_and_exhaust_are_drawn_in_their_colours_and_nothing_else_is() -> None:
    """What is drawn in them says in its axes, its name or its title that it is steam's or a port's."""
    for lesson in LESSONS:
        for code in cells(lesson, "code"):
            if re.search(r"color=(lm\.style\.)?(STEAM|EXHAUST)\b", code):
                assert re.search(r"steam|exhaust|cutoff|port", code), code


def test_the_lessons_that_speak_of_movement_have_the_page_that_moves() -> None:
    having = {lesson.name.split("_")[0] for lesson in LESSONS if "moving_page(" in "".join(cells(lesson, "code"))}
    assert having >= {"1", "3", "5", "6", "12"}


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_says_that_its_engine_is_invented(lesson: Path) -> None:
    assert any("invented" in prose for prose in cells(lesson, "markdown"))


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_the_commands_that_a_lesson_names_exist(lesson: Path) -> None:
    known = {command.name or command.callback.__name__ for command in app.registered_commands if command.callback}
    named = {name for prose in cells(lesson, "markdown") for name in re.findall(r"`linkmotion (\w+)", prose)}
    assert named <= known, named - known
