"""The example engine of one cylinder alone, its readings, and what may not be said of it."""

from __future__ import annotations

import html
import re
from pathlib import Path

from linkmotion.files.engine_file import read_engine
from linkmotion.studies.assess import assess
from linkmotion.studies.table import event_rows
from tests.bad_engines.changed import EXAMPLES

NAME = "derived_heavy_goods"
EXAMPLE = EXAMPLES / f"{NAME}.toml"
STATES = ("drawing", "as found", "as repaired")
SHOP = """
[repair."bush the levers"]
what = "bush the pins of both levers"
hours = 12
[repair."bush the levers".middle.wear]
clearance = { "short-arm pin" = 0.1, "2:1 lever pivot" = 0.1 }

[pins."short-arm pin"]
pin = "60 mm"
bush_outside = "80 mm"
"""
"""Options for the shop, to be put behind its file's text."""
_A_SIDE = re.compile(
    r"left sides?\b(?!:)|right sides?\b(?!:)|sides alike|between (the )?sides|both sides\b|the sides\b|middle side|"
    r"left (and|against) right|other side|One side",
    re.IGNORECASE,
)
_OF_NO_ENGINE = re.compile(
    r"trammel, from both sides|\(from both sides|from both sides(?=;|, 0\.1)|on\s+# one side|"
    r"tread \(wheels\.diameter\), left and right|"
    r"one side of (the|their) play|to one side only|come up to from one side|from the one side"
)
"""What is said of play, of dead centres and of wheels, which have two sides on any engine."""


def engine_with_shop(tmp_path: Path) -> Path:
    """The example with its options for the shop, as a file of the user's."""
    file = tmp_path / f"{NAME}.toml"
    file.write_text(EXAMPLE.read_text(encoding="utf-8") + SHOP, encoding="utf-8")
    return file


def readings_beside(tmp_path: Path) -> Path:
    """Its readings as a file beside it."""
    file = tmp_path / "read.toml"
    file.write_text(read_as_found(), encoding="utf-8")
    return file


def read_as_found() -> str:
    """Readings: every lead and cutoff as the state as found has it, but for the back leads: 1 mm more."""
    a = assess(read_engine(EXAMPLE), "as found")
    side = a.sides[0]
    rows = []
    for row in event_rows(a):
        notch, end, way = row["notch"], row["end"], row["direction"]
        place = f'notch = "{notch}", direction = "{way}"'
        rows.append(f'{{ {place}, kind = "cutoff", {end} = "{row["cutoff_percent"]:.2f} %" }},')
        if way == side.driven(side.notches.index(notch))[0]:
            rows.append(f'{{ notch = "{notch}", kind = "lead", {end} = "{row["lead"] + (end == "back"):.2f}" }},')
    head = """[readings]
state = "as found"
unit = "mm"
within = 0.1
within_percent = 0.5
dead_centres = "by trammel"
[middle]
readings = ["""
    return "\n".join([head, *rows, "]", ""])


def true_of_one(text: str) -> str:
    """A text, seen to say nothing of a left or right side, or of what lies between sides."""
    plain = _OF_NO_ENGINE.sub("", " ".join(text.split()))
    found = _A_SIDE.search(plain)
    assert found is None, plain[max(found.start() - 80, 0) : found.end() + 80]
    return text


def seen(page: str) -> str:
    """What a page says: no scripts, no pictures' data, no tags; no list of the trade's words."""
    text = re.sub(r"<(script|style|dl).*?</\1>|data:image[^\"]*", " ", page, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]+>", " ", text))


def written(page: Path) -> str:
    """The same of a page's file."""
    return seen(page.read_text(encoding="utf-8"))
