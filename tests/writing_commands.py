"""Every path of the command line, from the commands' own annotations: what is read, what is written."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args, get_type_hints

import typer.main

from linkmotion.cli import app
from linkmotion.cli.app import FOLDER, INPUT
from linkmotion.files.outputs import Kind
from tests.bad_engines.changed import EXAMPLES

GROUP: Any = typer.main.get_command(app)
NEEDED = {"gear": "walschaerts", "state": "as found"}
FILES = {
    "engine": "dock_shunter.toml",
    "readings": "readings/dock_shunter.toml",
    "file": "readings/dock_shunter.toml",
    "beside": "readings/dock_shunter.toml",
    "picks": "pictures/dock_arrangement-picks.toml",
}
"""What stands for each argument that must be given; a new command's is added here."""
BESIDE = {"picks": "pictures/dock_arrangement.png"}
"""What such a file names, and must stand in its folder."""
OF_ITS_OWN = {"carried marks": ("file", "readings/dock_shunter-marks.toml")}
"""What must be read for such a path to be written at all."""
WITH_MORE = {"reconcile": "dock_sister.toml", "repairs": "winkle/winkle.toml", "pins": "winkle/winkle.toml"}
"""Engine files of commands that want tables which that one lacks."""
FOUND_IN_FOLDERS = {"diagnose": ("readings",)}
"""What need not be given where it stands in the engine's folder."""
FEWER = {
    "hold": ("--samples", "200", "--no-search", "--notch", "mid"),
    "beats": ("--seconds", "0.5"),
    "check": ("--notch", "mid"),
    "wear": ("--notch", "mid", "--side", "left"),
    "compare": ("--notch", "mid", "--state", "drawing", "--state", "as found"),
    "diagram": ("--notch", "full forward"),
    "diagnose": ("--side", "left"),
    "repairs": ("--notch", "mid", "--hours", "19"),
    "reconcile": ("--state", "as found", "--side", "left"),
    "adjust": ("--side", "left", "--basis", "drawing"),
}
"""Options that only shorten the work."""


def markers(name: str) -> dict[str, list[Any]]:
    """What the annotation of every path of a command says that it is."""
    (command,) = (own for own in app.registered_commands if own.callback and own.callback.__name__ == name)
    hints = get_type_hints(command.callback, include_extras=True)
    paths = {key: get_args(hint) for key, hint in hints.items() if Path in (hint, *_within(hint))}
    return {key: [one for one in said[1:] if one in (INPUT, FOLDER) or isinstance(one, Kind)] for key, said in
            paths.items()}  # fmt: skip


def _within(hint: Any) -> Iterator[Any]:
    for inner in get_args(hint):
        yield inner
        yield from _within(inner)


@dataclass(frozen=True)
class Written:
    """One path to which a command writes."""

    command: str
    name: str
    marker: Kind | str

    def __str__(self) -> str:
        return f"{self.command} {self.name}"

    @property
    def folder(self) -> bool:
        return self.marker == FOLDER

    @property
    def kept(self) -> bool:
        """Whether what is there already stays even under --replace."""
        return isinstance(self.marker, Kind) and self.marker.filled_in

    @property
    def ending(self) -> str:
        return "" if isinstance(self.marker, str) else self.marker.endings[0]

    @property
    def inputs(self) -> list[str]:
        """Every path that the command reads."""
        return [name for name, said in markers(self.command).items() if said == [INPUT]]

    @property
    def needed_inputs(self) -> list[str]:
        found_in_folders = FOUND_IN_FOLDERS.get(self.command, ())
        return [n for n in self.inputs if n in found_in_folders or _parameter(self.command, n).required]

    def argv(self, place: Path, files: dict[str, Path]) -> list[str]:
        """The command's words, writing to ``place``, reading ``files``."""
        words: list[str] = []
        given: dict[str, str] = {self.name: str(place)} | {name: str(file) for name, file in files.items()}
        for parameter in GROUP.commands[self.command].params:
            value = given.get(parameter.name, "")
            if parameter.required and not value:
                value = NEEDED[parameter.name]
            if value:
                words += [value] if parameter.param_type_name == "argument" else [parameter.opts[0], value]
        return [self.command, *words, *FEWER.get(self.command, ())]

    def files(self, root: Path, *more: str) -> dict[str, Path]:
        """Copies of all files that it must read, and of ``more``, in a folder."""
        found = {}
        for name in dict.fromkeys([*self.needed_inputs, *more]):
            found[name] = root / f"{name}.toml"
            own = WITH_MORE.get(self.command, FILES[name]) if name == "engine" else FILES[name]
            wanted, instead = OF_ITS_OWN.get(str(self), ("", ""))
            own = instead if name == wanted else own
            shutil.copy(EXAMPLES / own, found[name])
            if name in BESIDE:
                shutil.copy(EXAMPLES / BESIDE[name], root)
        return found


def _parameter(command: str, name: str) -> Any:
    return next(own for own in GROUP.commands[command].params if own.name == name)


def every_output() -> list[Written]:
    """Every path to which any command writes."""
    return [
        Written(command, name, said[0])
        for command in GROUP.commands
        for name, said in markers(command).items()
        if said and said[0] != INPUT
    ]
