"""A bench on a folder of copies of the examples: asked over the wire, or its files worked on without it."""

from __future__ import annotations

import http.client
import json
import re
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from linkmotion.bench.folder_of_engines import FolderOfEngines
from linkmotion.bench.serving import bound

EXAMPLES = Path(__file__).parents[1] / "examples"
DOCK, DONKEY = "dock_shunter", "donkey_eccentric"
ROD = "eccentric_rod.length"


def laid_out(folder: Path, *names: str) -> FolderOfEngines:
    """A folder with copies of some examples."""
    folder.mkdir(exist_ok=True)
    for name in names or (DOCK, DONKEY):
        shutil.copy(EXAMPLES / f"{name}.toml", folder)
    return FolderOfEngines(folder)


@dataclass(frozen=True)
class Answer:
    """What was answered."""

    code: int
    headers: dict[str, str]
    body: bytes

    @property
    def read(self) -> Any:
        return json.loads(self.body)

    @property
    def text(self) -> str:
        return self.body.decode()


@dataclass(frozen=True)
class Wire:
    """A bench that is asked over the wire."""

    address: str
    folder: FolderOfEngines

    def ask(self, path: str = "", body: Any = None, method: str = "", **headers: str) -> Answer:
        """Ask for a path under the bench's own; what is to be sent goes as JSON by POST."""
        split = urlsplit(self.address)
        line = http.client.HTTPConnection(str(split.hostname), split.port, timeout=120)
        sent = None if body is None else body if isinstance(body, bytes) else json.dumps(body).encode()
        own = {} if body is None else {"Content-Type": "application/json"}
        own |= {name.replace("_", "-"): value for name, value in headers.items()}
        line.request(method or ("GET" if body is None else "POST"), split.path + path, sent, own)
        reply = line.getresponse()
        found = Answer(reply.status, {k.lower(): v for k, v in reply.headers.items()}, reply.read())
        line.close()
        return found

    def seen(self, name: str = DOCK) -> int:
        """The number of the last change, as a window has it."""
        found = re.search(r'data-seen="(\d+)"', self.ask(f"e/{name}/side").text)
        assert found is not None
        return int(found[1])

    def enter(self, value: str, seen: int, name: str = ROD, side: str = "left", state: str = "as found") -> Answer:
        """Enter a figure of the dock shunter."""
        wish = {"do": "figure", "seen": seen, "state": state, "side": side, "name": name, "value": value}
        return self.ask(f"e/{DOCK}/change", wish)


@contextmanager
def on_the_wire(folder: FolderOfEngines) -> Iterator[Wire]:
    """A bench in a thread of this process."""
    server, own, address = bound(folder, 0)
    running = threading.Thread(target=server.run, kwargs={"sockets": [own]})
    running.start()
    try:
        yield Wire(address, folder)
    finally:
        server.should_exit = True
        running.join(20)
        own.close()
    assert not running.is_alive()
