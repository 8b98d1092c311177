"""The live page served on the loopback address: one session to each browser window, asked and answered in JSON.

A window asks by POST, one wish at a time; when it has asked nothing for a while it asks to have the gear's differences
weighed, which is done in steps, so that other windows are answered in between, and let be as soon as it wishes
something else. Only who knows the address, with the word in its path, is answered.
"""

from __future__ import annotations

import asyncio
import json
import secrets
import socket
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field

import uvicorn
from starlette.applications import Starlette
from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from linkmotion.engine import Engine
from linkmotion.live.session import BEFORE, Session
from linkmotion.views.moving.page import policy, render, scripts

LOOPBACK = "127.0.0.1"
LARGEST = 100_000  # bytes in a wish
WINDOWS = 20  # sessions kept: the one longest unasked is let go
SILENT = "default-src 'none'; frame-ancestors 'none'"
_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}


class Guard:
    """Answers only under its own loopback name and port, and puts the policy at the head of every answer.

    Only there can it forbid other pages to show this one.
    """

    def __init__(self, app: ASGIApp, hosts: frozenset[str]) -> None:
        self.app, self.hosts = app, hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse what comes under another name, or from a page of another origin."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in {"Content-Security-Policy": SILENT, **_HEADERS}.items():
                    headers.setdefault(name, value)
            await send(message)

        headers = Headers(scope=scope)
        origin = headers.get("origin")
        own = headers.get("host") in self.hosts and (origin is None or origin.removeprefix("http://") in self.hosts)
        answer = self.app if own else PlainTextResponse("not for you", status_code=403)
        await answer(scope, receive, guarded)


@dataclass
class Desk:
    """The engine served, and the windows in which it is worked on."""

    engine: Engine
    state: str
    name: str
    windows: dict[str, Session] = field(default_factory=dict)
    asked: dict[str, int] = field(default_factory=dict)

    async def page(self, _request: Request) -> Response:
        """A window of its own for whoever loads the page."""
        session = Session(self.engine, self.state, self.name)
        window = secrets.token_urlsafe(12)
        self.windows[window], self.asked[window] = session, 0
        while len(self.windows) > WINDOWS:
            del self.windows[next(iter(self.windows))]
        data = session.reply() | {"before": BEFORE, "window": window}
        script = scripts("live")
        rules = f"{policy(script)}; connect-src 'self'; base-uri 'none'; form-action 'none'"
        text = render(session.shown, policy=rules, script=script, live=True, sent=data)
        return HTMLResponse(text, headers={"Content-Security-Policy": f"{rules}; frame-ancestors 'none'"})

    async def wish(self, request: Request) -> Response:
        """Do what a window asks, and say how the gear then stands."""
        window = request.path_params["window"]
        session = self.windows.pop(window, None)
        if session is None:
            raise HTTPException(410, "this page is no longer served; load it anew")
        self.windows[window] = session  # the last one asked
        text = await _text(request)
        self.asked[window] += 1
        if text == "weigh":
            return await self._weighed(window, session)
        return _answer(session, session.ask(text))

    async def _weighed(self, window: str, session: Session) -> Response:
        """What each difference does alone; nothing, where the window wishes something else meanwhile."""
        now = self.asked[window]
        for _ in session.itemise():
            await asyncio.sleep(0)
            if self.asked[window] != now:
                return Response(status_code=204)
        return _answer(session, None)


async def _text(request: Request) -> str:
    read = b""
    try:
        async for chunk in request.stream():
            read += chunk
            if len(read) > LARGEST:
                raise HTTPException(413, "this is more than a page asks")
    except ClientDisconnect:
        raise HTTPException(400, "nobody is there") from None
    return read.decode("utf-8", "replace")


def _answer(session: Session, number: int | None) -> Response:
    told = session.reply() | {"before": BEFORE}
    told["bench"]["number"] = number
    return Response(json.dumps(told, allow_nan=False), media_type="application/json")


def _fault(_request: Request, _fault: Exception) -> Response:
    """That something could not be done: no words of Python's own, and no traceback."""
    return PlainTextResponse("this could not be done; load the page anew", status_code=500)


def serve(engine: Engine, state: str, port: int, name: str, told: Callable[[str], None]) -> None:
    """Serve an engine until interrupted; ``port`` 0 takes any that is free; ``name`` is its file's, without ending.

    Raises
    ------
    OSError
        The port is taken.
    """
    server, own, address = bound(engine, state, port, name)
    with own:
        told(address)
        with suppress(KeyboardInterrupt):
            server.run(sockets=[own])


def bound(engine: Engine, state: str, port: int, name: str) -> tuple[uvicorn.Server, socket.socket, str]:
    """A server, the socket on the loopback address that it is to have, already listening, and where it is found."""
    own = socket.create_server((LOOPBACK, port))
    port = own.getsockname()[1]
    word = secrets.token_urlsafe(12)
    desk = Desk(engine, state, name)
    routes = [
        Route(f"/{word}/", desk.page),
        Route(f"/{word}/{{window}}", desk.wish, methods=["POST"]),
    ]
    hosts = frozenset({f"{LOOPBACK}:{port}", f"localhost:{port}"})
    app = Starlette(routes=routes, exception_handlers={Exception: _fault})
    app.router.redirect_slashes = False  # another path is another path
    config = uvicorn.Config(
        Guard(app, hosts),
        log_level="critical",
        access_log=False,
        server_header=False,
        ws="none",
        timeout_graceful_shutdown=1,
    )
    return uvicorn.Server(config), own, f"http://{LOOPBACK}:{port}/{word}/"
