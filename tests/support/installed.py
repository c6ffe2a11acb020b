"""What a test does where a program that it needs is not installed."""

from __future__ import annotations

import os
import shutil

import pytest


def unavailable(reason: str) -> None:
    """Skip the test with the reason; fail it in CI, where everything must be there."""
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


def need(*programs: str) -> None:
    """Go on only where these programs are installed."""
    for program in programs:
        if shutil.which(program) is None:
            unavailable(f"{program} is not installed")
