"""The moving page in the frame in which a notebook shows it: it runs there, and asks nothing of the network."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import linkmotion as lm


def test_the_page_runs_in_a_notebooks_frame(browser: Any, tmp_path: Path) -> None:
    shown = lm.read_engine("examples/donkey_eccentric.toml").moving_page("drawing")
    file = tmp_path / "notebook.html"
    file.write_text(f'<!doctype html><meta charset="utf-8"><body>{shown._repr_html_()}</body>', encoding="utf-8")
    page, wrong, asked = browser.new_page(), list[str](), list[str]()
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    frame = page.frames[1]
    frame.wait_for_function("document.documentElement.dataset.ready === 'yes'")
    assert wrong == []
    assert [url for url in asked if url.startswith(("http", "ws"))] == []
    assert frame.evaluate("document.querySelectorAll('svg').length") > 0
    page.close()
