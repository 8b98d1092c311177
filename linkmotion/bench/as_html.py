"""What commands print, as HTML: the same blocks, the answer first. Everything from a file is text, and stays text."""

from __future__ import annotations

import base64
from collections.abc import Iterable, Iterator

from markupsafe import Markup, escape

from linkmotion.bench.screen import Link, Plot
from linkmotion.views.grid import Grid
from linkmotion.views.printout import OUT, Answer, Aside, Block, Command, Heading, Point, Said
from linkmotion.views.tables import CAUTION

_ON_A_PAGE = {
    "; --choice takes another": "; another is chosen above",
    ": --once-mended.": ": choose that above.",
    " (--move-sound-parts)": " above",
    " (--fault)": "",
    "; linkmotion tram)": "; see Dead centres)",
    " (linkmotion wear ranks them)": " (What matters ranks them)",
    " (linkmotion cleanup)": "",
    " (linkmotion check tells it)": " (Check tells it)",
    "put those twice, [[u, v], [u, v]], so": "put those once more, so",
    ": linkmotion history tells it": ": Record tells it",
}
"""What to type next, in words of the bench."""
_PLAIN = Point("").mark
_SENTENCES: dict[type, str] = {Answer: "answer", Said: "said", Aside: "aside"}


def as_html(blocks: Iterable[Block | Plot | Link]) -> Markup:
    """Blocks as they stand on a page; points that follow one another are one list."""
    return Markup("\n").join(_runs(blocks))


def _runs(blocks: Iterable[Block | Plot | Link]) -> Iterator[Markup]:
    points: list[Markup] = []
    for block in blocks:
        if isinstance(block, Point):
            points.append(_point(block))
            continue
        if points:
            yield _list(points)
            points = []
        if isinstance(block, Command) or (isinstance(block, Aside) and block.words == CAUTION):
            continue  # what to type next is no word for a page, and the caution is at its foot
        yield _one(block)
    if points:
        yield _list(points)


def _plain(words: str) -> str:
    for typed, said in _ON_A_PAGE.items():
        words = words.replace(typed, said)
    return words


def _list(points: list[Markup]) -> Markup:
    return Markup('<ul class="points">{}</ul>').format(Markup("").join(points))


def _one(block: Answer | Said | Aside | Heading | Grid | Plot | Link) -> Markup:
    match block:
        case Grid():
            return _table(block)
        case Plot():
            return _figure(block)
        case Link():
            return _link(block)
        case Heading():
            return Markup("<h2>{}</h2>").format(block.words)
    words = _plain(block.words[:1].upper() + block.words[1:])
    return Markup('<p class="{}">{}</p>').format(_SENTENCES[type(block)], words)


def _point(block: Point) -> Markup:
    out = block.mark == OUT
    if out:
        mark = Markup('<b class="out-mark" role="img" aria-label="out">{}</b>').format(OUT)
    else:  # a letter by which a table names it
        mark = Markup("") if block.mark == _PLAIN else Markup('<b class="named">{}</b> ').format(block.mark)
    kind = ' class="out"' if out else "" if block.mark == _PLAIN else ' class="of-name"'
    return Markup("<li{}>{}{}</li>").format(Markup(kind), mark, _plain(block.words))


def _table(grid: Grid) -> Markup:
    """A table with its groups of columns over it; it scrolls in itself where there is no room."""
    keys = {number for number, column in enumerate(grid.columns) if column.key}
    over = [column.over for column in grid.columns]
    head = Markup("")
    if any(over):
        groups: list[tuple[str, int]] = []
        for words in over:
            if groups and groups[-1][0] == words:
                groups[-1] = (words, groups[-1][1] + 1)
            else:
                groups.append((words, 1))
        cells = (_group(words, span) for words, span in groups)
        head = Markup("<tr>{}</tr>").format(Markup("").join(cells))
    names = Markup("").join(
        Markup('<th scope="col"{}>{}</th>').format(Markup(' class="key"') if column.key else "", _lines(column.head))
        if column.head
        else Markup("<td></td>")
        for column in grid.columns
    )
    rows = Markup("").join(_row(cells, bold, keys) for cells, bold in grid.rows)
    title = _plain(grid.title)
    label = title or "table"
    return Markup(
        '<div class="scroll" role="region" tabindex="0" aria-label="{}"><table><caption>{}</caption>'
        "<thead>{}<tr>{}</tr></thead><tbody>{}</tbody></table></div>"
    ).format(label, title, head, names, rows)


def _group(words: str, span: int) -> Markup:
    if not words:
        return Markup('<td colspan="{}"></td>').format(span)
    return Markup('<th scope="colgroup" class="over" colspan="{}">{}</th>').format(span, words)


def _row(cells: tuple[str, ...], bold: bool, keys: set[int]) -> Markup:
    made = [
        Markup('<th scope="row" class="key">{}</th>').format(cell)
        if number == 0
        else Markup('<td class="key">{}</td>').format(cell)
        if number in keys
        else Markup("<td>{}</td>").format(cell)
        for number, cell in enumerate(cells)
    ]
    return Markup("<tr{}>{}</tr>").format(Markup(' class="whole"') if bold else "", Markup("").join(made))


def _lines(words: str) -> Markup:
    return Markup("<br>").join(map(escape, words.split("\n")))


def _figure(plot: Plot) -> Markup:
    data = base64.b64encode(plot.svg).decode()
    return Markup(
        '<figure class="plot" tabindex="0"><img src="data:image/svg+xml;base64,{}" alt="{}">'
        "<figcaption>{}</figcaption></figure>"
    ).format(data, plot.title, plot.words or plot.title)


def _link(link: Link) -> Markup:
    return Markup('<p class="row"><a class="button" target="_blank" rel="noopener" href="{}">{}</a></p>').format(
        f"{link.address}&wait=yes", link.words
    )
