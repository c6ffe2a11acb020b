"""Waiting for an application of a test to be idle, by what is left for it to do.

Textual's own wait sleeps 20 ms at a time until the process used hardly any CPU: a
pilot does so twice a key and once a pause. Here an application is idle once its loop
has nothing to call and its screen nothing to paint. While one of its threads is at
work the wait is Textual's own, since a thread may wait for the test.
"""

from __future__ import annotations

import asyncio
from time import monotonic
from typing import Any

from textual import app, pilot
from textual._context import active_app
from textual._wait import wait_for_idle
from textual.worker import WorkerState

AT_WORK = frozenset({WorkerState.PENDING, WorkerState.RUNNING})


async def wait_until_idle(min_sleep: float = 0.02, max_sleep: float = 1) -> None:
    """Wait as Textual's `wait_for_idle` does, and no longer than is needed."""
    running: app.App[Any] | None = active_app.get(None)
    end = monotonic() + max_sleep
    while running is not None and monotonic() < end:
        await nothing_to_call(end)
        if any(worker.state in AT_WORK for worker in running.workers):
            break
        if not paint(running):
            return
    await wait_for_idle(min_sleep, max(0.0, end - monotonic()))


async def nothing_to_call(end: float) -> None:
    """Let the loop run until it would only wait."""
    ready = asyncio.get_running_loop()._ready  # type: ignore[attr-defined]
    while True:
        await asyncio.sleep(0)
        if not ready or monotonic() >= end:
            return


def paint(running: app.App[Any]) -> bool:
    """Do at once what waits for Textual's timers of some ms; whether anything did."""
    if not running._screen_stack:
        return False
    if running._resize_event is not None:
        running._check_resize()
        return True
    screen = running.screen
    if not screen._update_timer._active.is_set():
        return False
    screen._on_timer_update()
    return True


def install() -> None:
    """Let every pilot wait so."""
    app.wait_for_idle = pilot.wait_for_idle = wait_until_idle  # type: ignore[attr-defined]
