"""Who is answered: what is asked under the bench's own name on this computer, and by its own pages."""

from __future__ import annotations

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = "127.0.0.1"
_SILENT = "default-src 'none'; frame-ancestors 'none'"
_HEADERS = {
    "Content-Security-Policy": _SILENT,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}


class OwnPagesOnly:
    """Answers only under the loopback address and its port, and puts a policy at the head of every answer.

    Only there can it forbid other pages to show this one.

    Parameters
    ----------
    app : ASGI application
        That answers.
    port : int
        On which it listens.
    """

    def __init__(self, app: ASGIApp, port: int) -> None:
        self.app, self.hosts = app, (f"{LOOPBACK}:{port}", f"localhost:{port}")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse what comes under another name, or from a page of another origin."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return

        async def with_policy(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        headers = Headers(scope=scope)
        origin = headers.get("origin")
        own = headers.get("host") in self.hosts and (origin is None or origin.removeprefix("http://") in self.hosts)
        answer = self.app if own else PlainTextResponse("not for you", status_code=403)
        await answer(scope, receive, with_policy)
