"""The live page: bokeh's own server on the loopback address, one session to each browser window."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from bokeh.application import Application
from bokeh.application.handlers import FunctionHandler
from bokeh.document import Document
from bokeh.models import ColumnDataSource
from bokeh.protocol.message import Message
from bokeh.server.connection import ServerConnection
from bokeh.server.server import BaseServer
from bokeh.server.tornado import BokehTornado
from bokeh.server.util import bind_sockets
from tornado.httpserver import HTTPServer
from tornado.httputil import HTTPHeaders, HTTPServerRequest
from tornado.ioloop import IOLoop
from tornado.web import ErrorHandler, OutputTransform

from linkmotion.engine import Engine
from linkmotion.live.session import BEFORE, Session
from linkmotion.views.moving.page import contents, scripts, template
from linkmotion.views.moving.page_plots import plots
from linkmotion.views.moving.payload import as_script

LOOPBACK = "127.0.0.1"
OPEN = (
    "default-src 'none'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; "
    "connect-src 'self'; img-src data: blob:; font-src 'self'; base-uri 'none'; form-action 'none'"
)
REST = 350  # milliseconds without a wish after which the items are weighed
LARGEST = 1_000_000  # bytes in a message from a browser


class Policy(OutputTransform):
    """Puts the policy at the head of every answer; only there can it forbid other pages to show this one."""

    def transform_first_chunk(
        self, status_code: int, headers: HTTPHeaders, chunk: bytes, finishing: bool
    ) -> tuple[int, HTTPHeaders, bytes]:
        """The answer with its policy."""
        headers["Content-Security-Policy"] = f"{OPEN}; frame-ancestors 'none'"
        headers["X-Content-Type-Options"] = "nosniff"
        return status_code, headers, chunk


class Discreet(ServerConnection):
    """A connection that tells its client of a fault without saying where in the program it was."""

    def error(self, message: Message[Any], text: str) -> Any:
        """That something could not be done: no words of Python's own, and no traceback."""
        told = super().error(message, "this could not be done; load the page anew")
        told.content = {**told.content, "traceback": None}
        return told


class Guarded(BokehTornado):
    """A server that answers only to its own loopback name and port, whoever asks."""

    hosts: frozenset[str] = frozenset()

    def find_handler(self, request: HTTPServerRequest, **kwargs: Any) -> Any:
        """Refuse what comes under another name, or from a page of another origin."""
        origin = request.headers.get("Origin")
        if request.host not in self.hosts or (origin is not None and origin.removeprefix("http://") not in self.hosts):
            return self.get_handler_delegate(request, ErrorHandler, {"status_code": 403})
        return super().find_handler(request, **kwargs)

    def new_connection(self, *of: Any) -> ServerConnection:
        """A connection to one browser window."""
        connection = Discreet(*of)
        self._clients.add(connection)
        return connection


def serve(engine: Engine, state: str, port: int, name: str, told: Callable[[str], None]) -> None:
    """Serve an engine until interrupted; ``port`` 0 takes any that is free; ``name`` is its file's, without ending.

    Raises
    ------
    OSError
        The port is taken.
    """
    server, address = bound(engine, state, port, name)
    server.start()
    told(address)
    try:
        server.io_loop.start()
    except KeyboardInterrupt:
        pass
    finally:
        server.stop()


def bound(engine: Engine, state: str, port: int, name: str) -> tuple[BaseServer, str]:
    """A server on the loopback address, and where it is found."""
    sockets, port = bind_sockets(LOOPBACK, port)
    hosts = frozenset({f"{LOOPBACK}:{port}", f"localhost:{port}"})
    application = Application(FunctionHandler(lambda doc: put(doc, engine, state, name)))
    tornado = Guarded(
        {"/": application},
        extra_websocket_origins=sorted(hosts),
        websocket_max_message_size_bytes=LARGEST,
        use_index=False,
        include_headers=[],
        include_cookies=[],
    )
    tornado.hosts = hosts
    tornado.add_transform(Policy)
    loop = IOLoop.current()
    http = HTTPServer(tornado)
    http.add_sockets(sockets)
    return BaseServer(loop, tornado, http), f"http://{LOOPBACK}:{port}/"


def put(doc: Document, engine: Engine, state: str, name: str) -> None:
    """Open a session of its own for one browser window."""
    session = Session(engine, state, name)
    wish = ColumnDataSource(data={"wish": []}, name="wish")
    reply = ColumnDataSource(data={"reply": []}, name="reply")
    for figure in plots(session.shown).values():
        figure.tags = [wish, reply]  # goes with the document, and is not drawn
        doc.add_root(figure)
    pending: list[Any] = []

    def answer(number: int) -> None:
        told = session.reply() | {"before": BEFORE}
        told["bench"]["number"] = number
        reply.data = {"reply": [json.dumps(told, allow_nan=False)]}

    def asked(_name: str, _old: Any, new: Any) -> None:
        while pending:
            doc.remove_timeout_callback(pending.pop())
        number = session.ask(next(iter(new.get("wish", ())), ""))
        answer(number)

        steps = session.itemise()

        def weigh() -> None:
            pending.clear()
            try:
                next(steps)
            except StopIteration:
                answer(number)
            else:
                pending.append(doc.add_timeout_callback(weigh, 1))

        pending.append(doc.add_timeout_callback(weigh, REST))

    wish.on_change("data", asked)
    data = session.reply() | {"before": BEFORE}
    shown = contents(session.shown) | {"data": as_script(data)}
    doc.title = engine.name
    doc.template = template()
    doc.template_variables.update(shown, live=True, policy=OPEN, script=scripts("live"))
