"""What was done of a setting, ticked off on the bench: a plain file beside the engine's, an entry for each work."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.kept_file import KeptFile
from linkmotion.files.faults import FileError
from linkmotion.files.figure_edit import read_tables
from linkmotion.files.file_kinds import DONE, READINGS
from linkmotion.files.journal import Change, digest
from linkmotion.studies.figures.figure import Reading

_HEAD = """\
# What was done to set the valves, as it was ticked off on the bench; each entry is one piece of work.
# readings: the file by which it was asked for; as_read: by which those very readings are known again.
"""


@dataclass(frozen=True)
class Done:
    """A piece of work that was ticked off: its words, when, and by which readings it had been asked for."""

    work: str
    on: str
    readings: str
    as_read: str


def known_again(readings: tuple[Reading, ...]) -> str:
    """By which readings are known again, however their file is laid out: once one is read anew, they are others."""
    own = sorted(
        f"{each.side} {each.kind} {each.notch} {each.direction} {each.end} {each.at} {each.value:.6g} {each.unit}"
        for each in readings
    )
    return digest("\n".join(own))[:12]


def done_of(work: EngineAtWork) -> list[Done]:
    """Everything that was ticked off of an engine, in the order in which it was."""
    kept = _kept(work)
    if kept is None:
        return []
    kept.look()
    entries = read_tables(kept.text).get("done", [])
    return [_done(own) for own in entries if isinstance(own, Mapping)]


def _done(own: Mapping[str, object]) -> Done:
    return Done(*(str(own.get(key, "")) for key in ("work", "on", "readings", "as_read")))


def tick(work: EngineAtWork, done: Done, on: bool) -> Change | None:
    """Tick a piece of work off, or take the tick away; the file is begun with the first.

    Parameters
    ----------
    work, done : EngineAtWork, Done
        The engine; the work, its day left open.
    on : bool
        Whether it is done.

    Raises
    ------
    FileError
        It cannot be written.
    """
    kept = _kept(work)
    if kept is None:
        if not on:
            return None
        name = work.beside.begin(_NAME, _HEAD + _entry(done), dated=False)
        work.beside.kept(name)
        return None

    def made(text: str) -> str:
        there = _numbers(text, done)
        if on:
            return text if there else text.rstrip("\n") + "\n" + _entry(done)
        return _without(text, there)

    return kept.change(made, f"{'done' if on else 'not done after all'}: {done.work}", kept.version)


_NAME = "setting"


def _kept(work: EngineAtWork) -> KeptFile | None:
    """The file, where there is one: of those of its kind in the folder, the one that is named after the engine."""
    stem = work.beside.stem(_NAME)
    names = (own for own in work.beside.listed(DONE) if own.removesuffix(".toml").startswith(stem))
    name = next((own for own in names if work.beside.can_write(own)), None)
    return None if name is None else work.beside.kept(name)


def _entry(done: Done) -> str:
    import tomlkit

    table = tomlkit.table()
    for key, value in (("work", done.work), ("on", _now()), (READINGS, done.readings), ("as_read", done.as_read)):
        table[key] = value
    return "\n[[done]]\n" + tomlkit.dumps(table)


def _now() -> str:
    return datetime.now().strftime("%Y-%m-%d %H:%M")


def _numbers(text: str, done: Done) -> list[int]:
    entries = read_tables(text).get("done", [])
    found = (_done(own) for own in entries)
    return [i for i, own in enumerate(found) if (own.work, own.as_read) == (done.work, done.as_read)]


def _without(text: str, numbers: list[int]) -> str:
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
        for number in reversed(numbers):
            del document["done"][number]
        return tomlkit.dumps(document)
    except (TOMLKitError, TypeError, KeyError) as error:
        raise FileError("setting", f"this file is laid out so that nothing can be taken out here ({error})",
                        "change it in an editor") from None  # fmt: skip
