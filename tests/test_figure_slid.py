"""A dimension slid on the bench: what would follow is what follows once it is entered; nothing is written before."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import urlencode

import pytest

from tests.bench_at import DOCK, DONKEY, ROD, Wire, laid_out, on_the_wire

AT = {"state": "as found", "side": "left", "notch": "full forward", "angle": "40"}


def now(follows: str) -> list[str]:
    """The verdict, and what each lead and cutoff is now."""
    return re.findall(r'class="answer[^>]*>([^<]*)<', follows) + re.findall(r"</th><td>([^<]*)<", follows)


def slid(bench: Wire, engine: str, **asked: str) -> dict[str, str]:
    answer = bench.ask(f"e/{engine}/tried?{urlencode(asked)}")
    assert answer.code == 200, answer.text
    return dict(answer.read)


@pytest.mark.parametrize(("engine", "name", "at"), [
    (DOCK, ROD, AT), (DOCK, "return_crank.angle", AT | {"side": "both"}),
    (DONKEY, "eccentric.throw", {"state": "drawing", "side": "left", "notch": "forward", "angle": "10"}),
])  # fmt: skip
def test_what_would_follow_is_what_follows_once_it_is_entered(
    tmp_path: Path, engine: str, name: str, at: dict[str, str]
) -> None:
    with on_the_wire(laid_out(tmp_path)) as bench:
        file = tmp_path / f"{engine}.toml"
        before = file.read_bytes()
        still, tried = (slid(bench, engine, **at, name=name, share=share) for share in ("0", "0.1"))
        assert still["value"] == ""
        assert file.read_bytes() == before
        assert now(tried["follows"]) != now(still["follows"])
        assert tried["picture"] != still["picture"]
        entered = {"do": "figure", "seen": 0, "name": name, "value": tried["value"], **at}
        told = bench.ask(f"e/{engine}/change", entered).read
        assert told["ok"] is True
        assert now(told["follows"]) == now(tried["follows"])
        assert slid(bench, engine, **at, name=name, share="0")["picture"] == tried["picture"]


def test_what_cannot_be_slid_is_told(tmp_path: Path) -> None:
    with on_the_wire(laid_out(tmp_path)) as bench:
        for name, share in (("engine.name", "0.5"), ("", "0.5"), (ROD, "nan"), (ROD, "some"), ("wear.bow.x", "1")):
            answer = bench.ask(f"e/{DOCK}/tried?{urlencode({**AT, 'name': name, 'share': share})}")
            assert answer.code == 422, (name, share)
            assert answer.read["said"]
        assert sorted(own.name for own in tmp_path.iterdir()) == [f"{DOCK}.toml", f"{DONKEY}.toml"]
