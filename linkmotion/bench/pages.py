"""The bench's pages: templates filled, styles and script as files of their own, and what a page may do."""

from __future__ import annotations

import base64
import hashlib
import re
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from linkmotion.bench.as_html import as_html
from linkmotion.bench.files_beside import NOT_WRITTEN
from linkmotion.bench.screen import grouped
from linkmotion.files.faults import spoken
from linkmotion.views.moving.drawn import look
from linkmotion.views.moving.page import colours
from linkmotion.views.moving.page_words import does
from linkmotion.views.tables import CAUTION
from linkmotion.views.word_list import WORDS, shown_on

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
"""What a page may do: run the bench's own script, show its own pictures, and ask the bench."""
_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)
_BOTH = ("readings_along", "filling", "quadrant", "words", "slid_figure", "picked_points", "carried")
_STYLES = ("bench", "parts_drawn", *_BOTH)
_SCRIPTS = ("talking", "dimensions", "figures_entered", "side_drawn", *_BOTH, "bench")


@cache
def _templates() -> Environment:
    own = Environment(
        loader=PackageLoader("linkmotion.bench"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    own.globals |= {
        "caution": CAUTION,
        "as_html": as_html,
        "words": dict(sorted(WORDS.items())),
        "shown_on": shown_on,
        "does": does,
        "grouped": grouped,
        "not_written": NOT_WRITTEN,
        "spoken": spoken,
    }
    return own


def page(template: str, **told: Any) -> str:
    """A page, or a piece of one; whatever is not marked as safe is escaped."""
    return _templates().get_template(template).render(**told)


def sheet_policy(text: str) -> str:
    """What a page to print may do: show its own styles and the pictures within it."""
    made = (base64.b64encode(hashlib.sha256(own.encode()).digest()).decode() for own in _STYLE.findall(text))
    styles = " ".join(f"'sha256-{own}'" for own in made) or "'none'"
    return (
        f"default-src 'none'; style-src {styles}; img-src data:; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    )


@cache
def style() -> str:
    """The style sheet: the house's colours, the drawing's, and the page's own rules."""
    return "\n".join((colours(), look(), *(_asset(f"{name}.css") for name in _STYLES)))


@cache
def script() -> str:
    """The page's own script."""
    text = "\n".join(_asset(f"{name}.js") for name in _SCRIPTS)
    return f'(() => {{\n"use strict";\n{text}\n}})();\n'


def _asset(name: str) -> str:
    return (files(__package__) / "assets" / name).read_text("utf-8")
