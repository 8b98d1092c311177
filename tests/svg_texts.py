"""A plot's SVG file as a reader sees it: every text with its box, every axis with its name.

Widths of letters are taken from the font's own tables by fontTools, which no part of the product uses.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import matplotlib
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from shapely.geometry import Polygon, box

_SVG = "{http://www.w3.org/2000/svg}"
_RISE, _FALL = 0.73, 0.2  # of the size: capitals above the line, tails below it


@dataclass(frozen=True)
class Text:
    """A piece of text in points from the upper left corner: its words, size and outline."""

    words: str
    size: float
    outline: Polygon


@dataclass(frozen=True)
class Axis:
    """An axis with what its ticks say and its name."""

    ticks: tuple[str, ...]
    name: str


@dataclass(frozen=True)
class Plot:
    """A file: its size in points, its texts, and the axes of each of its panels."""

    page: Polygon
    texts: list[Text]
    panels: list[list[Axis]]

    @property
    def words(self) -> str:
        return " ".join(text.words for text in self.texts)


def read_svg(data: bytes) -> Plot:
    root = ET.fromstring(data)
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    texts = [text for node in root.iter(f"{_SVG}text") if (text := _text(node)) is not None]
    groups = [node for node in root.iter(f"{_SVG}g")]
    panels = [list(_axes(node)) for node in groups if re.fullmatch(r"axes_\d+", node.get("id", ""))]
    return Plot(box(0, 0, width, height), texts, panels)


def _text(node: ET.Element) -> Text | None:
    words, style = node.text or "", node.get("style", "")
    if not words.strip():
        return None
    size = float(re.search(r"([\d.]+)px", style).group(1))  # type: ignore[union-attr]
    wide = letters(words, "700" in style or "bold" in style) * size
    start = {"start": 0.0, "middle": -0.5, "end": -1.0}[_said(style, "text-anchor") or "start"] * wide
    turn, x, y = _placed(node)
    corners = [
        (start, -_RISE * size),
        (start + wide, -_RISE * size),
        (start + wide, _FALL * size),
        (start, _FALL * size),
    ]
    cos, sin = math.cos(turn), math.sin(turn)
    return Text(words, size, Polygon([(x + a * cos - b * sin, y + a * sin + b * cos) for a, b in corners]))


def _placed(node: ET.Element) -> tuple[float, float, float]:
    """Angle (radians, clockwise as SVG has it) and place of a text."""
    moved = node.get("transform", "")
    turned = re.search(r"rotate\(([-\d.e]+)", moved)
    shifted = re.search(r"translate\(([-\d.e]+)[ ,]+([-\d.e]+)\)", moved)
    x, y = (float(node.get("x", 0)), float(node.get("y", 0)))
    if shifted:
        x, y = float(shifted.group(1)), float(shifted.group(2))
    return math.radians(float(turned.group(1)) if turned else 0.0), x, y


def _said(style: str, key: str) -> str:
    found = re.search(rf"{key}: ([\w-]+)", style)
    return found.group(1) if found else ""


def _axes(panel: ET.Element) -> Iterator[Axis]:
    for group in panel.iter(f"{_SVG}g"):
        if group.get("id", "").startswith("matplotlib.axis"):
            ticks: list[str] = []
            names: list[str] = []
            for child in group:
                told = [" ".join((node.text or "").split()) for node in child.iter(f"{_SVG}text")]
                (ticks if re.match(r"[xy]tick", child.get("id", "")) else names).extend(told)
            yield Axis(tuple(tick for tick in ticks if tick), " ".join(names))


@lru_cache(maxsize=4096)
def letters(words: str, bold: bool) -> float:
    """Width of a text of size 1."""
    font, widths, names = _font(bold)
    return sum(float(widths[names.get(ord(letter), ".notdef")][0]) for letter in words) / font["head"].unitsPerEm


@lru_cache(maxsize=2)
def _font(bold: bool) -> tuple[Any, Any, Any]:
    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    font = TTFont(folder / ("DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"))
    return font, font["hmtx"], font.getBestCmap()
