"""Pictures as those see them who lack a kind of colour, and as grey paper keeps them: read from the pictures' files."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree as ET

import matplotlib.colors
import numpy as np
import pytest

from linkmotion.views import style
from linkmotion.views.elevation_colours import CONTENTS
from tests.bad_engines.changed import EXAMPLES
from tests.bad_engines.command import Command
from tests.sight import SIGHTS, coded, lightness, seen

DOCK = EXAMPLES / "dock_shunter.toml"
APART, BROADER = 20.0, 1.5  # of L*; a line so much broader is another line
MEANINGS = {
    name.lower(): getattr(style, name.upper())
    for name in ("steam", "exhaust", "left", "right", "behind", "band", "flag")
}  # not ink: axes, words and keys, which mean nothing by their colour
_HREF = "{http://www.w3.org/1999/xlink}href"
Looks = dict[str, set[tuple[str, ...]]]


@pytest.mark.parametrize("sight", SIGHTS)
def test_white_grey_and_black_look_so_to_all(sight: str) -> None:
    for grey in ("#ffffff", "#777777", "#000000"):
        assert coded(seen(grey, sight)) == pytest.approx(matplotlib.colors.to_rgb(grey), abs=2e-3)


def test_who_lacks_a_colour_cannot_tell_by_it() -> None:
    """Red and green of one lightness are nearly one colour without red or without green, but not without blue."""
    red, green = "#d0605e", "#5d9a3b"
    apart = {sight: float(np.linalg.norm(coded(seen(red, sight)) - coded(seen(green, sight)))) for sight in SIGHTS}
    assert apart["no green (deutan)"] < 0.3 * apart["all colours"]
    assert apart["no red (protan)"] < 0.5 * apart["all colours"]
    assert apart["no blue (tritan)"] > 0.8 * apart["all colours"]


def test_steam_and_exhaust_and_the_two_sides_differ_in_lightness_to_all() -> None:
    for one, two in ((style.STEAM, style.EXHAUST), (style.LEFT, style.RIGHT), (style.INK, style.BEHIND)):
        for sight in SIGHTS:
            assert abs(lightness(one, sight) - lightness(two, sight)) >= APART, (one, two, sight)


def test_what_fills_a_space_is_told_by_its_pattern_too() -> None:
    patterns = [contents.hatch for contents in CONTENTS.values()]
    assert len(set(patterns)) == len(patterns)


def looks(panel: ET.Element, root: ET.Element) -> Looks:
    """How each meaning is drawn in a panel: line and its dashes, mark and its form, filled or open, or area."""
    forms = {node.get("id"): node.get("d", "") for node in root.iter() if node.tag.endswith("}path") and node.get("id")}
    found: Looks = defaultdict(set)
    for node in panel.iter():
        said = dict(re.findall(r"([\w-]+): ([^;]+)", node.get("style", "")))
        for name, look in _looks(node, said, forms):
            found[name].add(look)
    return found


def _looks(
    node: ET.Element, said: dict[str, str], forms: dict[str | None, str]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    line, fill = _meaning(said.get("stroke", "")), _meaning(said.get("fill", ""))
    if node.tag.endswith("}use"):
        form = forms.get(node.get(_HREF, "#")[1:], "")
        if "clip-path" not in said and (line or fill):
            yield (fill or line, ("mark", form, "filled" if fill else "open"))
    elif node.tag.endswith("}path") and not node.get("id"):
        if fill:
            yield fill, ("area", said.get("stroke", "none"))
        elif line and "url(" not in said.get("fill", "") and float(said.get("stroke-width", "1")) > 0:
            # neither a box nor the edge of what a pattern fills
            yield line, ("line", said.get("stroke-dasharray", ""), said.get("stroke-width", "1"))


def _one_look(one: tuple[str, ...], two: tuple[str, ...]) -> bool:
    """Whether the eye takes two looks for one: of lines, those so dashed and within half as broad again."""
    if one[0] == two[0] == "line":
        thin, broad = sorted((float(one[2]), float(two[2])))
        return one[1] == two[1] and broad < BROADER * thin
    return one == two


def _meaning(colour: str) -> str:
    return next((name for name, own in MEANINGS.items() if own == colour.strip().lower()), "")


def alike(found: Looks) -> Iterator[tuple[str, str, str, tuple[str, ...]]]:
    """Meanings that are drawn alike and nearly as light: which two, to whom, how drawn."""
    for one, two in combinations(found, 2):
        for sight in SIGHTS:
            if abs(lightness(MEANINGS[one], sight) - lightness(MEANINGS[two], sight)) < APART:
                yield from ((one, two, sight, a) for a in found[one] for b in found[two] if _one_look(a, b))


def panels(svg: bytes) -> Iterator[tuple[str, Looks]]:
    root = ET.fromstring(svg)
    for node in root.iter():
        if re.fullmatch(r"axes_\d+", node.get("id", "")):
            yield node.get("id", ""), looks(node, root)


DRAWN = {
    "report": ("check", DOCK, "--state", "as found", "--state", "drawing", "--into", "."),
    "compare": ("compare", DOCK, "--state", "drawing", "--state", "as found", "--pictures", "."),
    "wear": ("wear", DOCK, "--state", "as found", "--picture", "wear.svg"),
    "adjust": ("adjust", DOCK, EXAMPLES / "readings" / DOCK.name, "--pictures", "."),
    "beats": ("beats", DOCK, "--state", "as found", "--picture", "beats.svg"),
    "diagram": ("diagram", DOCK, "--picture", "diagram.svg"),
}


@pytest.mark.parametrize("name", DRAWN)
def test_no_two_meanings_of_a_picture_are_told_by_colour_alone(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    words = [word.resolve() if isinstance(word, Path) else word for word in DRAWN[name]]
    monkeypatch.chdir(tmp_path)
    assert Command(monkeypatch, capsys)(*words).code in (0, 1)
    read = 0
    for file in sorted(tmp_path.rglob("*.svg")):
        for panel, found in panels(file.read_bytes()):
            assert list(alike(found)) == [], (file.name, panel)
            read += len(found)
    assert read, "nothing was read"


def test_two_meanings_alike_are_found_out() -> None:
    found: Looks = {"steam": {("line", "", "1")}, "left": {("line", "", "1.4")}, "exhaust": {("line", "1,1", "1")}}
    assert {pair[:2] for pair in alike(found)} == {("steam", "left")}
    assert not list(alike(found | {"left": {("line", "", "1.6")}}))
    assert not list(alike(found | {"left": {("line", "5,2", "1.4")}}))
