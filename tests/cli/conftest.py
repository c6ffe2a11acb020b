"""What the tests of the command line share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from tests.support.processes import quiet_home

from whistlestop.cli.main import main


@dataclass(frozen=True)
class Answer:
    """What one command gave back."""

    status: int
    out: str
    err: str


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return quiet_home(tmp_path / "home")


@pytest.fixture
def call(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Answer]:
    """Run `main` in this process, in the test's own home."""
    monkeypatch.delenv("WHISTLESTOP_HOME", raising=False)

    def run(*arguments: object) -> Answer:
        words = [str(argument) for argument in arguments]
        try:
            status = main([*words, "--home", str(home)])
        except SystemExit as leaving:
            status = int(leaving.code or 0)
        sentences = capsys.readouterr()
        assert "\x1b" not in sentences.out + sentences.err
        return Answer(status, sentences.out, sentences.err)

    return run
