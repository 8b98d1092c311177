"""The bench against its bars: ``python -m tests.benchmarks.bench [speed | growth | kills | clients]``.

speed: an entry's share of the processor, and the whole of its answer, for every gear; the first page. growth: memory
and the journal over 5,000 changes. kills: killed at 60 random moments for each kind of thing that is typed. clients: 20
windows at once.
"""

from __future__ import annotations

import gc
import os
import resource
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import IO

from linkmotion.bench.engine_at_work import EngineAtWork
from linkmotion.bench.engine_pages import EnginePages
from linkmotion.bench.entering import Wish, carry_out
from linkmotion.bench.figures_of_parts import parts
from linkmotion.bench.folder_of_engines import EARLIER
from linkmotion.bench.screen import screens
from linkmotion.gears.sensitivity import numbers
from tests.bench_at import DOCK, DONKEY, EXAMPLES, laid_out, on_the_wire
from tests.killed import KINDS, enter_for_ever, killed_at_random, laid_out_for

LENGTHS = ("length", "forward")  # keys of rods
SHARE, WHOLE, FIRST = 80, 150, 1000  # ms


def speed(folder: Path) -> None:
    """Ten entries on every example, in its last state."""
    own = laid_out(folder, *sorted(path.stem for path in EXAMPLES.glob("*.toml")))
    for listed in own.listed():
        work = EngineAtWork(own, listed.name)
        pages, state = EnginePages(work, "/x/"), work.must().state_names[-1]
        side = work.must().sides[0]
        began = time.perf_counter()
        pages.screen(screens()["side"], {"state": state})
        first = 1e3 * (time.perf_counter() - began)
        figure = next(f for p in parts(work, state, side) for f in p.figures if f.place[-1] in LENGTHS)
        value = numbers(work.must().gear(state, side))[figure.place[0], ".".join(figure.place[1:])]
        share, whole = [], []
        for number in range(10):
            cpu, wall = time.process_time(), time.perf_counter()
            wish = Wish("figure", work.kept.version, state, side, figure.name, f"{value + 0.01 * number + 0.05:.3f} mm")
            carry_out(work, wish)
            pages.after({"state": state, "side": side, "notch": ""}, figure.name)
            share.append(1e3 * (time.process_time() - cpu))
            whole.append(1e3 * (time.perf_counter() - wall))
        print(
            f"{listed.name:20} {state:12} processor {median(share):4.0f} ms (most {max(share):.0f}; bar {SHARE}), "
            f"whole {median(whole):4.0f} ms (bar {WHOLE}), first page {first:5.0f} ms (bar {FIRST})"
        )


def growth(folder: Path) -> None:
    """5,000 changes of one file."""
    work = EngineAtWork(laid_out(folder, DONKEY), DONKEY)
    pages = EnginePages(work, "/x/")
    for number in range(5001):
        value = f"{22 + number % 97 / 1000:.3f} in"
        carry_out(work, Wish("figure", work.kept.version, name="eccentric_rod.length", value=value))
        if number % 10 == 0:
            pages.after({"state": "drawing", "side": "left", "notch": "fixed"}, "eccentric_rod.length")
        if number % 1000 == 0:
            gc.collect()
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            journal = (folder / EARLIER / f"{DONKEY}.changes").stat().st_size / 1e6
            print(f"{number:5} changes: {memory:.0f} MB at most, journal {journal:.2f} MB on the disk")
    began = time.perf_counter()
    EngineAtWork(laid_out(folder, DOCK), DONKEY)
    print(f"opened again in {1e3 * (time.perf_counter() - began):.0f} ms")


class Forked:
    """A copy of this process that enters figures: begun at once, since nothing has to be loaded."""

    def __init__(self, name: str, folder: Path, last: int) -> None:
        read, write = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            with os.fdopen(write, "w") as out:
                enter_for_ever(name, folder, last, out)
        os.close(write)
        self.stdout: IO[bytes] = os.fdopen(read, "rb")

    def __enter__(self) -> Forked:
        return self

    def __exit__(self, *_why: object) -> None:
        self.stdout.close()
        os.waitpid(self.pid, 0)

    def send_signal(self, number: int) -> None:
        """Send it a signal."""
        os.kill(self.pid, number)


def kills(folder: Path, times: int = 60) -> None:
    """Killed at random moments while entering, for every kind of thing that is typed."""
    for name, kind in KINDS.items():
        laid_out_for(kind, folder / name)
        found = killed_at_random(name, folder / name, times, seed=11, begun=Forked)
        lost = [(answered, kept) for answered, kept in found if kept < answered]
        told = f"{len(found)} kills after {found[-1][1]} entries"
        print(f"{name:10} {told}: {len(lost)} lost something that was answered {lost}")


def clients(folder: Path) -> None:
    """20 windows that enter and look at once."""
    with on_the_wire(laid_out(folder)) as wire:
        codes: list[int] = []

        def one(number: int) -> None:
            for step in range(10):
                codes.append(wire.enter(f"31.{number:02d}{step} in", wire.seen()).code)
                codes.append(wire.ask(f"e/{DOCK}/picture?angle={10 * step}").code)

        began = time.perf_counter()
        running = [threading.Thread(target=one, args=(number,)) for number in range(20)]
        for thread in running:
            thread.start()
        for thread in running:
            thread.join()
        counts = {code: codes.count(code) for code in sorted(set(codes))}
        print(f"{len(codes)} answers by code {counts} in {time.perf_counter() - began:.0f} s")


STUDIES: dict[str, Callable[[Path], None]] = {"speed": speed, "growth": growth, "kills": kills, "clients": clients}

if __name__ == "__main__":
    for study in sys.argv[1:] or list(STUDIES):
        with tempfile.TemporaryDirectory() as place:
            STUDIES[study](Path(place))
