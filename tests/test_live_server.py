"""The live page's server: what it answers, that it answers only on this computer, and that it writes nothing."""

from __future__ import annotations

import http.client
import json
import os
import re
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from linkmotion.files.engine_file import read_engine
from linkmotion.live.server import LARGEST, WINDOWS, bound
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


@dataclass(frozen=True)
class Answer:
    """What the server answered."""

    code: int
    headers: dict[str, str]
    body: bytes


@dataclass(frozen=True)
class Served:
    """A server on this computer, asked."""

    address: str

    def ask(self, path: str = "", body: str | None = None, method: str = "", **headers: str) -> Answer:
        """Ask for a path beside the page's own; with a body by POST."""
        split = urlsplit(self.address)
        assert split.hostname is not None
        line = http.client.HTTPConnection(split.hostname, split.port, timeout=20)
        told = None if body is None else body.encode()
        line.request(method or ("GET" if body is None else "POST"), split.path + path, told, headers)
        reply = line.getresponse()
        found = Answer(reply.status, {k.lower(): v for k, v in reply.headers.items()}, reply.read())
        line.close()
        return found

    def window(self) -> str:
        """A window newly opened."""
        found = re.search(rb'"window":"([^"]+)"', self.ask().body)
        assert found is not None
        return found[1].decode()


@contextmanager
def serving() -> Iterator[Served]:
    server, own, address = bound(read_engine(DOCK), "drawing", 0, "dock")
    running = threading.Thread(target=server.run, kwargs={"sockets": [own]})
    running.start()
    try:
        yield Served(address)
    finally:
        server.should_exit = True
        running.join(20)
        own.close()
    assert not running.is_alive()


@pytest.fixture(scope="module")
def served() -> Iterator[Served]:
    with serving() as own:
        yield own


def test_every_answer_bears_the_policy_and_none_may_be_framed(served: Served) -> None:
    window = served.window()
    answers = {
        200: served.ask(),
        404: served.ask("one/two"),
        405: served.ask(method="DELETE"),
        410: served.ask("none-such", "{}"),
        403: served.ask(Host="elsewhere.example"),
        413: served.ask(window, " " * (LARGEST + 1)),
    }
    for code, answer in answers.items():
        assert answer.code == code
        policy = answer.headers["content-security-policy"]
        assert "frame-ancestors 'none'" in policy
        assert "default-src 'none'" in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cache-control"] == "no-store"
        assert "server" not in answer.headers
        assert b"Traceback" not in answer.body
    policy = answers[200].headers["content-security-policy"]
    assert "script-src 'sha256-" in policy
    assert "'unsafe-inline'" not in policy.split("style-src")[0]
    assert b"frame-ancestors" not in answers[200].body, "a browser takes it from the head of the answer alone"


def test_only_who_knows_the_address_is_answered(served: Served) -> None:
    root = Served(re.sub(r"[^/]+/$", "", served.address))
    assert len(urlsplit(served.address).path) > 15
    for path in ("", "index.html", "static/", "ws", "0123456789abcdef/"):
        assert root.ask(path).code == 404
    assert served.ask("elsewhere", "{}", Origin="http://elsewhere.example").code == 403
    assert served.ask(served.window(), "{}", Origin="null").code == 403


def test_windows_do_not_see_each_other_and_the_longest_unasked_is_let_go(served: Served) -> None:
    first = served.window()
    change = {"do": "change", "key": "eccentric_rod.length", "value": "31.6", "number": 7}
    told = json.loads(served.ask(first, json.dumps(change)).body)
    assert told["bench"]["number"] == 7
    assert told["bench"]["changed"] is True
    others = [served.window() for _ in range(WINDOWS - 1)]
    assert json.loads(served.ask(others[0], "{}").body)["bench"]["changed"] is False
    assert served.ask(first, "{}").code == 200
    served.window()
    assert served.ask(first, "{}").code == 200
    assert served.ask(others[1], "{}").code == 410


def test_a_weighing_is_let_be_for_a_wish_and_else_tells_each_difference(served: Served) -> None:
    window, answers = served.window(), []
    choose = json.dumps({"do": "choose", "state": "as found", "side": "both"})
    served.ask(window, choose)
    weighing = threading.Thread(target=lambda: answers.append(served.ask(window, "weigh")))
    weighing.start()
    time.sleep(0.05)  # it takes about a second
    assert served.ask(window, choose).code == 200
    weighing.join()
    assert answers[0].code == 204
    told = json.loads(served.ask(window, "weigh").body)
    assert told["itemised"] is True
    assert len(next(c for c in told["cases"] if c["state"] == "as found")["items"]) > 5


def test_a_fault_is_told_to_the_browser_without_a_traceback(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_self: Session, _text: str) -> int:
        raise RuntimeError("/home/of/the/user/secret.py")

    window = served.window()
    monkeypatch.setattr(Session, "ask", broken)
    answer = served.ask(window, "{}")
    assert answer.code == 500
    assert b"load the page anew" in answer.body
    assert b"secret" not in answer.body
    assert answer.headers["content-security-policy"]


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
    with serving() as own:
        assert own.ask(own.window(), '{"do": "back"}').code == 200
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
