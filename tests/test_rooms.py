"""DEVELOPERS.md's table of rooms and pyproject's layers, true to the house; and names of files that occur once."""

from __future__ import annotations

import re
import tomllib
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).parents[1]
HOUSE = ROOT / "linkmotion"
TABLE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Rooms\n")[1].split("\n## ")[0]
NAMED = [name for row in TABLE.splitlines() if row.startswith("|") for name in re.findall(r"`([\w./]+)`", row)]
DOORS = ("commands", "face")
"""Rooms whose modules open on a study, and bear its name: one word for one thing."""


def test_every_file_and_room_that_is_named_is_there() -> None:
    files = {str(path.relative_to(ROOT)) for path in ROOT.glob("[a-z]*/**/*") if "node_modules" not in path.parts}
    files |= {path.name for path in ROOT.iterdir() if path.is_dir()}
    own = [name for name in NAMED if name.endswith((".py", ".ts", "/"))]
    assert len(own) > 90
    missing = [name for name in own if not any(f"/{file}".endswith(f"/{name.rstrip('/')}") for file in files)]
    assert missing == []


def test_every_room_is_named() -> None:
    rooms = [path.parent for path in HOUSE.rglob("__init__.py")]
    assert len(rooms) > 15
    told = {name.rstrip("/") for name in NAMED if name.endswith("/")} | {"linkmotion"}
    told |= {f"linkmotion/{name}" for name in told}
    assert [str(room.relative_to(ROOT)) for room in rooms if str(room.relative_to(ROOT)) not in told] == []


def test_every_room_at_the_outermost_level_stands_in_the_layers() -> None:
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"][
        "contracts"
    ]
    layers = {name for layer in contracts[0]["layers"] for name in layer.split(" | ")}
    rooms = {f"linkmotion.{path.stem}" for path in HOUSE.iterdir() if path.suffix in ("", ".py")}
    assert layers == {room for room in rooms if not room.split(".")[1].startswith("_")}


def test_names_of_files_occur_once() -> None:
    where = defaultdict(list)
    for path in HOUSE.rglob("*.py"):
        if not path.name.startswith("_") and path.parent.name not in DOORS:
            where[path.name].append(str(path.relative_to(HOUSE)))
    assert {name: found for name, found in where.items() if len(found) > 1} == {}
