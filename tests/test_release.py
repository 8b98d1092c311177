"""One number and one day for a version, wherever they stand; and the words of DEVELOPERS.md true of pyproject.toml."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import linkmotion

ROOT = Path(__file__).parents[1]
PROJECT: dict[str, Any] = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TEXT = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_version_and_day_are_one() -> None:
    citation = (ROOT / "CITATION.cff").read_text(encoding="utf-8")
    version, day = re.findall(r"^(?:version|date-released): (.+)$", citation, re.MULTILINE)
    newest = re.search(r"^## (.+)$", (ROOT / "CHANGELOG.md").read_text(encoding="utf-8"), re.MULTILINE)
    assert newest is not None
    assert newest[1] == f"{version}, {day}"
    assert PROJECT["version"] == linkmotion.__version__ == version


def test_every_package_has_its_reason_and_no_other() -> None:
    section = DEVELOPERS.split("## Dependencies\n")[1].split("\n## ")[0]
    cells = [row.split("|")[1:-1] for row in section.splitlines() if row.startswith("|") and "---" not in row]
    told = {name.strip() for row in cells for name in row[len(row) - 2].split(",")} - {"package", "packages"}
    wanted = {named(each) for each in PROJECT["dependencies"]}
    wanted |= {named(each) for extra in PROJECT["optional-dependencies"].values() for each in extra}
    assert told == (wanted - {"linkmotion"}) | {"lessons"}
    assert all(row[-1].strip() for row in cells)


def named(requirement: str) -> str:
    found = re.match(r"[\w-]+", requirement)
    assert found is not None
    return found[0]


def test_every_setting_of_lint_types_and_tests_has_its_reason() -> None:
    """Beside it, or at the end of the line that opens its list; not names and paths, which are no choice."""
    bare = {"packages", "module"}
    sections = re.split(r"^\[+([\w.]+)\]+\n", TEXT, flags=re.MULTILINE)
    seen = 0
    for heading, body in zip(sections[1::2], sections[2::2], strict=True):
        if not heading.startswith(("tool.ruff", "tool.mypy", "tool.pytest")):
            continue
        items = re.findall(r'^(?:(?:"[^"\n]+"|\w+) = (?!\[$).*|    "[^\n]*)$', body, re.MULTILINE)
        for item in items:
            if item.split(" = ")[0] not in bare:
                seen += 1
                assert re.search(r"\S\s+# \S+ \S+", item), f"[{heading}] {item}"
    assert seen > 25
