"""A pytest plugin for where nothing may be passed over unsaid: a skip that was not named makes the run fail.

``python -m pytest -p tests.named_skips --named-skip=tests/browser/`` lets tests be skipped whose id begins so. Without
``-p`` it does nothing: at home, what is not installed may be passed over.
"""

from __future__ import annotations

import pytest


class Watch:
    """Notes what is skipped, in tests and in whole files, and has the last word on how the run ends."""

    def __init__(self, named: tuple[str, ...]) -> None:
        self.named, self.unnamed = named, list[str]()

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self._note(report)

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        self._note(report)

    def _note(self, report: pytest.TestReport | pytest.CollectReport) -> None:
        expected_failure = hasattr(report, "wasxfail")  # pytest calls these skipped too
        if report.skipped and not expected_failure and not report.nodeid.startswith(self.named):
            self.unnamed.append(report.nodeid)

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        for each in self.unnamed:
            terminalreporter.write_line(f"SKIPPED though not named: {each}", red=True)

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        if self.unnamed and session.exitstatus == pytest.ExitCode.OK:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_addoption(parser: pytest.Parser) -> None:
    told = "tests whose id begins so may be skipped (more than once for several)"
    parser.addoption("--named-skip", action="append", default=[], metavar="ID", help=told)


def pytest_configure(config: pytest.Config) -> None:
    if not hasattr(config, "workerinput"):  # of several processes, the one that the others report to
        config.pluginmanager.register(Watch(tuple(config.getoption("named_skip"))))
