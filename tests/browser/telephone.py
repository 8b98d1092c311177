"""A telephone on which readings are taken: the page opened, keys touched, the file carried back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from linkmotion.cli import app

READY = "document.documentElement.dataset.ready === 'yes'"


def made_for(engine: Path | str, folder: Path) -> Path:
    """The page of an engine, written by the command."""
    file = folder / f"{Path(engine).stem}.html"
    done = CliRunner().invoke(app, ["form", str(engine), "--phone", str(file)])
    assert done.exit_code == 0, done.output
    return file


@contextmanager
def opened(browser: Any, file: Path, width: int = 390, height: int = 844, **how: Any) -> Iterator[Any]:
    """The page on a telephone without a network; nothing may be said to the console, nothing asked of anyone."""
    context = browser.new_context(viewport={"width": width, "height": height}, offline=True, has_touch=True, **how)
    page, said = context.new_page(), list[str]()
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda r: None if r.url.startswith(("file:", "blob:", "data:")) else said.append(r.url))
    page.goto(file.as_uri())
    page.wait_for_function(READY)
    yield page
    assert said == []
    context.close()


def typed(page: Any, figure: str, unit: str) -> None:
    """Type a figure by the page's own keys."""
    page.locator("#units").get_by_text(unit, exact=True).tap()
    for sign in figure:
        page.locator(f"#keys [data-key='{ {'-': 'minus', ' ': 'and'}.get(sign, sign) }']").tap()


def to_reading(page: Any, title: str, of: str) -> None:
    """Step on to a reading."""
    for _ in range(200):
        page.locator("#next").tap()
        if page.text_content("#title") == title and page.text_content("#of") == of:
            return
    raise AssertionError(f"no screen {title}, {of}")


def carried(page: Any, folder: Path) -> Path:
    """Make the file, which is the text that is shown too."""
    if not page.locator("#all").is_visible():
        page.locator("#list").tap()
    with page.expect_download() as found:
        page.locator("#give").tap()
    file = folder / found.value.suggested_filename
    found.value.save_as(file)
    assert file.read_text("utf-8") == page.input_value("#text")
    return file
