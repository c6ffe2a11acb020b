"""Nothing that was said to be taken or saved is lost by a power cut.

Twenty cuts here; `python -m tests.bench.power_200` makes two hundred.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from tests.support.power import Step, cuts, floor_session, line_session, lost_by

from whistlestop.cli.receipts import Receipts
from whistlestop.store.journal import writer as journal_writer

Sessions = Callable[[Path, int], list[Step]]
EACH = 10


def losses(steps: list[Step], folder: Path, places: list[int]) -> list[int]:
    """The entries lost by each cut: where no more is left than must be, and some."""
    home = folder / "home"
    return [
        lost_by(steps[:at], home, folder / f"left-{number}-{kind}", seed)
        for number, at in enumerate(places)
        for kind, seed in (("least", None), ("more", number))
    ]


def said(steps: list[Step]) -> int:
    return sum(step.what == "said" for step in steps)


@pytest.mark.parametrize("session", [line_session, floor_session])
def test_no_power_cut_takes_what_was_said_to_be_safe(
    tmp_path: Path, session: Sessions
) -> None:
    steps = session(tmp_path / "home", 9)
    assert said(steps) >= 5
    assert losses(steps, tmp_path, cuts(steps, EACH, 9)) == [0] * 2 * EACH


def test_an_answer_before_the_disk_would_be_found_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The check itself: said at once, as it once was, entries are lost."""

    def owe(self: Receipts, sequence: int, line: str) -> None:
        print(line)

    monkeypatch.setattr(Receipts, "owe", owe)
    steps = line_session(tmp_path / "home", 9)
    after = [at for at, step in enumerate(steps, 1) if step.what == "said"]
    assert sum(losses(steps, tmp_path, after[:EACH])) > 0


def test_a_log_whose_name_is_not_on_the_disk_would_be_found_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The check itself: without the folders' syncs a new log is lost with all in it."""
    monkeypatch.setattr(journal_writer, "sync_folder", lambda folder: None)
    monkeypatch.setattr("whistlestop.files.sync_folder", lambda folder: None)
    steps = floor_session(tmp_path / "home", 9)
    assert sum(losses(steps, tmp_path, cuts(steps, EACH, 9))) > 0
