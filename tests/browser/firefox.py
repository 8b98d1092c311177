"""Debian's Firefox as it is, led by WebDriver BiDi (W3C, Working Draft), of which this speaks the few words needed."""

from __future__ import annotations

import json
import re
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

BINARY = Path("/usr/bin/firefox-esr")
_PATIENCE = 60.0  # seconds: a first start makes a profile
_LISTENS = re.compile(r"WebDriver BiDi listening on (ws://\S+)")
_QUIET = {  # nothing is asked of a network by the browser itself
    "app.normandy.enabled": False,
    "app.update.auto": False,
    "browser.safebrowsing.malware.enabled": False,
    "browser.safebrowsing.phishing.enabled": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "toolkit.telemetry.reportingpolicy.firstRun": False,
}


class Firefox:
    """A running Firefox with one window: commands go out one by one, what is told meanwhile is kept."""

    def __init__(self, socket: Any) -> None:
        self._socket, self._sent = socket, 0
        self.told: list[dict[str, Any]] = []
        self.version = self.ask("session.new", capabilities={})["capabilities"]["browserVersion"]
        self.ask("session.subscribe", events=["log.entryAdded", "network.beforeRequestSent"])
        self.window = self.ask("browsingContext.getTree")["contexts"][0]["context"]

    def ask(self, method: str, **how: Any) -> Any:
        """Send a command and wait for its answer."""
        self._sent += 1
        self._socket.send(json.dumps({"id": self._sent, "method": method, "params": how}))
        while True:
            answer = json.loads(self._socket.recv(timeout=_PATIENCE))
            if answer.get("type") == "event":
                self.told.append(answer)
            elif answer.get("id") == self._sent:
                if answer["type"] != "success":
                    raise AssertionError(f"{method}: {answer}")
                return answer["result"]

    def open(self, address: str, width: int = 1280, height: int = 900) -> None:
        """Open a page and wait until it is loaded."""
        self.told.clear()
        self.ask("browsingContext.setViewport", context=self.window, viewport={"width": width, "height": height})
        self.ask("browsingContext.navigate", context=self.window, url=address, wait="complete")

    def value(self, expression: str) -> Any:
        """What an expression of the page comes to: a number, text or truth value."""
        found = self.ask("script.evaluate", expression=expression, target={"context": self.window}, awaitPromise=True)
        if found["type"] != "success":
            raise AssertionError(f"{expression}: {found['exceptionDetails']['text']}")
        return found["result"].get("value")

    def until(self, expression: str) -> None:
        """Wait until an expression of the page is true."""
        end = time.monotonic() + _PATIENCE
        while not self.value(f"Boolean({expression})"):
            assert time.monotonic() < end, f"never true: {expression}"
            time.sleep(0.02)

    @property
    def errors(self) -> list[str]:
        """What the page's scripts complained of."""
        logged = [each["params"] for each in self.told if each["method"] == "log.entryAdded"]
        return [str(entry.get("text")) for entry in logged if entry["level"] in ("error", "warn")]

    @property
    def requests(self) -> list[str]:
        """What the page asked for beside files and what it holds itself."""
        asked = [each["params"]["request"]["url"] for each in self.told if each["method"].startswith("network.")]
        return [url for url in asked if not url.startswith(("file:", "blob:", "data:", "about:"))]


@contextmanager
def running(profile: Path) -> Iterator[Firefox]:
    """A headless Firefox with a profile of its own, ended by its own process when done."""
    from websockets.sync.client import connect

    settings = (f"user_pref({json.dumps(name)}, {json.dumps(value)});" for name, value in _QUIET.items())
    (profile / "user.js").write_text("\n".join(settings), "utf-8")
    said = profile / "said.txt"
    command = [str(BINARY), "--headless", "--no-remote", "--remote-debugging-port=0", "--profile", str(profile)]
    with said.open("wb") as out:
        process = subprocess.Popen(command, stdout=out, stderr=subprocess.STDOUT)
    try:
        with connect(f"{_address(process, said)}/session", max_size=None, open_timeout=_PATIENCE) as socket:
            yield Firefox(socket)
    finally:
        process.terminate()
        process.wait(30)


def _address(process: subprocess.Popen[bytes], said: Path) -> str:
    """Where it listens, as it says itself."""
    end = time.monotonic() + _PATIENCE
    while (found := _LISTENS.search(said.read_text("utf-8", "replace"))) is None:
        assert process.poll() is None, f"Firefox ended: {said.read_text('utf-8', 'replace')}"
        assert time.monotonic() < end, "Firefox does not say where it listens"
        time.sleep(0.05)
    return found[1]
