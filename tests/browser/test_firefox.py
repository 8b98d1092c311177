"""Every page and sheet in Debian's Firefox: it opens, its script runs, nothing is complained of, no network asked."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from linkmotion.files.engine_file import read_engine
from linkmotion.studies.page_data import page_data
from tests.browser.firefox import BINARY, Firefox, running
from tests.desk import made_pages
from tests.gears_at_hand import EXAMPLES

SIZES = {"desktop": (1280, 900), "tablet": (820, 1180), "phone": (390, 844)}


@pytest.fixture(scope="module")
def firefox(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Firefox]:
    pytest.importorskip("websockets.sync.client", reason="websockets is not installed")
    if not BINARY.exists():
        pytest.skip("Firefox is not installed")
    with running(tmp_path_factory.mktemp("firefox")) as own:
        yield own
