"""What holds for all tests: no property is judged by how fast the machine is.

A plain run draws few examples of each property; `--hypothesis-profile=full` draws all.
"""

from __future__ import annotations

import sys

import pytest
from hypothesis import settings

settings.register_profile("few", deadline=None, max_examples=20)
settings.register_profile("full", deadline=None, max_examples=100)
settings.load_profile("few")

PLAIN = "not slow"


def pytest_collection_finish() -> None:
    """Let pilots of screens wait no longer than there is something to wait for."""
    if "textual" in sys.modules:
        from tests.support.idle import install

        install()


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    """Say what a plain run leaves out, since workers do not report it."""
    if config.getoption("markexpr") == PLAIN:
        terminalreporter.write_line(
            "Left to .ci/run: tests marked slow, and four fifths of each property's "
            "examples."
        )
