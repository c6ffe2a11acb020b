"""The mark on the Floor: saved is only what the disk has, and a long wait is shown."""

from __future__ import annotations

import pytest
from tests.support.rooms_app import RoomsApp
from tests.support.services import SHED, make_services, run_until, start_session

from whistlestop.store.journal.writer import LATE_S, Status
from whistlestop.tui.floor.screen import FloorScreen

FULL = "not saved yet: the disk is full"


@pytest.mark.parametrize(
    ("status", "is_marked", "is_late"),
    [
        (Status(saved=True, oldest_pending_s=0.0, error=None), True, False),
        # The disk has not answered yet, for a good while or since a moment ago.
        (Status(saved=False, oldest_pending_s=LATE_S, error=None), False, False),
        (Status(saved=False, oldest_pending_s=LATE_S + 0.1, error=None), False, True),
        (Status(saved=False, oldest_pending_s=9.0, error=FULL), False, True),
        # Only derived lines wait: the next input would wait as well.
        (Status(saved=True, oldest_pending_s=9.0, error=FULL), False, True),
    ],
)
async def test_the_mark_follows_the_disk_and_a_wait_of_two_seconds_is_shown(
    tmp_path, monkeypatch, status, is_marked, is_late
):
    services = make_services(tmp_path, {"shed": SHED})
    running = start_session(services, services.circuits.read("shed"))
    screen = FloorScreen(services, running, begin=False)
    app = RoomsApp(services, screen)
    app.polls = False
    run_until(services, running, 12_000)
    async with app.run_test(size=(100, 30)):
        monkeypatch.setattr(running.writer, "state", lambda: status)
        screen.press("space")
        marks = screen.model().status.split(" · ")
        assert ("not saved yet" in marks) is is_late
        assert ("saved" in marks) is is_marked
    monkeypatch.undo()
    assert running.release()
