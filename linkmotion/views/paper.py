"""Pages on paper: the same HTML as PDF, laid out by WeasyPrint.

A page holds all that it shows, so nothing is fetched: an address in a user's text leads nowhere.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, select_autoescape
from markupsafe import Markup

from linkmotion.files.faults import FileError
from linkmotion.files.outputs import PAGE, PDF, OutputFile, Outputs


@dataclass(frozen=True)
class PaperPage:
    """A page to be written, and the same as PDF beside it where a paper was chosen.

    Attributes
    ----------
    page, pdf : OutputFile
        Where they go; ``pdf`` is None where none is wanted.
    paper : str
        "A4" or "letter", or "".
    """

    page: OutputFile
    pdf: OutputFile | None
    paper: str

    @staticmethod
    def into(path: Path, outputs: Outputs, paper: str) -> PaperPage:
        """Where a page and its PDF may go.

        Raises
        ------
        FileError
            One of them may not be written, or PDF cannot be made here.
        """
        see_paper(paper)
        page = outputs.file(path, PAGE)
        return PaperPage(page, outputs.file(path.with_suffix(".pdf"), PDF) if paper else None, paper)

    def write(self, html: str) -> None:
        """Write both."""
        pdf = as_pdf(html, self.paper) if self.pdf is not None else b""
        self.page.write(html)
        if self.pdf is not None:
            self.pdf.write(pdf)


def see_paper(paper: str) -> None:
    """See, before any work, that a page can be made for a paper, if one is chosen.

    Raises
    ------
    FileError
        WeasyPrint, or what it stands on, is not installed.
    """
    if paper:
        try:
            import weasyprint  # noqa: F401
        except (ImportError, OSError):  # OSError: it is there, and Pango is not
            problem = "PDF is made by WeasyPrint, which does not run here"
            remedy = 'pip install "linkmotion[pdf]" (Pango comes with the system), or print the page from a browser'
            raise FileError("--paper", problem, remedy) from None


def on_paper(files: Mapping[str, bytes], paper: str) -> dict[str, bytes]:
    """Files of a set, by name, and every page among them as PDF too.

    Parameters
    ----------
    files : dict
        Their bytes.
    paper : str
        "A4" or "letter", or "" for none.
    """
    pages = {Path(name): data for name, data in files.items() if paper and name.endswith(".html")}
    return dict(files) | {str(name.with_suffix(".pdf")): as_pdf(page.decode(), paper) for name, page in pages.items()}


def sheet_of(template: str, **told: Any) -> str:
    """A page to be printed, from its template; its foot says ``of`` what it is, the day, and which sheet of how many.

    Parameters
    ----------
    template : str
        File of the template.
    **told
        What it shows.
    """
    pages = Environment(loader=PackageLoader("linkmotion.views"), autoescape=select_autoescape())
    pages.filters["in_css"] = in_css
    return pages.get_template(template).render(day=date.today().isoformat(), **told)


def in_css(words: str) -> Markup:
    r"""Words as a string of a style sheet, whatever they hold.

    >>> print(in_css('No. 4 "</style>"'))
    "No. 4 \22 \3c \2f style\3e \22 "
    """
    return Markup('"' + re.sub(r"[^\w .,:;()–-]", lambda sign: f"\\{ord(sign[0]):x} ", words) + '"')


def as_pdf(html: str, paper: str) -> bytes:
    """A page as PDF.

    Parameters
    ----------
    html : str
        The whole page; its pictures stand in it.
    paper : str
        "A4" or "letter".
    """
    import weasyprint
    from weasyprint.urls import URLFetcher

    logging.getLogger("weasyprint").setLevel(logging.CRITICAL)  # it tells of every rule that is for screens only
    size = weasyprint.CSS(string=f"@page {{ size: {paper} }}")
    page = weasyprint.HTML(string=html, url_fetcher=URLFetcher(allowed_protocols={"data"}))
    return page.write_pdf(stylesheets=[size])  # type: ignore[no-any-return]
