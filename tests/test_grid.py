"""Tables for a terminal: no row over two lines, however narrow."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from linkmotion.views.grid import Column, Grid
from tests.desk import shown_wide

WIDE = "\u8ef8"  # a letter two columns wide


@st.composite
def grids(draw: st.DrawFn) -> Grid:
    """Tables in which every cell says its row and column."""
    many, count = draw(st.integers(1, 12)), draw(st.integers(1, 6))
    keys = draw(st.integers(1, 3))
    spare = draw(st.booleans())
    columns = [
        Column(f"k{j}", key=True, shared=draw(st.sampled_from(["", "{}"])) if keys == 1 else "{}") for j in range(keys)
    ]
    columns += [
        Column("h" * draw(st.integers(1, 9)), "h", over="over all" if j < 3 else "", spare=int(spare and j > 0))
        for j in range(many)
    ]
    sizes = [draw(st.integers(0, 9)) for _ in range(many)]
    table = Grid("a table of figures", columns)
    for i in range(count):
        names = [f"{WIDE * j}name{j}of{i if j == keys - 1 else i // 2}." for j in range(keys)]
        table.row(*names, *(f"r{i}c{j}{'x' * draw(st.integers(0, sizes[j]))}" for j in range(many)))
    return table


@given(grids(), st.integers(40, 130))
def test_a_row_is_one_line_of_each_part_its_cells_in_order_and_under_one_another(grid: Grid, width: int) -> None:
    lines = [line.text for line in grid.laid_out(width)]
    assert max(map(shown_wide, lines)) <= width
    found = [(line, cell) for line in lines for cell in re.finditer(r"\br(\d+)c(\d+)x*", line)]
    rows: dict[int, list[str]] = {}
    ends: dict[int, set[int]] = {}
    for line, cell in found:
        i, j = int(cell[1]), int(cell[2])
        assert cell[0] == grid.rows[i][0][len(grid.rows[i][0]) - len(figures(grid)) + j], "a cell is whole"
        if line not in rows.setdefault(i, []):
            rows[i].append(line)
        ends.setdefault(j, set()).add(shown_wide(line[: cell.end()]))
    for i, own in rows.items():
        order = [tuple(map(int, place)) for line in own for place in re.findall(r"\br(\d+)c(\d+)", line)]
        assert order == sorted(set(order)), "in order, each once, no other row's among them"
        assert {place[0] for place in order} == {i}
    assert len({len(own) for own in rows.values()}) == 1, "every row in as many parts"
    assert all(len(places) == 1 for places in ends.values()), "under one another"
    gone = len(figures(grid)) - len(ends)
    assert gone == 0 or (any(c.spare for c in grid.columns) and "Left out for want of room: " in " ".join(lines))


def figures(grid: Grid) -> list[Column]:
    return [column for column in grid.columns if not column.key]


def test_what_no_table_can_hold_is_told_in_words() -> None:
    grid = Grid("", [Column("reading", key=True), Column("said")])
    grid.row("a", " ".join(["word"] * 40))
    lines = [line.text for line in grid.laid_out(50)]
    assert max(map(len, lines)) <= 50
    assert " ".join(lines).split() == ["a:", "said", *["word"] * 40]


def test_a_wide_terminal_shows_what_a_narrow_one_leaves_out() -> None:
    grid = Grid("", [Column("part", key=True), Column("weight"), *(Column(f"column {j}", spare=1) for j in range(9))])
    for part in ("rod", "link", "lever", "crank"):
        grid.row(part, "1", *"234567890")
    narrow, wide = ([line.text for line in grid.laid_out(width)] for width in (60, 200))
    need = int(re.search(r"a terminal of (\d+) columns", " ".join(narrow))[1])  # type: ignore[index]
    assert "column 8" not in narrow[0]
    assert "column 8" in wide[0]
    assert max(map(len, wide)) == need == max(len(line.text) for line in grid.laid_out(need))
