"""Every table and key of a TOML text is found, on its own line."""

import re
import time
import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
import tomlkit
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from linkmotion.files.lines import DEEPEST, Path, key_lines, line_of

ENGINE = r'''# An invented engine
[engine]
name = "Dock No. 3 # not a comment"   # a comment
notes = """
[not.a.table]
nor = "a key" \""" still inside
"""
path = 'C:\'
drawing.sheet."rev.B" = 1979-05-27 07:32:00
odd = QQQ
[x]
y = 1QQQ'

[ state . "as found" . left . 'radius_rod' ]
length = "54 1/32 in"
"caf\u00e9 \"x\"" = 1.5
[reversing]
notches = { full = 31.5, mid = { die = 0.0 }, "[3]" = [1, { a = "}" , b = [] }] }
faces = [
  # depth, loss
  [0.0, 0.1], # ] not the end
  { at = 5.0,
    loss = "x" }, "]",
  [{ deep = true }],
]
after = 3
[[reading]]
at = 1
[reading.dial]
zero = 0
[[reading]]
[[reading.point]]
x = 1
[[reading.point]]
y = 2
[reading.point.z]
[super]
'''.replace("QQQ", "'''")

LINES = {
    ("engine",): 2,
    ("engine", "name"): 3,
    ("engine", "notes"): 4,
    ("engine", "path"): 8,
    ("engine", "drawing"): 9,
    ("engine", "drawing", "sheet"): 9,
    ("engine", "drawing", "sheet", "rev.B"): 9,
    ("engine", "odd"): 10,
    ("state",): 14,
    ("state", "as found"): 14,
    ("state", "as found", "left"): 14,
    ("state", "as found", "left", "radius_rod"): 14,
    ("state", "as found", "left", "radius_rod", "length"): 15,
    ("state", "as found", "left", "radius_rod", 'café "x"'): 16,
    ("reversing",): 17,
    ("reversing", "notches"): 18,
    ("reversing", "notches", "full"): 18,
    ("reversing", "notches", "mid"): 18,
    ("reversing", "notches", "mid", "die"): 18,
    ("reversing", "notches", "[3]"): 18,
    ("reversing", "notches", "[3]", "1"): 18,
    ("reversing", "notches", "[3]", "1", "a"): 18,
    ("reversing", "notches", "[3]", "1", "b"): 18,
    ("reversing", "faces"): 19,
    ("reversing", "faces", "1"): 22,
    ("reversing", "faces", "1", "at"): 22,
    ("reversing", "faces", "1", "loss"): 23,
    ("reversing", "faces", "3"): 24,
    ("reversing", "faces", "3", "0"): 24,
    ("reversing", "faces", "3", "0", "deep"): 24,
    ("reversing", "after"): 26,
    ("reading",): 27,
    ("reading", "0"): 27,
    ("reading", "0", "at"): 28,
    ("reading", "0", "dial"): 29,
    ("reading", "0", "dial", "zero"): 30,
    ("reading", "1"): 31,
    ("reading", "1", "point"): 32,
    ("reading", "1", "point", "0"): 32,
    ("reading", "1", "point", "0", "x"): 33,
    ("reading", "1", "point", "1"): 34,
    ("reading", "1", "point", "1", "y"): 35,
    ("reading", "1", "point", "1", "z"): 36,
    ("super",): 37,
}


def holds_table(value: object) -> bool:
    return isinstance(value, dict) or (isinstance(value, list) and any(holds_table(item) for item in value))


def paths(value: object, path: Path = ()) -> Iterator[Path]:
    """Every table and key that tomllib found; of arrays' elements, those that are or hold tables."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield (*path, key)
            yield from paths(item, (*path, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            if holds_table(item):
                yield (*path, str(index))
                yield from paths(item, (*path, str(index)))


def test_every_form_of_key_stands_on_its_line() -> None:
    assert key_lines(ENGINE) == LINES


def test_the_line_ending_makes_no_difference() -> None:
    assert key_lines(ENGINE.replace("\n", "\r\n")) == LINES


def test_a_line_more_on_top_moves_all_by_one() -> None:
    assert key_lines("\n" + ENGINE) == {path: line + 1 for path, line in LINES.items()}


def test_a_table_named_on_the_way_moves_to_its_own_header() -> None:
    assert key_lines("[a.b]\n[a]\nc.d = 1\nc.e = 2\n") == {
        ("a", "b"): 1, ("a",): 2, ("a", "c"): 3, ("a", "c", "d"): 3, ("a", "c", "e"): 4,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("reading", 1, "point", 0, "x"), 33),
        (("reading", 1, "point", 0, "missing", "deeper"), 32),
        (("reversing", "faces", 0, 1), 19),
        (("state", "as found", "right"), 14),
        (("cylinder", "stroke"), None),
        ((), None),
    ],
)
def test_a_missing_key_is_told_at_the_nearest_table(path: tuple[str | int, ...], line: int | None) -> None:
    assert line_of(key_lines(ENGINE), path) == line


KEYS = st.one_of(st.sampled_from(["a", "b", "c.d", "as found", "", "0", "1"]), st.text(max_size=6))
NUMBERS = st.integers(0, 9) | st.floats(allow_nan=False) | st.booleans()
LEAVES = st.one_of(NUMBERS, st.text(), st.dates(), st.datetimes())
VALUES = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=12,
)


@given(st.dictionaries(KEYS, VALUES, max_size=4))
def test_a_written_document_has_the_paths_that_tomllib_reads(document: dict[str, Any]) -> None:
    text = tomlkit.dumps(document)
    try:
        read = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        assume(False)  # a slip of the writer, not of the scanner
    assert set(key_lines(text)) == set(paths(read))


def numbered(value: Any, count: Iterator[int]) -> Any:
    """Replace every leaf by a number of its own."""
    if isinstance(value, dict):
        return {key: numbered(item, count) for key, item in value.items()}
    if isinstance(value, list):
        return [numbered(item, count) for item in value]
    return next(count)


PLAIN_KEYS = st.text(st.sampled_from("abc -é\"'.#[]{}=\\"), max_size=4)
TREES = st.dictionaries(
    PLAIN_KEYS,
    st.recursive(
        st.just(0),
        lambda inner: (
            st.dictionaries(PLAIN_KEYS, inner, max_size=4)
            | st.lists(st.dictionaries(PLAIN_KEYS, inner, max_size=4), max_size=3)
        ),
        max_leaves=20,
    ),
    max_size=5,
)


def leaves(value: object, path: Path = ()) -> Iterator[tuple[Path, int]]:
    if isinstance(value, int):
        yield path, value
    for key, item in value.items() if isinstance(value, dict) else ():
        yield from leaves(item, (*path, key))
    for index, item in enumerate(value) if isinstance(value, list) else ():
        yield from leaves(item, (*path, str(index)))


@given(TREES, st.integers(0, 3))
def test_each_key_stands_where_its_own_number_is_written(tree: dict[str, Any], blank: int) -> None:
    text = "\n" * blank + tomlkit.dumps(numbered(tree, iter(range(7_000_000, 8_000_000))))
    where = {int(n): i for i, line in enumerate(text.split("\n"), 1) for n in re.findall(r"7\d{6}", line)}
    found = key_lines(text)
    read = dict(leaves(tomllib.loads(text)))
    assert {path: found[path] for path in read} == {path: where[number] for path, number in read.items()}


FRAGMENTS = st.sampled_from(
    [
        "[a]", "[a.b]", "[ 'a' . \"c\\u0041\" ]", "[b]", "[b.a] # [c]", "[[r]]", "[[r.s]]", "[r.t]",
        "[r.s.u]", "[[r.s.v]]", "x = 1", "y.z = 1.5e3", "y.w = 'it'", "'q=' = {}", '"" = []',
        'q4 = { o = """a"""", p = 2 }', "q5 = { o = '''a'''', p = 2 }",
        "t = 07:32:00 # x = 1", "d.e.f = { g.h = 1, i = { j = [{}] } }", 'm = """\n[a]\nx = 1 \\"""" # "',
        'm2 = """"two"""""',
        "l = '''\n[b]'''''", "l2 = ''''''", 's = "\\\\"', "u = [[[]], [[{ v = inf }]]]",
        "k = [\n  1, # ]\n  [ { n = 1 }, {} ],\n  '''\n]''', { o = '}', p = 2 },\n]",
        "", "# [c]\n", "  \t ", "\r",
    ]
)  # fmt: skip


def longest_valid(pieces: list[str], ending: str) -> str:
    """Join the pieces that tomllib accepts one after another, so that few examples are wasted."""
    text = ""
    for piece in pieces:
        longer = text + piece.replace("\n", ending) + ending
        try:
            tomllib.loads(longer)
        except tomllib.TOMLDecodeError:
            continue
        text = longer
    return text


@settings(max_examples=400)
@given(st.lists(FRAGMENTS, max_size=25), st.sampled_from(["\n", "\r\n"]))
def test_awkward_texts_have_the_paths_that_tomllib_reads(pieces: list[str], ending: str) -> None:
    text = longest_valid(pieces, ending)
    assert set(key_lines(text)) == set(paths(tomllib.loads(text)))


TOMLISH = st.text(st.sampled_from("ab.=[]{},\"'\\# \n\r\tu0"), max_size=60)


@settings(max_examples=400)
@given(st.one_of(st.text(), TOMLISH, st.lists(FRAGMENTS).map("\n".join)))
@example('a = "\\')
@example('"""\\')
@example('"\\UFFFFFFFF" = 1')
def test_any_text_gives_lines_within_it(text: str) -> None:
    lines = key_lines(text)
    assert set(lines.values()) <= set(range(1, text.count("\n") + 2))
    assert all(len(path) == 1 or path[:-1] in lines for path in lines)


@settings(max_examples=400)
@given(st.lists(st.lists(st.sampled_from(list("ab.=[]{},\"'\\# \n0")), max_size=9).map("".join), max_size=20))
def test_any_text_that_tomllib_accepts_has_its_paths(pieces: list[str]) -> None:
    text = longest_valid(pieces, "\n")
    assert set(key_lines(text)) == set(paths(tomllib.loads(text)))


PIECES = [
    "[", "a=[", "{a=", "a={a=", "a.", "[a.", "[[a]]\n", "a", "a=", "#", ",", "]", "}",
    '"', '"""', "'''", "'", "\\", '"\\',
]  # fmt: skip


@pytest.mark.parametrize("piece", PIECES)
@pytest.mark.parametrize("start", ["", "a = ", "a = [", 'a = """', "[["])
def test_time_is_proportional_to_length(piece: str, start: str) -> None:
    text = start + piece * (50_000 // len(piece))
    begun = time.perf_counter()
    key_lines(text)
    assert time.perf_counter() - begun < 5.0  # well under 0.3 s alone; a square law would need minutes


def test_a_key_too_deep_is_told_at_its_deepest_noted_ancestor() -> None:
    lines = key_lines("\n" + ".".join(["a"] * (DEEPEST + 9)) + " = 1")
    assert max(map(len, lines)) == DEEPEST
    assert line_of(lines, ["a"] * (DEEPEST + 9)) == 2
