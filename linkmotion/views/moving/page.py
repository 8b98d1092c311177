"""One self-contained HTML file: the gear that moves, its plots and its controls; nothing is fetched from anywhere."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from importlib.resources import files

import jinja2

from linkmotion.studies.doubts.judged import DoubtfulState
from linkmotion.studies.page_data import PageData
from linkmotion.views.moving.drawn import look
from linkmotion.views.moving.payload import as_script, payload
from linkmotion.views.style import EXHAUST, FLAG, GRID, INK, PAPER, STEAM
from linkmotion.views.tables import CAUTION

SCRIPTS = (
    "motion", "bodies", "drawing", "labels", "axes", "plots", "sound", "over",
    "page", "controls", "reverser", "parts", "tour", "told", "start",
)  # fmt: skip
STYLES = ("page", "gear", "screens")
_LIGHT = {
    "ink": INK, "paper": PAPER, "grid": GRID, "steam": STEAM, "exhaust": EXHAUST, "flag": FLAG,
    "desk": "#f1ecdf", "soft": "#56646e", "lit": "#f2b705", "steam-tint": "#f6d9cd", "exhaust-tint": "#dbe8ee",
}  # fmt: skip
_DARK = {
    "ink": "#e4e0d4", "paper": "#1a2126", "grid": "#39444b", "steam": "#f0926f", "exhaust": "#82bbda",
    "flag": "#f08fb4", "desk": "#262f35", "soft": "#a9b4ba", "lit": "#c99700", "steam-tint": "#4a2c22",
    "exhaust-tint": "#24404e",
}  # fmt: skip


def page(moving: PageData, doubts: Mapping[str, DoubtfulState] | None = None) -> str:
    """The moving page of an engine as one HTML text; what is not marked as safe in the template is escaped.

    Parameters
    ----------
    moving, doubts
        As for :func:`~linkmotion.views.moving.payload.payload`.
    """
    own, script = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined), scripts()
    return own.from_string(_asset("page.html")).render(
        engine=moving.engine.name,
        policy=policy(script),
        colours=colours(),
        css="\n".join((look(), *(_asset(f"{name}.css") for name in STYLES))),
        data=as_script(payload(moving, doubts)),
        script=script,
        caution=CAUTION,
    )


def policy(script: str) -> str:
    """What the page may do: run this very script, and fetch nothing."""
    known = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    return (
        f"default-src 'none'; script-src 'sha256-{known}'; style-src 'unsafe-inline'; img-src data: blob:; "
        "media-src blob:"
    )


def _asset(name: str) -> str:
    return (files(__package__) / "assets" / name).read_text("utf-8")


def colours() -> str:
    """The house's colours as style variables; on a screen set to dark, and never on paper, its darker ones."""

    def root(own: dict[str, str]) -> str:
        return ":root { " + " ".join(f"--{name}: {colour};" for name, colour in own.items()) + " }"

    return f"{root(_LIGHT)}\n@media screen and (prefers-color-scheme: dark) {{ {root(_DARK)} }}"


def scripts() -> str:
    """The page's own script, in one closure."""
    text = "\n".join(_asset(f"{name}.js") for name in SCRIPTS)
    return f'(() => {{\n"use strict";\n{text}\n}})();'
