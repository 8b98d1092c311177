"""Hypothesis draws the same cases every time, so that what passes here passes in CI; commands have a wide terminal."""

from __future__ import annotations

import gc
import signal
import threading
from functools import cache
from typing import Any

import pytest
import typer.main
import typer.testing
from hypothesis import HealthCheck, settings
from matplotlib import rcParams
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextToPath

from tests.bad_engines.command import Command

settings.register_profile(
    "repeatable", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("repeatable")

vars(typer.testing)["_get_command"] = cache(typer.main.get_command)  # a runner makes them all at each call: 40 ms

_measure, _measured = TextToPath.get_text_width_height_descent, dict[tuple[Any, ...], tuple[float, float, float]]()


def _measured_once(own: TextToPath, words: str, look: FontProperties, ismath: Any) -> tuple[float, float, float]:
    """Words in one font are as wide in every figure, which measures them anew: a tenth of what pictures cost."""
    key = words, look.copy(), ismath, *rcParams["font.sans-serif"]
    if key not in _measured:
        _measured[key] = _measure(own, words, look, ismath)
    return _measured[key]


TextToPath.get_text_width_height_descent = _measured_once  # type: ignore[assignment,method-assign]


def pytest_collection_finish() -> None:
    """Modules and thousands of cases live to the end: no search for what can be thrown away need look at them again."""
    gc.collect()
    gc.freeze()


@pytest.fixture
def linkmotion(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Command:
    """The real command, run within this process."""
    return Command(monkeypatch, capsys)


@pytest.fixture(autouse=True)
def _a_wide_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tables and messages are read off whole lines; what narrow terminals show is test_terminals' affair."""
    monkeypatch.setenv("COLUMNS", "1000")


def _interruptible() -> None:
    """Let a Ctrl-C that a test sends arrive: a run begun in the background is born deaf to it, like its children."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN and threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, signal.default_int_handler)


_interruptible()
