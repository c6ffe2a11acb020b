"""Waiting for an application of a test to be idle, by what is left for it to do.

Textual's own wait sleeps 20 ms at a time until the process used hardly any CPU: a
pilot does so twice a key and once a pause. Here an application is idle once its loop
has nothing to call, its screen nothing to paint and its threads have ended, or use no
CPU, since a thread may wait for the test.
"""

from __future__ import annotations

import asyncio
from time import monotonic, process_time
from typing import Any

from textual import app, pilot
from textual._context import active_app
from textual._wait import SLEEP_GRANULARITY, SLEEP_IDLE, wait_for_idle
from textual.worker import WorkerState

Running = app.App[Any]
AT_WORK = frozenset({WorkerState.PENDING, WorkerState.RUNNING})


async def wait_until_idle(
    min_sleep: float = SLEEP_GRANULARITY, max_sleep: float = 1
) -> None:
    """Wait as Textual's `wait_for_idle` does, and no longer than is needed."""
    running: Running | None = active_app.get(None)
    if running is None:
        await wait_for_idle(min_sleep, max_sleep)
        return
    end = monotonic() + max_sleep
    while monotonic() < end:
        await nothing_to_call(end)
        if not paint(running) and await threads_rest(running):
            return


async def threads_rest(running: Running) -> bool:
    """Whether no thread is at work; waits until one has ended or 20 ms are over."""
    threads = [one._task for one in running.workers if one.state in AT_WORK]
    at_work = [task for task in threads if task is not None]
    if not at_work:
        return True
    used_s = process_time()
    ended, _ = await asyncio.wait(
        at_work, timeout=SLEEP_GRANULARITY, return_when=asyncio.FIRST_COMPLETED
    )
    return not ended and process_time() - used_s < SLEEP_IDLE


async def nothing_to_call(end: float) -> None:
    """Let the loop run until it would only wait."""
    ready = asyncio.get_running_loop()._ready  # type: ignore[attr-defined]
    while True:
        await asyncio.sleep(0)
        if not ready or monotonic() >= end:
            return


def paint(running: Running) -> bool:
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
