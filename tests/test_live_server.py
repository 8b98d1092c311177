"""The live page's server: what it answers, that it answers only on this computer, and that it writes nothing."""

from __future__ import annotations

import asyncio
import json
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("bokeh")

from bokeh.core.types import ID
from bokeh.protocol import Protocol
from bokeh.protocol.messages.error import error as ErrorMessage
from tornado.httpclient import AsyncHTTPClient, HTTPRequest, HTTPResponse

from linkmotion.files.engine_file import read_engine
from linkmotion.live.server import Discreet, bound
from linkmotion.live.session import Session

DOCK = Path("examples/dock_shunter.toml")
UNREADABLE = {
    "no JSON": "{",
    "a list": "[]",
    "a word": '"change"',
    "nothing": "",
    "a number beyond all": '{"do": "back", "number": ' + "9" * 5000 + "}",
    "5,000 brackets": "[" * 5000,
    "200,000 closed brackets": "[" * 100_000 + "]" * 100_000,
}


@pytest.mark.parametrize("text", UNREADABLE.values(), ids=UNREADABLE)
def test_what_cannot_be_read_is_answered(text: str) -> None:
    bench = Session(read_engine(DOCK))
    assert bench.ask(text) == 0
    assert "cannot be read" in bench.message
    assert bench.engine is bench.opened
    assert json.loads(json.dumps(bench.reply(), allow_nan=False))["bench"]["message"] == bench.message


@pytest.mark.parametrize(("number", "counted"), [("1e400", 0), ("-1e400", 0), ("NaN", 0), ("1.5", 0), ("7", 7)])
def test_a_wish_with_any_number_is_done_and_answered(number: str, counted: int) -> None:
    bench = Session(read_engine(DOCK))
    asked = f'{{"do": "change", "key": "eccentric_rod.length", "value": "31.6", "number": {number}}}'
    assert bench.ask(asked) == counted
    assert bench.engine.drawing["eccentric_rod"]["length"] == pytest.approx(31.6 * 25.4, abs=1e-9)


@pytest.mark.parametrize("value", ["1e400", "-1e400", "nan", "[" * 100, "9" * 100, "1e-400", "\0", "'''", "{", "\\"])
def test_a_figure_that_is_none_is_told_and_the_last_good_gear_stays(value: str) -> None:
    bench = Session(read_engine(DOCK))
    shown = bench.shown
    bench.ask(json.dumps({"do": "change", "key": "eccentric_rod.length", "value": value}))
    assert "eccentric_rod" in bench.message
    assert bench.engine is bench.opened
    assert bench.shown is shown


def answers(*wanted: Callable[[str], HTTPRequest]) -> list[HTTPResponse]:
    """What a server on this computer answers to requests for its address."""

    async def asked() -> list[HTTPResponse]:
        server, address = bound(read_engine(DOCK), "drawing", 0, "dock")
        server.start()
        try:
            client = AsyncHTTPClient(force_instance=True)
            return [await client.fetch(request(address), raise_error=False) for request in wanted]
        finally:
            server.stop()

    return asyncio.run(asked())


def test_every_answer_bears_the_policy_and_none_may_be_framed() -> None:
    page, missing, stranger = answers(
        HTTPRequest,
        lambda address: HTTPRequest(f"{address}none-such"),
        lambda address: HTTPRequest(address, headers={"Host": "elsewhere.example"}),
    )
    assert (page.code, missing.code, stranger.code) == (200, 404, 403)
    for answer in (page, missing, stranger):
        policy = answer.headers["Content-Security-Policy"]
        assert "frame-ancestors 'none'" in policy
        assert "default-src 'none'" in policy
        assert b"Traceback" not in answer.body
    assert b"frame-ancestors" not in page.body, "a browser takes it from the head of the answer alone"


def test_a_fault_is_told_to_the_browser_without_a_traceback() -> None:
    class Session:
        def subscribe(self, _connection: Any) -> None:
            """As a session of the server has it."""

    protocol = Protocol()
    message = protocol.create("OK", ID("one"))
    connection = Discreet(protocol, None, None, Session())  # type: ignore[arg-type]
    try:
        raise RuntimeError("/home/of/the/user/secret.py")
    except RuntimeError as fault:
        told = connection.error(message, repr(fault))
        plain = ErrorMessage.create(ID("one"), repr(fault))
    trace = plain.content["traceback"]
    assert trace is not None
    assert "Traceback" in trace, "which the server's own error does hold"
    assert "Traceback" not in told.content_json
    assert "secret" not in told.content_json


@pytest.fixture
def written() -> Iterator[list[str]]:
    """Every path that this process opens to write, makes, moves or removes from here on."""
    found: list[str] = []
    watching = True

    def watch(event: str, what: tuple[Any, ...]) -> None:
        if not watching:
            return
        if event == "open" and isinstance(what[0], str):
            changes = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
            if set(str(what[1])) & set("wax+") or (what[1] is None and what[2] & changes):
                found.append(what[0])
        elif event in ("os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.link", "os.symlink", "os.truncate"):
            found.append(str(what[0]))

    sys.addaudithook(watch)  # cannot be taken away again
    yield found
    watching = False


def test_the_watch_sees_what_is_written(tmp_path: Path, written: list[str]) -> None:
    (tmp_path / "x").write_text("x", encoding="utf-8")
    os.close(os.open(tmp_path / "y", os.O_CREAT | os.O_WRONLY))
    (tmp_path / "x").read_text(encoding="utf-8")
    assert written == [str(tmp_path / "x"), str(tmp_path / "y")]


def test_the_server_writes_nothing(written: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    before = DOCK.read_bytes()
    (page,) = answers(HTTPRequest)
    assert page.code == 200
    bench = Session(read_engine(DOCK))
    for asked in (
        {"do": "change", "key": "eccentric_rod.length", "value": "31.6"},
        {"do": "choose", "state": "as found", "side": "right"},
        {"do": "change", "key": "wear.clearance.foot", "value": "0.03"},
        {"do": "save", "file": "/tmp/x"},
        {"do": "back"},
    ):
        bench.ask(json.dumps(asked))
        bench.reply()
    assert written == []
    assert DOCK.read_bytes() == before
