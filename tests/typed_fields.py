"""Every field of the bench's pages into which something is typed, as the page's own script would send it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any


@dataclass
class Field:
    """A field: of a figure of its own, or of a form that is sent as a whole.

    Attributes
    ----------
    name : str
        Of the figure, or of the field in its form.
    words : str
        Its label, as the page shows it.
    to : str
        Where it goes: "take", "change", "new", "look" (asked by the address), or what the form says.
    wish : dict
        What is sent with it.
    was : str
        What stands there.
    """

    name: str
    words: str
    to: str
    wish: dict[str, Any] = field(default_factory=dict)
    was: str = ""

    @property
    def key(self) -> str:
        """Under which what is typed is sent."""
        return "value" if self.to in ("figure", "fill", "take figure") else self.name


class _Page(HTMLParser):
    """Reads figures and forms of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[Field] = []
        self.seen, self.file = 0, ""
        self._filling = False
        self._figure: dict[str, str] | None = None
        self._form: tuple[str, dict[str, Any], list[Field]] | None = None
        self._select: tuple[str, list[str]] | None = None
        self._label: list[str] | None = None
        self._picture: dict[str, str] = {}

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        own = {key: value or "" for key, value in attrs}
        looks = own.get("class", "").split()
        if tag == "body":
            self.seen, self.file = int(own.get("data-seen", "0") or 0), own.get("data-file", "")
        if own.get("id") == "picture":
            self._picture = own
        self._filling = self._filling or "data-filling" in own
        if "figure" in looks and "data-figure" in own:
            self._figure = own
        if tag == "label":
            self._label = []
        if tag == "form" and ("asks" in looks or "typed-choices" in looks):
            self._form = (own.get("data-to", "look"), {}, [])
        if tag == "select":
            self._select = (own.get("name", ""), [])
        if tag == "option" and self._select is not None:
            self._select[1].append(own.get("value", "\0"))
        if tag in ("input", "textarea") and own.get("type") not in ("hidden", "radio", "checkbox", "range", "file"):
            self._typed(own)
        elif tag == "input" and own.get("type") == "hidden" and self._form is not None:
            self._form[1][own["name"]] = own.get("value", "")

    def _typed(self, own: dict[str, str]) -> None:
        if "readonly" in own or own.get("data-key"):
            return
        if self._figure is not None:
            self.found.append(self._of_figure(self._figure, own))
        elif self._form is not None and "name" in own:
            to, wish, fields = self._form
            fields.append(
                Field(own["name"], " ".join("".join(self._label or []).split()), to, wish, own.get("value", ""))
            )

    def _of_figure(self, figure: dict[str, str], own: dict[str, str]) -> Field:
        name, words = figure["data-figure"], " ".join("".join(self._label or []).split())
        if "data-where" in figure:
            return Field(name, words, "take figure", json.loads(figure["data-where"]), own.get("data-was", ""))
        if self._filling:
            return Field(name, words, "fill", {"do": "fill", "name": name}, own.get("data-was", ""))
        at = {key: self._picture.get(f"data-{key}", "") for key in ("state", "side", "notch")}
        return Field(name, words, "figure", {"do": "figure", "name": name, **at}, own.get("data-was", ""))

    def handle_data(self, data: str) -> None:
        if self._label is not None:
            self._label.append(data)
        if self._select is not None and self._select[1] and self._select[1][-1] == "\0":
            self._select[1][-1] = data

    def handle_endtag(self, tag: str) -> None:
        if tag == "select" and self._select is not None:
            if self._form is not None and self._select[0]:
                self._form[1][self._select[0]] = next(iter(self._select[1]), "")
            self._select = None
        if tag == "form" and self._form is not None:
            _to, wish, fields = self._form
            for own in fields:
                wish.setdefault(own.name, own.was or "1")
            self.found += fields
            self._form = None
        if tag == "section" or tag == "details":
            self._figure = None


def fields_of(page: str) -> tuple[list[Field], int, str]:
    """Fields of a page; the change that it has seen last; the file that it works on.

    Parameters
    ----------
    page : str
        HTML.
    """
    read = _Page()
    read.feed(page)
    return read.found, read.seen, read.file


def wishes(own: Field, value: str, seen: int, file: str) -> tuple[str, Mapping[str, Any]]:
    """Where a value of a field goes, of the engine's own addresses or the bench's, and what is sent there."""
    wish = {**own.wish, own.key: value}
    match own.to:
        case "figure" | "fill":
            return "change", {"seen": seen, **wish}
        case "state" | "notch":
            return "change", {"do": own.to, "seen": seen, **wish}
        case "take" | "take figure":
            return "take", {"file": file, "seen": seen, "was": own.was, **wish}
    return own.to, wish
