"""A desk with the example engines on it, and words for every command: for tests of what is printed on it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import unicodedata
from pathlib import Path
from typing import Any

from linkmotion.cli import app
from tests.bad_engines.changed import EXAMPLES

ENCODINGS = ("utf-8", "cp1252", "cp437", "latin-1", "ascii", "cp1251")
DOCK, GOODS = "dock_shunter.toml", "stephenson_goods.toml"
READ = {DOCK: "read_dock.toml", GOODS: "read_goods.toml"}
CHECK = ("check", DOCK, "--state", "as found", "--notch", "mid", "--tables")

# What is given to each command for each of two engines; a command that is not here fails the tests.
WORDS: dict[str, list[list[str]]] = {
    "check": [
        ["check", DOCK, "--state", "as found", "--notch", "mid"],
        ["check", GOODS, "--tables", "--angles"],
    ],
    "wear": [
        ["wear", DOCK, "--state", "as found", "--gains", "--moving", "--lost"],
        ["wear", GOODS, "--state", "as found", "--notch", "mid"],
    ],
    "compare": [
        ["compare", DOCK, "--state", "drawing", "--state", "as found", "--state", "as repaired", "--more"],
        ["compare", GOODS, "--state", "drawing", "--state", "as found"],
    ],
    "hold": [
        ["hold", name, "--notch", "mid", "--samples", "200", "--no-search", "--shares"] for name in (DOCK, GOODS)
    ],
    "cleanup": [
        ["cleanup", DOCK, "--state", "as found", "--side", "left"],
        ["cleanup", DOCK, "--state", "as found", "--side", "right", "--readings", "slot.csv", "--tables"],
    ],
    "bush": [
        ["bush", "--seat", "40", "--housing-outside", "80", "--bore", "30", "--length", "40", "--freezer", "-80"],
        ["bush", "--seat", "1 1/2", "--housing-outside", "2", "--bore", "1 1/8", "--length", "2", "--unit", "in",
         "--press", "3 to 4 thou"],
    ],
    "begin": [["begin", "gooch", "begun.toml"], ["begin", "walschaerts", "begun.toml", "--unit", "in"]],
    "tram": [["tram", DOCK, "marks.toml"], ["tram", GOODS, "--out-by", "0.5°"]],
    "form": [["form", name, "form.csv"] for name in (DOCK, GOODS)],
    "measure": [["measure", DOCK, "--state", "as found"], ["measure", "joy", "--unit", "in"]],
    "carried": [["carried", name, READ[name], "--beside", READ[name]] for name in (DOCK, GOODS)],
    "diagnose": [["diagnose", name, READ[name]] for name in (DOCK, GOODS)],
    "reconcile": [
        ["reconcile", "sister.toml", "trammel.toml", "--side", "left"],
        ["reconcile", DOCK, "--state", "as found"],
    ],
    "adjust": [["adjust", name, READ[name]] for name in (DOCK, GOODS)],
    "beats": [["beats", DOCK, "--state", "drawing", "--state", "as found"], ["beats", GOODS]],
    "diagram": [
        ["diagram", DOCK, "--bore", "14 in", "--speed", "60 rpm", "--state", "drawing", "--state", "as found"],
        ["diagram", GOODS],
    ],
    "page": [["page", name, "--state", "drawing"] for name in (DOCK, GOODS)],
    "card": [["card", name] for name in (DOCK, GOODS)],
    "bench": [["bench", "--help"], ["bench", ".", "--port", "70000"]],  # a server does not end; tests/browser has it
    "history": [["history", DOCK, "--look"], ["history", GOODS, "--part", "eccentrics", "--since", "2026-01-01"]],
    "repairs": [
        ["repairs", "winkle", "--state", "as found", "--notch", "mid", "--hours", hours] for hours in ("39", "20")
    ],
    "trace": [["trace", "sister.toml", "picks.toml"], ["trace", DOCK, "picks.toml", "--write", "traced.toml"]],
    "pins": [["pins", "winkle", "--state", "as found"], ["pins", "winkle"]],
}  # fmt: skip


def commands() -> list[str]:
    return [command.name or command.callback.__name__ for command in app.registered_commands if command.callback]


def lay_out(folder: Path) -> None:
    """Put the examples into a folder; the engines bear letters that few terminals have."""
    for name in (DOCK, GOODS):
        for source, copy in ((EXAMPLES / name, name), (EXAMPLES / "readings" / name, READ[name])):
            text = source.read_text(encoding="utf-8").replace("(invented)", "(invented), Żółw & Søn")
            (folder / copy).write_text(text, encoding="utf-8")
    shutil.copytree(EXAMPLES / "winkle", folder / "winkle")
    shutil.copy(EXAMPLES / "readings" / "dock_shunter-marks.toml", folder / "marks.toml")
    shutil.copy(EXAMPLES / "readings" / "dock_shunter-right-slot.csv", folder / "slot.csv")
    shutil.copy(EXAMPLES / "dock_sister.toml", folder / "sister.toml")
    shutil.copy(EXAMPLES / "readings" / "dock_sister-trammel.toml", folder / "trammel.toml")
    shutil.copy(EXAMPLES / "pictures" / "dock_arrangement-picks.toml", folder / "picks.toml")
    shutil.copy(EXAMPLES / "pictures" / "dock_arrangement.png", folder / "dock_arrangement.png")


def shown_wide(text: str) -> int:
    """Columns that a terminal gives a text, by the Unicode database's own classes."""
    wide = sum(unicodedata.east_asian_width(sign) in "WF" for sign in text)
    return len(text) + wide - sum(unicodedata.combining(sign) > 0 for sign in text)


def own_process(*words: str, env: dict[str, str] | None = None, **how: Any) -> subprocess.CompletedProcess[bytes]:
    """The command in a process of its own; ``COLUMNS`` of this one is not handed on."""
    bare = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "PYTHONIOENCODING", "PYTHONUTF8")}
    how = dict[str, Any](stdout=subprocess.PIPE, stderr=subprocess.PIPE) | how
    command = [sys.executable, "-m", "linkmotion", *words]
    done: subprocess.CompletedProcess[bytes] = subprocess.run(command, env=bare | (env or {}), check=False, **how)
    return done
