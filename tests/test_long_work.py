"""Long work on the bench: a page that waits, how far it is, stopping it at work or while it waits its turn."""

from __future__ import annotations

import html
import re
import threading
import time
from collections.abc import Iterator

import pytest

from tests.bench_at import DOCK, Answer, Wire, laid_out, on_the_wire

HOLD = f"e/{DOCK}/hold/answer?notch=mid&seek=loosest"


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Wire]:
    with on_the_wire(laid_out(tmp_path_factory.mktemp("engines"), DOCK)) as own:
        yield own


class Begun(threading.Thread):
    """Something asked for under a word, in a thread of its own."""

    def __init__(self, bench: Wire, path: str, word: str) -> None:
        super().__init__()
        self.bench, self.path, self.word = bench, f"{path}&word={word}", word
        self.answer: Answer | None = None
        self.start()

    def run(self) -> None:
        self.answer = self.bench.ask(self.path)

    def in_hand(self) -> None:
        """Wait until the bench knows it."""
        while self.far()["done"] is None:
            time.sleep(0.01)

    def far(self) -> dict[str, int | None]:
        told: dict[str, int | None] = self.bench.ask(f"far?word={self.word}").read
        return told

    def stopped(self) -> None:
        assert self.bench.ask("stop", {"word": self.word}).code == 200
        self.join(20)
        assert self.answer is not None
        assert (self.answer.code, self.answer.text) == (409, "Stopped. Load the page anew to ask again.")
        assert self.far() == {"done": None, "total": None}


def test_a_study_tells_how_far_it_is_and_stops_at_work_and_while_it_waits(bench: Wire) -> None:
    first = Begun(bench, HOLD, "first")
    first.in_hand()
    seen: set[tuple[int | None, int | None]] = set()
    while not any(total for _done, total in seen):
        own = first.far()
        seen.add((own["done"], own["total"]))
    second = Begun(bench, HOLD, "second")
    second.in_hand()
    assert second.far()["total"] is None, "it waits for the first"
    second.stopped()
    assert first.is_alive()
    first.stopped()


def test_what_is_opened_waits_on_a_page_that_gives_way_to_it_once(bench: Wire) -> None:
    waits = bench.ask(f"e/{DOCK}/sheet/report?state=as+found&wait=yes")
    assert "<h1>Report</h1>" in waits.text
    assert "script-src 'self'" in waits.headers["content-security-policy"]
    later = re.search(r'data-later="([^"]*)" data-opens="yes"', waits.text)
    assert later is not None
    path = f"e/{DOCK}/sheet/report{html.unescape(later[1])}"
    assert "wait" not in path
    made, again = bench.ask(path), bench.ask(path)
    assert made.code == 200
    assert again.body == made.body
    assert again.headers["content-security-policy"] == made.headers["content-security-policy"]


def test_the_moving_page_can_be_stopped_too(bench: Wire) -> None:
    moving = Begun(bench, f"e/{DOCK}/moving?", "moving")
    moving.in_hand()
    moving.stopped()
