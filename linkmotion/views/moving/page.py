"""One self-contained HTML file: the gear that moves, its plots and its controls; nothing is fetched from anywhere."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import jinja2
from bokeh.embed import components
from bokeh.resources import Resources

from linkmotion.studies.page_data import PageData
from linkmotion.views.moving.page_plots import plots
from linkmotion.views.moving.payload import as_script, payload
from linkmotion.views.style import EXHAUST, FLAG, GRID, INK, PAPER, STEAM
from linkmotion.views.tables import CAUTION

SCRIPTS = ("motion", "draw", "ghost", "extent", "section", "marks", "plots", "sound", "page", "controls", "start")
SEALED = (
    "default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:; media-src blob:"
)
_TINTS = {
    "desk": "#f1ecdf", "soft": "#56646e", "metal": "#dfe3e2", "cast": "#c3ccd0", "brass": "#e6c98a", "wheel": "#ddd8cb",
    "lit": "#f2b705", "steam-tint": "#f6d9cd", "exhaust-tint": "#dbe8ee", "shut": "#8a6d3b", "shut-tint": "#f4ecd4",
}  # fmt: skip


def page(moving: PageData) -> str:
    """The moving page of an engine as one HTML text."""
    figures = plots(moving)
    script, divs = components(figures)
    library = Resources(mode="inline", components=["bokeh"], minified=True, log_level="warn").render_js()
    return render(
        moving,
        policy=SEALED,
        bokeh_js=library,
        plot_script=script,
        plots=divs,
        script=scripts(),
    )


def render(moving: PageData, **parts: Any) -> str:
    """The page from its parts."""
    return template().render(**contents(moving), **parts)


def template() -> jinja2.Template:
    """The page's template; what is not marked as safe in it is escaped."""
    own = jinja2.Environment(autoescape=True, undefined=jinja2.ChainableUndefined)
    return own.from_string(_asset("page.html"))


def contents(moving: PageData) -> dict[str, str]:
    """What the template shows of an engine."""
    return {
        "engine": moving.engine.name,
        "colours": colours(),
        "css": _asset("page.css"),
        "data": as_script(payload(moving)),
        "caution": CAUTION,
    }


def _asset(name: str) -> str:
    return (files(__package__) / "assets" / name).read_text("utf-8")


def colours() -> str:
    """The house's colours as style variables."""
    own = {"ink": INK, "paper": PAPER, "grid": GRID, "steam": STEAM, "exhaust": EXHAUST, "flag": FLAG} | _TINTS
    return ":root { " + " ".join(f"--{name}: {colour};" for name, colour in own.items()) + " }"


def scripts(*more: str) -> str:
    """The page's own script, in one closure."""
    text = "\n".join(_asset(f"{name}.js") for name in (*SCRIPTS[:-1], *more, SCRIPTS[-1]))
    return f'(() => {{\n"use strict";\n{text}\n}})();'
