"""The moving page's size and pace, measured in Chromium: ``python -m tests.benchmarks.page [ENGINE ...]``.

Told for each example: bytes, processor seconds of the command, seconds until ready, frames a second while the wheel
runs, and the same with the processor slowed fourfold. The bars are 1 MB, 1.2 s, 0.5 s, 60 and 30; other work on the
machine steals frames and time, so each is the best of a few.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests.browser.conftest import CHROMIUM, FLAGS

TRIES = 3
FRAMES = """async () => {
    linkmotion.play(true);
    let moved = 0, last = linkmotion.s.angle;
    const began = performance.now();
    await new Promise((done) => {
        const step = () => {
            if (linkmotion.s.angle !== last) { moved++; last = linkmotion.s.angle; }
            if (performance.now() - began < 2000) requestAnimationFrame(step); else done();
        };
        requestAnimationFrame(step);
    });
    linkmotion.play(false);
    return moved / ((performance.now() - began) / 1000);
}"""


def processor_seconds(engine: Path, into: Path) -> float:
    """Processor time of the command, its imports included."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "linkmotion", "page", str(engine), "--into", str(into), "--replace"]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def in_browser(browser: Any, file: Path) -> tuple[float, float, float]:
    """Seconds until ready, frames a second, and frames a second at a quarter of the speed."""
    page = browser.new_context(viewport={"width": 1280, "height": 900}).new_page()
    page.goto(file.as_uri())
    while not page.evaluate("document.documentElement.dataset.ready === 'yes'"):
        page.wait_for_timeout(10)
    ready = page.evaluate("performance.getEntriesByName('ready')[0]?.startTime ?? NaN") / 1000
    frames = page.evaluate(FRAMES)
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 4})
    slowed = page.evaluate(FRAMES)
    page.context.close()
    return ready, frames, slowed


def main() -> None:
    """Measure and tell."""
    from playwright.sync_api import sync_playwright  # of an extra that the other tests do without

    print(f"{'engine':20} {'bytes':>9} {'command s':>9} {'ready s':>8} {'frames/s':>8} {'slowed':>7}")
    with sync_playwright() as own, tempfile.TemporaryDirectory() as folder:
        browser = own.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        for name in sys.argv[1:] or sorted(map(str, Path("examples").glob("*.toml"))):
            engine = Path(name)
            file = Path(folder) / f"{engine.stem}.html"
            took = min(processor_seconds(engine, file) for _ in range(TRIES))
            seen = [in_browser(browser, file) for _ in range(TRIES)]
            ready, frames, slowed = min(s[0] for s in seen), max(s[1] for s in seen), max(s[2] for s in seen)
            size = file.stat().st_size
            print(f"{engine.stem:20} {size:9} {took:9.2f} {ready:8.2f} {frames:8.0f} {slowed:7.0f}")


if __name__ == "__main__":
    main()
