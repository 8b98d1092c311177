"""The table *what the books say*: ``python -m tests.references.table`` writes it, a test holds it.

Counted are figures that a work prints and that the product finds by itself: rules worked out for our own data, words,
figures derived by us, and whatever a gear was fitted to stand in the table and are counted apart.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from tests.references.fits.rows import load as load_fits
from tests.references.held import FIGURES, found, is_event
from tests.references.loader import DOORS, EVIDENCE, GOT, Figure, half_unit, number

PATH = Path(__file__).parent / "what_the_books_say.md"
PRINTED = {key: figure for key, figure in FIGURES.items() if figure.printed}
FITS = {key: row for key, row in load_fits().items() if row.source["evidence"] == "published figure"}
NOT_HELD = tomllib.loads((Path(__file__).parent / "aside" / "not_held.toml").read_text(encoding="utf-8"))["work"]
HEAD = """# What the books say

Printed figures, and what the program finds for them. Made by `python -m tests.references.table`; the tests hold every
row, and that each is refused when shifted by a unit. Doors: *file*, an engine file (`gears/`) through a command and
through the library; *library*, the rooms of events, openings, steam and setting; *formula*, a closed form, or one
solve of a small linkage. A figure is held to half a unit of its last place unless another tolerance stands beside it.
"""


def counts() -> dict[str, int]:
    """What is counted, by what it is."""
    agreeing = [figure for figure in PRINTED.values() if figure.agrees]
    fits = [row for row in FITS.values() for _ in row.printed]
    return {
        "printed figures": len(PRINTED) + len(fits),
        "met": len(agreeing) + sum(not row.reason for row in fits),
        "not met, each with its reason": len(PRINTED) - len(agreeing) + sum(bool(row.reason) for row in fits),
        "works": len({figure.source.work for figure in PRINTED.values()} | {row.source["work"] for row in fits}),
        "valve events, leads and openings": sum(map(is_event, PRINTED.values())),
        "of these met": sum(map(is_event, agreeing)),
        "through an engine file and a command": sum(figure.door == "file" for figure in PRINTED.values()),
        "of those met": sum(figure.door == "file" for figure in agreeing),
        "limits, fits and expansions (tests/references/fits)": len(fits),
    }


def lines() -> Iterator[str]:
    """The whole page."""
    yield HEAD
    yield "| counted | |\n|---|---|"
    yield from (f"| {name} | {number} |" for name, number in counts().items())
    yield ""
    yield from _tally("how the print was got", GOT, Counter(figure.got for figure in PRINTED.values()))
    yield from _tally("door", DOORS, Counter(figure.door for figure in PRINTED.values()))
    rest = [figure for figure in FIGURES.values() if not figure.printed]
    yield from _tally("held but not counted", EVIDENCE, Counter(figure.evidence for figure in rest))
    yield "## Not met: misprints, places cut or slipped, drawings and models that err\n"
    yield "| work | what | printed | right | why |\n|---|---|---|---|---|"
    for figure in FIGURES.values():
        if not figure.agrees:
            alike = [other for other in FIGURES.values() if other.source is figure.source]
            yield _row(
                figure.source.author, _what(figure, alike), figure.value, figure.correct, figure.reason
            )  # fmt: skip
        elif figure.correction:
            yield _row(figure.source.author, figure.what, "text", "", figure.correction)
    yield "\n## Misprints among the data\n"
    yield "| work | printed -> right |\n|---|---|"
    for source in dict.fromkeys(figure.source for figure in FIGURES.values() if figure.source.misprints):
        yield _row(f"{source.author}, {source.edition}", source.misprints)
    yield ""
    yield "## Read and not held\n"
    yield "| work | what | why | misprints |\n|---|---|---|---|"
    yield from (_row(*(row[name] for name in ("work", "what", "why", "misprints"))) for row in NOT_HELD)
    yield ""
    yield "## Every row\n"
    yield "Got and inferred: see each work's file. In brackets: not counted.\n"
    for stem in dict.fromkeys(key.split()[0] for key in FIGURES):
        yield from _work({key: figure for key, figure in FIGURES.items() if key.split()[0] == stem})


def _tally(title: str, kinds: tuple[str, ...], counted: Counter[str]) -> Iterator[str]:
    yield f"| {title} | |\n|---|---|"
    yield from (f"| {kind} | {counted[kind]} |" for kind in kinds if counted[kind])
    yield ""


def _work(figures: dict[str, Figure]) -> Iterator[str]:
    source = next(iter(figures.values())).source
    yield f"### {source.author}: {source.work}\n"
    inferred = f" Inferred or chosen: {source.inferred}." if source.inferred else ""
    yield f"{source.edition}.{inferred}\n"
    yield "| what | got | door | printed | computed | difference | held to | |\n|---|---|---|---|---|---|---|---|"
    for key, figure in figures.items():
        value, away = _farthest(key)
        told = f"{figure.value if figure.printed else f'({figure.value})'} {figure.unit}"
        verdict = "" if figure.agrees else f"right: {figure.correct}"
        what, computed, apart = _what(figure, [*figures.values()]), _digits(value, figure), _digits(away, figure, "+")
        yield _row(what, figure.got, figure.door, told, computed, apart, f"{figure.tolerance:.3g}", verdict)
    yield ""


def _what(figure: Figure, beside: list[Figure]) -> str:
    """What it is, with the data and words by which rows of one text differ."""
    alike = [other.data | other.at for other in beside if other.what == figure.what]
    own = figure.data | figure.at
    varied = [f"[{name} {text}]" for name, text in own.items() if any(other.get(name) != text for other in alike)]
    return " ".join([figure.what, *varied])


def _farthest(key: str) -> tuple[float, float]:
    """Of all routes the value farthest from the print, and how far."""
    printed = number(FIGURES[key].value)
    value = max(found(key).values(), key=lambda each: abs(each - printed))
    return value, value - printed


def _digits(value: float, figure: Figure, sign: str = "") -> str:
    """To a place beyond that to which the figure is held."""
    half, places = min(half_unit(figure.value, figure.rounding), figure.tolerance), 1
    while half < 0.5 * 10.0 ** (1 - places) * 0.99 and places < 9:
        places += 1
    return f"{round(value, places) + 0.0:{sign}.{places}f}"


def _row(*cells: str) -> str:
    return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"


def page() -> str:
    """The page's text."""
    return "\n".join(lines()).rstrip() + "\n"


if __name__ == "__main__":
    PATH.write_text(page(), encoding="utf-8")
