"""The bench's server: who may ask, what can be asked, and how it is answered; the work is done elsewhere.

Only who knows the address, with the word in its path, is answered, and only on this computer. A page is fetched by
GET; whatever changes a file comes by POST as JSON, which no form of another page can send.
"""

from __future__ import annotations

import secrets
import socket
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import Any
from urllib.parse import unquote

import uvicorn
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from linkmotion.bench.answering import not_done, not_opened, refused, sent
from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.engine_pages import EnginePages
from linkmotion.bench.entering import LONGEST, carry_out, understood
from linkmotion.bench.filling import add_notch, fill, filled
from linkmotion.bench.folder_of_engines import FolderOfEngines, in_address
from linkmotion.bench.kept_file import SinceChanged
from linkmotion.bench.new_engine import EXAMPLE, begin, example
from linkmotion.bench.own_pages_only import LOOPBACK, OwnPagesOnly
from linkmotion.bench.pages import POLICY, page, script, style
from linkmotion.bench.photographs_shown import photograph
from linkmotion.bench.screen import Screen, screens
from linkmotion.bench.sheets_to_print import SHEETS
from linkmotion.bench.work_in_hand import Task, WorkInHand
from linkmotion.files.faults import FileError
from linkmotion.files.lengths import UNIT_NAMES
from linkmotion.gears import GEARS

ENGINES = 8  # engines kept at hand
FIRST = "side"


class Bench:
    """The bench on one folder.

    Attributes
    ----------
    folder : FolderOfEngines
        Its files.
    root : str
        Path under which everything is served.
    """

    def __init__(self, folder: FolderOfEngines, word: str) -> None:
        self.folder, self.root = folder, f"/{word}/"
        self.works: dict[str, EnginePages] = {}
        self.hand = WorkInHand(self.root)
        self._lock = threading.Lock()

    def routes(self) -> list[Route]:
        """Everything that can be asked."""
        own = f"{self.root}e/{{engine}}"
        return [
            Route(self.root, self.start),
            Route(f"{self.root}bench.css", lambda _r: Response(style(), media_type="text/css")),
            Route(f"{self.root}bench.js", lambda _r: Response(script(), media_type="text/javascript")),
            Route(f"{self.root}new", self.new, methods=["POST"]),
            Route(f"{self.root}example", self.copy_example, methods=["POST"]),
            Route(f"{self.root}far", self.hand.far),
            Route(f"{self.root}stop", self.hand.stop, methods=["POST"]),
            Route(f"{own}/", self.first),
            Route(f"{own}/picture", self.picture),
            Route(f"{own}/word", lambda r: _html(self.pages_of(r).word(r.query_params))),
            Route(f"{own}/tried", self.tried),
            Route(f"{own}/photograph", self.photograph),
            Route(f"{own}/moving", self.moving),
            Route(f"{own}/seen", self.seen),
            Route(f"{own}/change", self.change, methods=["POST"]),
            Route(f"{own}/sheet/{{sheet}}", self.sheet_to_print),
            Route(f"{own}/{{screen}}", self.screen),
            Route(f"{own}/{{screen}}/answer", self.answer),
            Route(f"{own}/{{screen}}/sheet", self.sheet),
            Route(f"{own}/{{screen}}/take", self.take, methods=["POST"]),
        ]

    def pages_of(self, request: Request) -> EnginePages:
        """The pages of the engine that is asked for; FileError where there is none."""
        name = unquote(request.path_params["engine"])
        with self._lock:
            known = self.works.pop(name, None)
            if known is not None and not self.folder.holds(known.work.path):
                known = None
            own = known or EnginePages(EngineAtWork(*self.folder.of(name)), self.root, name)
            self.works[name] = own
            while len(self.works) > ENGINES:
                del self.works[next(iter(self.works))]
        return own

    def start(self, _request: Request) -> Response:
        """The engines of the folder."""
        text = page(
            "start.html", root=self.root, folder=str(self.folder.named), engines=self.folder.listed(),
            gears=list(GEARS), units=list(UNIT_NAMES.items()), example=EXAMPLE,
        )  # fmt: skip
        return _html(text)

    def first(self, request: Request) -> Response:
        """An engine's own page is its side."""
        return RedirectResponse(f"{self.pages_of(request).here}{FIRST}", status_code=303)

    def screen(self, request: Request) -> Response:
        """A screen."""
        screen = _screen(request)
        return _html(self.pages_of(request).screen(screen, request.query_params, secrets.token_urlsafe(9)))

    def answer(self, request: Request) -> Response:
        """The answer of a long study."""
        screen, pages = _screen(request), self.pages_of(request)
        return self.hand.answer(request, lambda task: _html(pages.answer(screen, request.query_params, task)))

    def picture(self, request: Request) -> Response:
        """The drawing."""
        return _html(self.pages_of(request).picture(request.query_params))

    def tried(self, request: Request) -> Response:
        """What would follow from a dimension that is slid."""
        pages = self.pages_of(request)
        try:
            return JSONResponse({"ok": True, **pages.tried(request.query_params)})
        except FileError as error:
            return JSONResponse(refused(pages.work, error, None), status_code=422)

    def photograph(self, request: Request) -> Response:
        """A photograph that lies in the folder, upright and no larger than a page needs."""
        asked, folder = request.query_params, self.pages_of(request).work.kept.folder
        kind, data = photograph(folder, asked.get("name", ""), asked.get("whole") == "yes")
        headers = {"Content-Security-Policy": "default-src 'none'; sandbox", "Cache-Control": "private, max-age=3600"}
        return Response(data, media_type=kind, headers=headers)

    def sheet(self, request: Request) -> Response:
        """A screen's page to print."""
        screen, pages = _screen(request), self.pages_of(request)

        def made(task: Task) -> Response:
            text, rules = pages.sheet(screen, request.query_params, task)
            return HTMLResponse(text, headers={"Content-Security-Policy": rules})

        return self.hand.opened(request, "The sheet to print", made)

    async def take(self, request: Request) -> Response:
        """Do what a screen's own page asks for."""
        asked = await sent(request)
        return await run_in_threadpool(self._taken, request, asked)

    def _taken(self, request: Request, asked: Any) -> Response:
        screen, pages = _screen(request), self.pages_of(request)
        try:
            if screen.takes is None or not isinstance(asked, dict):
                raise FileError("entry", "this cannot be understood", "load the page anew")
            return JSONResponse({"ok": True, **screen.takes(pages.work, asked)})
        except FileError as error:
            told = refused(pages.work, error, asked)
            return JSONResponse(told, status_code=409 if isinstance(error, SinceChanged) else 422)

    def sheet_to_print(self, request: Request) -> Response:
        """A sheet to be printed, or a file to take away."""
        sheet, pages = SHEETS.get(request.path_params["sheet"]), self.pages_of(request)
        if sheet is None:
            raise HTTPException(404)

        def made(task: Task) -> Response:
            own = pages.sheet_to_print(sheet, request.query_params, task)
            return Response(own.data, media_type=own.media, headers=own.headers)

        return self.hand.opened(request, sheet.title, made)

    def moving(self, request: Request) -> Response:
        """The page on which the engine moves, as it is written for who has no bench."""
        pages = self.pages_of(request)

        def made(task: Task) -> Response:
            text, rules = pages.moving(task)
            return HTMLResponse(text, headers={"Content-Security-Policy": f"{rules}; frame-ancestors 'none'"})

        return self.hand.opened(request, "The engine moving", made)

    def seen(self, request: Request) -> Response:
        """The number of the last change, by whomever."""
        kept = self.pages_of(request).work.kept_of(request.query_params.get("file", ""))
        kept.look()
        changes = kept.journal.changes
        return JSONResponse({"version": kept.version, "words": changes[-1].words if changes else ""})

    async def change(self, request: Request) -> Response:
        """Change an engine's file, and tell what follows."""
        asked = await sent(request)
        return await run_in_threadpool(self._change, self.pages_of, request, asked)

    def _change(self, of: Callable[[Request], EnginePages], request: Request, asked: Any) -> Response:
        pages, wish = of(request), None
        work = pages.work
        try:
            match asked:
                case {"do": "fill", "seen": int(seen), "name": str(name), "value": str(value)} if len(value) <= LONGEST:
                    change = fill(work, name, value, seen)
                    told: dict[str, Any] = {"whole": work.engine is not None, **filled(work)}
                case {"do": "notch", "seen": int(seen), "name": str(name)}:
                    change, told = add_notch(work, name, seen), {}
                case _:
                    wish = understood(asked)
                    change = carry_out(work, wish)
                    told = {}
                    if wish.what == "figure":
                        at = {"state": wish.state, "side": wish.side, "notch": str(asked.get("notch", ""))}
                        told = pages.after(at, wish.name)
        except FileError as error:
            told = refused(work, error, asked)
            return JSONResponse(told, status_code=409 if isinstance(error, SinceChanged) else 422)
        kept = work.kept_of(wish.file if wish else "")
        done, undone = kept.journal.standing()
        told |= {"ok": True, "version": kept.version, "words": change.words if change else "nothing was changed",
                 "undo": bool(done), "redo": bool(undone)}  # fmt: skip
        return JSONResponse(told)

    async def new(self, request: Request) -> Response:
        """Begin a new engine's file."""
        asked = await sent(request)
        return await run_in_threadpool(self._begun, lambda: begin(self.folder, asked))

    async def copy_example(self, request: Request) -> Response:
        """Put the example into the folder."""
        await sent(request)
        return await run_in_threadpool(self._begun, lambda: example(self.folder))

    def _begun(self, made: Callable[[], str]) -> Response:
        try:
            name = made()
        except FileError as error:
            return JSONResponse({"ok": False, "said": error.plain}, status_code=422)
        return JSONResponse({"ok": True, "to": f"{self.root}e/{in_address(name)}/"})


def _screen(request: Request) -> Screen:
    found = screens().get(request.path_params["screen"])
    if found is None:
        raise HTTPException(404)
    return found


def _html(text: str) -> Response:
    return HTMLResponse(text, headers={"Content-Security-Policy": POLICY})


def bound(folder: FolderOfEngines, port: int) -> tuple[uvicorn.Server, socket.socket, str]:
    """A server, the socket on the loopback address that it is to have, already listening, and where it is found.

    Parameters
    ----------
    folder : FolderOfEngines
        That it works on.
    port : int
        0 takes any that is free.

    Raises
    ------
    OSError
        The port is taken.
    """
    own = socket.create_server((LOOPBACK, port))
    port = own.getsockname()[1]
    bench = Bench(folder, secrets.token_urlsafe(16))
    handlers: Mapping[Any, Any] = {FileError: not_opened, Exception: not_done}
    app = Starlette(routes=bench.routes(), exception_handlers=dict(handlers))
    app.router.redirect_slashes = False  # another path is another path
    config = uvicorn.Config(
        OwnPagesOnly(app, port),
        log_level="critical", access_log=False, server_header=False, ws="none", timeout_graceful_shutdown=1,
    )  # fmt: skip
    return uvicorn.Server(config), own, f"http://{LOOPBACK}:{port}{bench.root}"


def serve(folder: FolderOfEngines, port: int, told: Callable[[str], None]) -> None:
    """Serve a folder until interrupted; ``told`` is given the address.

    Raises
    ------
    OSError
        The port is taken.
    """
    server, own, address = bound(folder, port)
    with own:
        told(address)
        with suppress(KeyboardInterrupt):
            server.run(sockets=[own])
