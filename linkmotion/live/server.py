"""The live page: bokeh's own server on the loopback address, one session to each browser window."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

from bokeh.application import Application
from bokeh.application.handlers import FunctionHandler
from bokeh.document import Document
from bokeh.models import ColumnDataSource
from bokeh.server.server import BaseServer
from bokeh.server.tornado import BokehTornado
from bokeh.server.util import bind_sockets
from tornado.httpserver import HTTPServer
from tornado.httputil import HTTPServerRequest
from tornado.ioloop import IOLoop
from tornado.web import ErrorHandler

from linkmotion.engine import Engine
from linkmotion.live.session import BEFORE, Session
from linkmotion.views.moving.page import contents, scripts, template
from linkmotion.views.moving.payload import as_script
from linkmotion.views.moving.plots import plots

LOOPBACK = "127.0.0.1"
OPEN = (
    "default-src 'none'; script-src 'self' 'unsafe-inline'; style-src 'self' 'unsafe-inline'; "
    "connect-src 'self'; img-src data: blob:; font-src 'self'; base-uri 'none'; form-action 'none'"
)
REST = 350  # milliseconds without a wish after which the items are weighed
LARGEST = 1_000_000  # bytes in a message from a browser


class Guarded(BokehTornado):
    """A server that answers only to its own loopback name and port, whoever asks."""

    hosts: frozenset[str] = frozenset()

    def find_handler(self, request: HTTPServerRequest, **kwargs: Any) -> Any:
        """Refuse what comes under another name, or from a page of another origin."""
        origin = request.headers.get("Origin")
        if request.host not in self.hosts or (origin is not None and origin.removeprefix("http://") not in self.hosts):
            return self.get_handler_delegate(request, ErrorHandler, {"status_code": 403})
        return super().find_handler(request, **kwargs)


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
        try:
            said = json.loads(new["wish"][0])
            number = int(said.get("number", 0))
        except (LookupError, TypeError, ValueError, AttributeError):
            return
        while pending:
            doc.remove_timeout_callback(pending.pop())
        session.carry_out(said)
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
