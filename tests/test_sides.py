"""Sides in words: one module tells them, and no other text of the package makes its own."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import linkmotion
from linkmotion.gears import GEARS
from linkmotion.sides import SIDE_NAMES, own_name, side_words, sides_meant, sides_words

PACKAGE = Path(linkmotion.__file__).parent
OF_ITS_OWN = re.compile(r"\}\}? sides?\b|[\"']both sides\b(?! of)|[\"'](left|right) side[\"',]|[\"']sides? alike")
"""A side put into words by a text itself: a name before "side", or the words for both."""


@pytest.mark.parametrize(
    "file",
    [own for kind in ("py", "html", "js") for own in sorted(PACKAGE.rglob(f"*.{kind}")) if own.name != "sides.py"],
    ids=lambda own: str(own.relative_to(PACKAGE)),
)
def test_no_other_text_puts_a_side_into_words(file: Path) -> None:
    found = [line for line in file.read_text(encoding="utf-8").splitlines() if OF_ITS_OWN.search(line)]
    assert [line for line in found if "{{ side }}" not in line or "checkbox" in line] == []


@pytest.mark.parametrize(
    "line", ['f"{side} side: x"', "f'{own.side.side} side'", '"both sides alike"', '"left side",', "{{ side }} side:"]
)
def test_such_words_are_found(line: str) -> None:
    assert OF_ITS_OWN.search(line)


def test_the_words() -> None:
    assert [side_words(side) for side in ("left", "right", "both", "")] == [
        "left side", "right side", "both sides", "between the sides",
    ]  # fmt: skip
    assert side_words("right", alike=True) == "both sides alike"
    assert side_words("both", ("middle",)) == side_words("middle") == "middle cylinder"
    assert sides_words(("left", "right"), " and the ") == "left and the right side"
    assert (own_name("both", ("middle",)), own_name("left", ("left", "right"))) == ("middle", "left")
    assert (sides_meant("both", ("middle",)), sides_meant("right", ("left", "right"))) == (("middle",), ("right",))


def test_every_side_of_every_gear_has_a_name_that_files_know() -> None:
    assert {side for gear in GEARS.values() for side in gear.sides} == set(SIDE_NAMES)
