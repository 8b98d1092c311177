"""The table of printed figures is what the tests hold, and README's sentence on it is the table's."""

from __future__ import annotations

import re
from pathlib import Path

from tests.references.table import PATH, counts, page

README = Path(__file__).parents[1] / "README.md"


def test_the_table_is_the_one_that_the_program_gives() -> None:
    """Made anew by ``python -m tests.references.table``."""
    assert page() == PATH.read_text(encoding="utf-8")


def test_readme_counts_as_the_table_does() -> None:
    text = " ".join(README.read_text(encoding="utf-8").split())
    own = counts()
    told = re.search(r"against (\d+) figures printed in (\d+) works: (\d+) are met, (\d+) are not", text)
    assert told is not None
    names = ("printed figures", "works", "met", "not met, each with its reason")
    assert [int(each) for each in told.groups()] == [own[name] for name in names]
    events, files = own["valve events, leads and openings"], own["through an engine file and a command"]
    assert f"{events} are valve events, leads or openings; {files} went through an engine file" in text
