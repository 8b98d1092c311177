"""The bench's server: who is answered, what is opened, and that whatever is sent to it is answered cleanly."""

from __future__ import annotations

import gc
import json
import random
import re
import shutil
import socket
import tracemalloc
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

import pytest

from linkmotion.bench.answering import LARGEST
from linkmotion.bench.folder_of_engines import EARLIER
from linkmotion.bench.screen import screens
from linkmotion.bench.serving import bound
from linkmotion.files.engine_file import read_engine
from tests.bench_at import DOCK, DONKEY, EXAMPLES, ROD, Wire, laid_out, on_the_wire


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Wire]:
    with on_the_wire(laid_out(tmp_path / "engines")) as own:
        yield own


def test_every_screen_answers_for_every_state_with_the_policy_at_its_head(bench: Wire) -> None:
    assert list(screens())[:3] == ["side", "check", "wear"]
    for name in screens():
        for state in ("drawing", "as found", "as repaired", "none such"):
            answer = bench.ask(f"e/{DOCK}/{name}?state={quote(state)}&side=both&notch=mid")
            assert answer.code == 200, answer.text
            assert f"<h1>{screens()[name].question}" in answer.text
            policy = answer.headers["content-security-policy"]
            assert "default-src 'none'" in policy
            assert "frame-ancestors 'none'" in policy
            assert "unsafe" not in policy
            assert not re.search(r"(https?:)?//(?!127\.0\.0\.1)\w", re.sub(r"data:[^\"]*", "", answer.text))


def test_an_entry_is_answered_with_what_follows(bench: Wire) -> None:
    told = bench.enter("31 19/32 in", bench.seen()).read
    assert told["ok"] is True
    assert told["figure"]["own"] == "31 19/32 in"
    assert "out of target" in told["follows"]
    assert told["undo"] is True
    found = read_engine(bench.folder.path / f"{DOCK}.toml").gear("as found", "left")
    assert found.eccentric_rod.length == pytest.approx((31 + 19 / 32) * 25.4, abs=1e-9)  # type: ignore[attr-defined]


def test_only_under_its_own_name_and_from_its_own_pages(bench: Wire) -> None:
    for host in ("elsewhere.example", "127.0.0.1", "127.0.0.1:1", "", "localhost"):
        assert bench.ask(Host=host).code == 403
    seen = bench.seen()
    for origin in ("http://elsewhere.example", "null", "https://127.0.0.1", "http://127.0.0.1:1", "file://"):
        assert bench.ask(f"e/{DOCK}/change", {"do": "undo", "seen": seen}, Origin=origin).code == 403
    own = f"http://{urlsplit(bench.address).netloc}"
    assert bench.ask(f"e/{DOCK}/change", {"do": "undo", "seen": seen}, Origin=own).code == 200
    root = Wire(re.sub(r"[^/]+/$", "", bench.address), bench.folder)
    for path in ("", "bench.css", "x/", f"e/{DOCK}/side", "../", "0" * 22 + "/"):
        assert root.ask(path).code == 404
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""):
        answer = bench.ask(f"e/{DOCK}/change", {"do": "undo", "seen": seen}, Content_Type=kind)
        assert answer.code == 415, "a form of another page can send these"


OUTSIDE = [
    "../secret", "..%2fsecret", "%2e%2e/secret", "..%5csecret", "secret", "linked", "%2fetc%2fpasswd", "....//secret",
    "secret%00", "%00", "./linked", "linked.toml", "%c0%ae%c0%ae/secret", "earlier/dock_shunter", ".", "..", "~", "*",
    "..%252fsecret", "earlier%252fdock_shunter", "away%252fsecret", "%252e%252e%252fsecret",
    "shed%252f..%252f..%252fsecret",
]  # fmt: skip


@pytest.mark.parametrize("path", OUTSIDE)
def test_nothing_outside_the_folder_is_served_or_written(bench: Wire, path: str) -> None:
    outside = bench.folder.path.parent
    secret = outside / "secret.toml"
    secret.write_text((bench.folder.path / f"{DONKEY}.toml").read_text("utf-8").replace("Brinegate", "SECRET"), "utf-8")
    (bench.folder.path / "linked.toml").symlink_to(secret)
    (bench.folder.path / "away").symlink_to(outside)
    shutil.copytree(EXAMPLES / "winkle", bench.folder.path / "shed")
    before = {own: own.read_bytes() for own in outside.rglob("*") if own.is_file()}
    for rest in ("", "/", "/side", "/picture", "/seen", "/check"):
        answer = bench.ask(f"e/{path}{rest}")
        assert answer.code in (404, 400), answer.text
        assert b"SECRET" not in answer.body
    wish = {"do": "figure", "seen": 0, "state": "drawing", "side": "both", "name": ROD, "value": "30 in"}
    assert bench.ask(f"e/{path}/change", wish).code in (404, 400, 405)
    assert "SECRET" not in bench.ask().text
    assert {own: own.read_bytes() for own in outside.rglob("*") if own.is_file()} == before


PLAIN = "{{ 7 * 7 }}"
HOSTILE = [
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "' onload='x", PLAIN, "</title><b>", "&lt;b&gt;",
]  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_text_from_files_is_text(bench: Wire, name: str) -> None:
    text = (bench.folder.path / f"{DOCK}.toml").read_text("utf-8")
    plain = json.dumps(name, ensure_ascii=False)
    text = text.replace('[state."as found"', f"[state.{plain}").replace('based_on = "as found"', f"based_on = {plain}")
    text = text.replace('"forward 65"', plain).replace('name = "', f"name = {plain[:-1]}", 1)
    (bench.folder.path / f"{DOCK}.toml").write_text(text, "utf-8")
    state = quote(name, safe="")
    for path in ("", *(f"e/{DOCK}/{own}?state={state}&notch={state}" for own in ("side", "check", "wear", "picture"))):
        answer = bench.ask(path)
        assert answer.code == 200
        assert name == PLAIN or name not in answer.text, "signs of HTML are escaped"
        assert name != PLAIN or path == "" or PLAIN in answer.text, "what a template would reckon is let stand"
    told = bench.enter("31.6", bench.seen(), state=name)
    assert told.read["ok"] is True
    assert name == PLAIN or name not in told.read["follows"]
    assert bench.ask(f"e/{DOCK}/history").code == 200


def test_engines_in_folders_of_their_own_are_on_the_first_page_and_worked_on_there(bench: Wire) -> None:
    shed = bench.folder.path / 'No. 3 "Owl" 100 %'
    shutil.copytree(EXAMPLES / "winkle", shed)
    found = re.findall(r'<a href="[^"]*/(e/[^"]+/)"><strong>([^<]+)</strong>\s*<span>([^<]+)</span>', bench.ask().text)
    assert [file.split(", ")[-1] for *_rest, file in found] == [
        f"{DOCK}.toml", f"{DONKEY}.toml", "No. 3 &#34;Owl&#34; 100 %/winkle.toml"
    ]  # fmt: skip
    place = found[-1][0]
    assert "Winkle" in found[-1][1]
    page = bench.ask(f"{place}read?side=left")
    assert page.code == 200
    assert "readings.toml" in page.text, "what lies beside it is its own"
    wish = {"do": "figure", "seen": 0, "state": "as found", "side": "left", "name": ROD, "value": "31.6 in"}
    assert bench.ask(f"{place}change", wish).read["ok"] is True
    assert (shed / EARLIER / "winkle.changes").exists()
    assert not (bench.folder.path / EARLIER).exists()
    assert bench.ask(f"{place}photograph?name=photos/fork-stamp.png").code == 200
    assert len(bench.folder.listed()) == 3, "what is kept of earlier days is no other engine"


def test_a_file_that_cannot_be_read_is_told_and_can_be_looked_at(bench: Wire) -> None:
    file = bench.folder.path / f"{DOCK}.toml"
    file.write_text(file.read_text("utf-8").replace("[valve]", "[valve", 1), "utf-8")
    answer = bench.ask(f"e/{DOCK}/side")
    assert answer.code == 200
    assert "this line cannot be read" in answer.text
    assert "&gt;" in answer.text, "the line is shown with those about it"
    assert f"/e/{DOCK}/" in bench.ask().text, "it is among the engines"
    assert bench.ask(f"e/{DOCK}/picture").code == 404
    assert bench.enter("31.6", 0).code == 422


def test_a_wish_that_is_too_large_or_none_is_refused(bench: Wire) -> None:
    path = f"e/{DOCK}/change"
    assert bench.ask(path, b" " * (LARGEST + 1)).code == 413
    assert bench.ask(path, b'"' + b"a" * (LARGEST - 2) + b'"').code == 422
    for body in (b"", b"{", b"\xff\xfe", b"[" * 100_000, b"nul"):
        assert bench.ask(path, body).code == 400
    assert bench.ask(path, {"do": "figure", "seen": 0, "state": "as found", "side": "left", "name": ROD,
                            "value": "1" * 401}).code == 422  # fmt: skip
    assert not (bench.folder.path / EARLIER).exists()


def wishes(rng: random.Random) -> Iterator[tuple[str, bytes, str]]:
    """Path, body and method of requests made wrong at random, some of them nearly right."""
    values: list[Any] = [None, True, -1, 2**70, 1e308, "", "x" * 500, ROD, "as found", "left", [], {}, [[[]]], "\0"]
    values += ["€", "undo"]
    keys = [
        "do",
        "seen",
        "state",
        "side",
        "name",
        "value",
        "number",
        "notch",
        "based_on",
        "word",
        "engine",
        "file",
        "gear",
    ]
    dos = ["figure", "state", "undo", "redo", "back", "fill", "save", "delete", ""]
    paths = ["change", "stop", "seen", "far", "picture", "side", "check", "history", "side/answer", "answer", "no", ""]
    while True:
        wish = {key: rng.choice(values) for key in rng.sample(keys, rng.randrange(len(keys)))}
        wish["do"] = rng.choice([*dos, *values])
        if rng.random() < 0.5:
            wish["seen"] = rng.choice([0, 1, -1, 10**30])
        body = json.dumps(wish).encode()
        if rng.random() < 0.3:
            at = rng.randrange(len(body))
            body = (
                body[:at] + bytes(rng.randrange(256) for _ in range(rng.randrange(4))) + body[at + rng.randrange(5) :]
            )
        query = "&".join(f"{rng.choice(keys)}={quote(str(rng.choice(values)))}" for _ in range(rng.randrange(3)))
        target = rng.choice([*(f"e/{DOCK}/{own}" for own in paths), "new", "example2", "e/x/change", "", "%ff%fe"])
        yield (
            f"{target}?{query}&angle={quote(str(rng.choice(values)))}",
            body,
            rng.choice(["GET", "POST", "POST", "PUT"]),
        )


def test_a_fault_of_the_program_is_told_without_its_words(bench: Wire, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_folder: object) -> None:
        raise RuntimeError("/home/of/the/user/secret.py")

    monkeypatch.setattr("linkmotion.bench.folder_of_engines.FolderOfEngines.listed", broken)
    answer = bench.ask()
    assert answer.code == 500
    assert answer.text == "this could not be done; load the page anew"
    assert "default-src 'none'" in answer.headers["content-security-policy"]


def test_it_listens_on_this_computer_alone(tmp_path: Path) -> None:
    _server, own, address = bound(laid_out(tmp_path), 0)
    with own:
        assert own.getsockname() == ("127.0.0.1", urlsplit(address).port)
        assert len(urlsplit(address).path) > 20, "a word that nobody can guess"


@pytest.mark.parametrize("seed", [1])
def test_a_thousand_requests_made_wrong_are_answered_cleanly(bench: Wire, seed: int) -> None:
    files = {own: own.read_bytes() for own in bench.folder.path.iterdir()}
    source, codes = wishes(random.Random(seed)), set()
    for _ in range(1000):
        path, body, method = next(source)
        answer = bench.ask(path, body, method) if method != "GET" else bench.ask(path)
        assert answer.code < 500, (path, body, answer.text)
        assert b"Traceback" not in answer.body
        codes.add(answer.code)
    assert {200, 400, 404, 405, 422} <= codes
    now = {own: own.read_bytes() for own in bench.folder.path.iterdir() if own.is_file()}
    assert now == files, "no engine was changed, and none begun"


def test_what_is_no_request_at_all_is_survived(bench: Wire) -> None:
    place, rng = urlsplit(bench.address), random.Random(2)
    for sent in (b"\0" * 100, b"GET\r\n\r\n", b"POST / HTTP/9\r\n\r\n", rng.randbytes(2000), b"GET " + b"/a" * 40_000):
        with socket.create_connection((place.hostname, place.port), timeout=5) as line:
            line.sendall(sent)
            line.settimeout(0.5)
            with suppress(OSError):
                line.recv(100)
    assert bench.ask().code == 200


def test_nothing_grows_with_changes(tmp_path: Path) -> None:
    from linkmotion.bench.engine_at_work import EngineAtWork
    from linkmotion.bench.engine_pages import EnginePages
    from linkmotion.bench.entering import Wish, carry_out

    work = EngineAtWork(laid_out(tmp_path, DONKEY), DONKEY)
    pages, at = EnginePages(work, "/x/"), {"state": "drawing", "side": "left", "notch": "fixed"}

    def change(times: int) -> None:
        for number in range(times):
            name, value = "eccentric_rod.length", f"{22 + number % 7 / 100:.2f} in"
            carry_out(work, Wish("figure", work.kept.version, name=name, value=value))
            pages.after(at, name)

    change(30)
    tracemalloc.start()
    gc.collect()
    before = tracemalloc.get_traced_memory()[0]
    change(120)
    gc.collect()
    each = (tracemalloc.get_traced_memory()[0] - before) / 120
    tracemalloc.stop()
    assert each < 3000, "a change at hand is a line of words; of them a fixed number is kept"
