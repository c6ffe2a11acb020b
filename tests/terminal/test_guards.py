"""The guards against known traps of Textual 8.2.8 that need no real terminal.

Time stands where a test puts it.
"""

from __future__ import annotations

import asyncio
import re
import signal
import textwrap
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from tests.support.clock import HandClock
from tests.support.plans import plan, station
from tests.support.processes import ROOT, journals, raw_lines, seen_ms, wait_until
from tests.support.terminal import Pty
from textual import events
from textual.pilot import Pilot

from whistlestop.driver.services import Services
from whistlestop.engine.states import Mode
from whistlestop.tui.app import WhistlestopApp
from whistlestop.tui.floor.screen import FloorScreen

PLAN = plan(station(1), station(2), get_ready_ms=0, work_ms=300_000, loops=2)
Floor = Callable[..., AbstractAsyncContextManager[tuple[Pilot[Any], HandClock]]]


@pytest.fixture
def floor(home: Path, monkeypatch: pytest.MonkeyPatch) -> Floor:
    """Open the Floor on a clock that only the test moves."""
    monkeypatch.setattr("whistlestop.tui.awake.awake_command", lambda: None)

    @asynccontextmanager
    async def opened(**what: Any) -> AsyncIterator[tuple[Pilot[Any], HandClock]]:
        clock = HandClock()
        app = WhistlestopApp(Services(home, clock=clock), plan=PLAN, polls=False)
        async with app.run_test(**what) as pilot:
            await pilot.pause()
            yield pilot, clock
            app.end_session()

    return opened


def screen_of(pilot: Pilot[Any]) -> FloorScreen:
    found = [s for s in pilot.app.screen_stack if isinstance(s, FloorScreen)]
    return found[-1]


def mode(pilot: Pilot[Any]) -> Mode:
    return screen_of(pilot)._session.engine.mode


def test_no_editor_is_ever_started_from_a_screen() -> None:
    """App.suspend deadlocks if its body raises: it is not used at all."""
    sources = (ROOT / "src" / "whistlestop" / "tui").rglob("*.py")
    found = [path for path in sources if re.search(r"\.suspend\(", path.read_text())]
    assert found == []


@pytest.mark.parametrize("wanted", ["auto", "dark", "light", "mono"])
async def test_no_color_wins_over_every_theme(
    home: Path, monkeypatch: pytest.MonkeyPatch, wanted: str
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    with (home / "config.toml").open("a") as config:
        config.write(f'[screen]\ntheme = "{wanted}"\n')
    app = WhistlestopApp(Services(home), polls=False)
    async with app.run_test() as pilot:
        await pilot.pause()
        theme = app.current_theme
        colours = [theme.primary, theme.foreground, theme.background]
        for colour in filter(None, colours):
            parts = bytes.fromhex(colour.lstrip("#"))
            assert max(parts) - min(parts) <= 2, colour
        assert theme.foreground != theme.background


async def test_markup_in_a_toast_and_in_settings_is_plain_text(
    home: Path,
) -> None:
    """Problems of a config file quote it: `[/]` there must not end the program."""
    with (home / "config.toml").open("a") as config:
        config.write('[keys]\npause = ["[/]", "[bold]"]\nnext = ["[/]"]\n')
    app = WhistlestopApp(Services(home), polls=False)
    async with app.run_test() as pilot:
        await pilot.pause()
        assert app.services.problems
        app.tell("[/] [bold]x[/b]")
        await pilot.pause()
        assert app.is_running
        messages = [notification.message for notification in app._notifications]
        assert "[/] [bold]x[/b]" in messages


async def test_a_space_without_its_character_pauses(floor: Floor) -> None:
    """Some terminals send the key and no character: names count."""
    async with floor() as (pilot, clock):
        clock.go(1_000)
        pilot.app.screen.post_message(events.Key("space", None))
        await pilot.pause()
        assert mode(pilot) is Mode.PAUSED


@pytest.mark.parametrize("key", ["left_shift", "right_control", "caps_lock"])
async def test_a_lone_modifier_does_nothing(floor: Floor, key: str) -> None:
    async with floor() as (pilot, clock):
        lines = screen_of(pilot)._session.engine.rows
        clock.go(1_000)
        pilot.app.screen.post_message(events.Key(key, None))
        await pilot.pause()
        assert mode(pilot) is Mode.RUNNING
        assert screen_of(pilot)._session.engine.rows == lines


async def test_a_clash_of_keys_is_told_and_no_action_is_lost(
    home: Path,
) -> None:
    with (home / "config.toml").open("a") as config:
        config.write('[keys]\nskip = ["n"]\npuase = ["p"]\n')
    app = WhistlestopApp(Services(home, clock=HandClock()), plan=PLAN, polls=False)
    async with app.run_test() as pilot:
        await pilot.pause()
        told = " ".join(n.message for n in app._notifications)
        assert '"n" is both "next" and "skip"' in told
        assert 'nearest name: "pause"' in told
        await pilot.press("space")
        assert mode(pilot) is Mode.PAUSED
        app.end_session()


async def test_a_test_has_no_frame_timer(floor: Floor) -> None:
    """With polls off time moves only by hand, so a press waits for nothing."""
    async with floor() as (pilot, clock):
        # Textual's own screen_update only refreshes what was changed.
        names = {timer.name for timer in screen_of(pilot)._timers}
        assert names <= {"screen_update"}
        before = screen_of(pilot)._session.engine.t_ms
        clock.go(2_500)
        await pilot.pause()
        assert screen_of(pilot)._session.engine.t_ms == before
        screen_of(pilot).poll()
        assert screen_of(pilot)._session.engine.t_ms == before + 2_500


async def test_a_key_acts_once_within_300_ms_and_again_after(floor: Floor) -> None:
    async with floor() as (pilot, clock):
        for _ in range(10):
            clock.go(30)
            await pilot.press("n")
        engine = screen_of(pilot)._session.engine
        assert (len(engine.rows), engine.cut_ms) == (1, None)
        clock.go(301)
        await pilot.press("n")
        # In the recovery that is the way to the 3-2-1 before the next station.
        assert engine.cut_ms is not None


async def test_the_palette_and_the_stock_keys_are_not_on_the_floor(
    floor: Floor,
) -> None:
    """No stock header, footer or palette there."""
    async with floor() as (pilot, clock):
        for key in ("ctrl+p", "ctrl+backslash", "f5", "tab", "escape"):
            clock.go(1_000)
            await pilot.press(key)
        assert pilot.app.screen is screen_of(pilot)
        assert mode(pilot) is Mode.RUNNING


async def test_ctrl_q_asks_on_the_floor_and_is_nothing_above_it(floor: Floor) -> None:
    async with floor() as (pilot, clock):
        clock.go(1_000)
        await pilot.press("question_mark")
        await pilot.pause()
        assert pilot.app.screen is not screen_of(pilot)
        await pilot.press("ctrl+q")
        assert pilot.app.is_running
        await pilot.press("escape")
        clock.go(1_000)
        await pilot.press("ctrl+q")
        assert "Enter to end the session" in screen_of(pilot).model().question
        assert mode(pilot) is Mode.RUNNING


async def test_two_houses_one_home_the_second_is_told(floor: Floor, home: Path) -> None:
    """The lock is held by the first: the second says so and stays in its room."""
    async with floor():
        second = WhistlestopApp(Services(home, clock=HandClock()), polls=False)
        async with second.run_test() as pilot:
            await pilot.pause()
            second.begin(PLAN)
            await pilot.pause()
            assert second.running is None
            told = " ".join(n.message for n in second._notifications)
            assert "another session is running" in told


async def test_it_listens_to_the_three_ending_signals(floor: Floor) -> None:
    """Without a handler the terminal would be left as it is."""
    async with floor():
        loop = asyncio.get_running_loop()
        for number in (signal.SIGTERM, signal.SIGHUP, signal.SIGINT):
            assert loop.remove_signal_handler(number)


# Faults, in a process of their own: what is seen, and what is left.

FAULTY = """
import sys
from pathlib import Path
from whistlestop.driver.services import Services
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.tui import app as tui
from whistlestop.tui.floor.screen import FloorScreen

{patch}

services = Services(Path(sys.argv[1]))
plan = compile_plan(services.circuits.read("long"))
raise SystemExit(tui.run_app(services, plan=plan))
"""
SECRET = "knee-left-secret"


def run_faulty(home: Path, patch: str) -> tuple[int, bytes]:
    """Run the screens with something broken; the status, and all that was shown."""
    import sys

    program = FAULTY.format(patch=textwrap.dedent(patch))
    with Pty(sys.executable, "-c", program, str(home), cells=100) as terminal:
        status = terminal.wait()
        return status, terminal.read_bytes


@pytest.mark.terminal
def test_a_fault_keeps_the_record_and_shows_nothing_that_was_typed(
    home: Path,
) -> None:
    status, shown = run_faulty(
        home,
        f"""
        polls = []
        real = FloorScreen.poll
        def poll(self):
            private = "{SECRET}"
            polls.append(1)
            if len(polls) > 15:
                raise RuntimeError(len(private))
            real(self)
        FloorScreen.poll = poll
        """,
    )
    assert status == 1
    assert b"your session is saved" in shown
    assert b"Traceback" not in shown
    assert SECRET.encode() not in shown
    assert shown.rstrip().rfind(b"\x1b[?1049l") > shown.rfind(b"\x1b[?1049h")
    assert SECRET not in "".join(
        path.read_text(errors="replace").replace(f'private = "{SECRET}"', "")
        for path in (home / "state").rglob("*")
        if path.is_file()
    )
    kinds = [line["k"] for line in raw_lines(journals(home)[-1])]
    assert kinds[0] == "start"
    assert seen_ms(home) > 0
    assert Services(home).sessions.interrupted() is not None


@pytest.mark.terminal
def test_a_fault_after_the_end_shows_no_traceback(home: Path) -> None:
    status, shown = run_faulty(
        home,
        """
        real = FloorScreen.poll
        polls = []
        def poll(self):
            polls.append(1)
            if len(polls) == 5:
                self.app.exit()
            if len(polls) >= 5:
                self.app.call_later(lambda: 1 / 0)
                raise RuntimeError("late")
            real(self)
        FloorScreen.poll = poll
        """,
    )
    assert status in {0, 1}
    assert b"Traceback" not in shown
    assert b"ZeroDivisionError: " not in shown
    wait_until(lambda: journals(home))
    assert raw_lines(journals(home)[-1])[0]["k"] == "start"
