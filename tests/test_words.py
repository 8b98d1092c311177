"""The trade's words are one list: the bench, the moving page and the lessons tell them alike."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import linkmotion as lm
from linkmotion.bench.pages import page, script
from linkmotion.views.moving.page_words import EVENTS, PARTS, does
from linkmotion.views.word_list import TERMS, WORDS, shown_on
from tests.gears_at_hand import every_gear
from tests.test_notebooks import LESSONS, cells

EMPHASISED = {
    (1, "donkey engine"), (1, "forward"), (3, "link"), (3, "lead is the same in every notch"), (6, "link"), (6, "open"),
    (8, "front"), (8, "back"), (8, "middle line"), (8, "slack"), (8, "off the middle of the die block"),
    (9, "halfway between the two marks"), (9, "read again"), (12, "stroke"),
}  # fmt: skip
"""What lessons set in bold for weight: no words of the trade, or of another meaning there."""


def bold(number: int, lesson: Path) -> Iterator[str]:
    """Words that a lesson sets in bold as words of the trade, as the list has them."""
    for phrase in re.findall(r"\*\*([a-z][^*]{2,40})\*\*", "\n\n".join(cells(lesson, "markdown"))):
        words = " ".join(phrase.split())
        if (number, words) in EMPHASISED:
            continue
        plain = words.removeprefix("front ") if words == "front dead centre" else words
        yield plain if plain in WORDS else plain.removesuffix("s")


def shown(lesson: Path) -> list[str]:
    """Words that a lesson shows from the list."""
    return [
        argument.value
        for code in cells(lesson, "code")
        for node in ast.walk(ast.parse(code))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "words"
        for argument in node.args
        if isinstance(argument, ast.Constant) and isinstance(argument.value, str)
    ]


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda path: path.stem)
def test_words_that_a_lesson_brings_are_those_of_the_list_and_shown_from_it(lesson: Path) -> None:
    number = int(lesson.name.split("_")[0])
    brought = list(dict.fromkeys(bold(number, lesson)))
    assert set(brought) <= set(WORDS), set(brought) - set(WORDS)
    assert shown(lesson) == brought
    assert lm.words(*brought).rows() == [{"word": own, "meaning": WORDS[own]} for own in brought] or not brought


def test_words_of_the_readme_are_those_of_the_list() -> None:
    """What it sets in italics is a word of the list; what a line "- *word*: meaning" explains, it explains alike."""
    text = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
    named = {" ".join(own.split()) for own in re.findall(r"(?<!\*)\*([a-z][^*]{2,30})\*(?!\*)", text)}
    assert "as it stands" in named
    unknown = {own for own in named if own not in WORDS and own.removesuffix("s") not in WORDS}
    assert unknown <= {"if need be"}, "a mark of the setting sheet"
    for word, told in re.findall(r"^- \*([^*]+)\*: (.+?)(?=\n- |\n\n|\Z)", text, re.MULTILINE | re.DOTALL):
        assert " ".join(told.split()) == WORDS[word]


def test_every_word_is_told_in_a_sentence_and_none_is_told_twice() -> None:
    assert {"lap", "lead", "cutoff", "as it stands", "radius rod"} <= set(WORDS)
    assert all(told.endswith(".") and len(told) < 260 for told in WORDS.values())
    assert set(TERMS) & set(EVENTS) == set()
    assert set(TERMS) & set(PARTS) == {"foot"}, "the link's, and a block of one radial gear"
    with pytest.raises(lm.UnknownName, match="did you mean 'lead'"):
        lm.words("laed")


def test_a_word_is_shown_on_a_part_that_some_gear_has() -> None:
    for word in WORDS:
        part = shown_on(word)
        assert part == "" or part in PARTS or part in ("notches", "die"), word
        assert not part or any(does(own.gear.name, part) != "A part of this gear." for own in every_gear().values())


def test_the_bench_tells_the_list() -> None:
    text = page("engine_sheet.html", root="/", here="/", screen=_SCREEN, screens=[], chooses=(), choices=[], files=[],
                engine_name="x", file="x", gear="", version=0, can_undo=False, can_redo=False, query="",
                worked_on="")  # fmt: skip
    for word, told in WORDS.items():
        assert f'data-word="{word}"' in text.replace("&#39;", "'")
        assert told in text.replace("&#39;", "'").replace("&#34;", '"')
    assert "meaningOf" in script(), "what marks and tells them where they stand"


_SCREEN = type("Screen", (), {"name": "x", "title": "x", "question": "x"})
