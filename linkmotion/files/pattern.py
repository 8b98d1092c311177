"""A pattern of each gear: proportions of no engine, by which the parts of a bare gear are drawn."""

from __future__ import annotations

from importlib.resources import files

from linkmotion.engine import Engine
from linkmotion.files.engine_file import parse_engine


def pattern(gear: str) -> Engine | None:
    """An engine with a gear's usual proportions; None for a gear that has no pattern yet.

    Parameters
    ----------
    gear : str
        By its name, one of ``GEARS``.
    """
    found = files("linkmotion.files").joinpath("patterns", f"{gear.replace(' ', '_')}.toml")
    return parse_engine(found.read_text(encoding="utf-8"), found.name) if found.is_file() else None
