"""A points file begun, and one thing of it written anew in its text: remarks and all else stay as they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from linkmotion.files.figure_edit import GONE, read_tables, see_alone
from linkmotion.files.lines_edit import with_figure
from linkmotion.files.picks_file import DRAWING_KIND, LINE, PAPER_WITHIN, WITHIN

_BEGUN = """\
# Points put on a picture by eye, and what is known beside; to be completed in any editor too.

[picture]
file = {file}
engine = {engine}
kind = "{kind}"
within = {within:g}  # pixels: so near a point is put, 19 in 20
line = {line:g}  # pixels: width of the drawn lines
{paper}
[points]  # pixels: from the left, from the top
"""
_PAPER = "paper = {:g}  # percent: by so much the paper may have shrunk more one way than another, 19 in 20\n"


def points_form(file: str, engine: str, kind: str) -> str:
    """The text of a points file before any point is put.

    Parameters
    ----------
    file, engine : str
        The image, beside the file; the engine's name.
    kind : str
        "drawing" or "photograph".
    """
    import tomlkit

    words = {"file": tomlkit.item(file).as_string(), "engine": tomlkit.item(engine).as_string()}
    paper = _PAPER.format(PAPER_WITHIN) if kind == DRAWING_KIND else ""
    return _BEGUN.format(**words, kind=kind, within=WITHIN, line=LINE, paper=paper)


def with_takings(text: str, name: str, takings: Sequence[Sequence[float]]) -> str:
    """The text with a point put: one taking stands alone, several in a list, none takes it out.

    Parameters
    ----------
    text, name : str
        TOML; of the point.
    takings : sequence of (from the left, from the top)
        Pixels.

    Raises
    ------
    ValueError
        The file is laid out so that more would change.
    """
    own = [list(taking) for taking in takings]
    return with_figure(text, ("points", name), (own if len(own) > 1 else own[0]) if own else GONE)


def with_known(text: str, row: Mapping[str, Any]) -> str:
    """The text with one more thing known.

    Parameters
    ----------
    text, row : str, dict
        TOML; as a row of ``[[known]]`` has it.

    Raises
    ------
    ValueError
        The file is laid out so that more would change.
    """
    import tomlkit

    there = _known(text)
    if not there and "known" not in read_tables(text):
        document, rows = tomlkit.document(), tomlkit.aot()
        document["known"] = rows
        rows.append(_table(row))
        new = f"{text.rstrip()}\n\n{tomlkit.dumps(document).strip()}\n"
    else:
        whole: Any = tomlkit.parse(text)
        whole["known"].append(_table(row))
        new = tomlkit.dumps(whole)
    see_alone(text, new, ("known",), [*there, dict(row)])
    return new


def without_known(text: str, number: int) -> str:
    """The text without one of the things known.

    Parameters
    ----------
    text, number : str, int
        TOML; from 0.

    Raises
    ------
    ValueError
        There is none of this number, or more would change.
    """
    import tomlkit

    there = _known(text)
    if not 0 <= number < len(there):
        raise ValueError("this is no longer among what is known")
    whole: Any = tomlkit.parse(text)
    del whole["known"][number]
    rest = [row for at, row in enumerate(there) if at != number]
    if not rest:
        del whole["known"]
    new = tomlkit.dumps(whole)
    see_alone(text, new, ("known",), rest or GONE)
    return new


def _known(text: str) -> list[dict[str, Any]]:
    rows = read_tables(text).get("known", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise ValueError("[[known]] is written so that it cannot be changed here")
    return list(rows)


def _table(row: Mapping[str, Any]) -> Any:
    import tomlkit

    table: Any = tomlkit.table()
    for key, value in row.items():
        table[key] = value
    table.add(tomlkit.nl())
    return table
