"""An application that only has rooms: it writes down what they ask of it."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import Any

from tests.support.picture import picture, screen_strips
from tests.support.services import ServicesForTests
from textual.app import App
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input
from textual.worker import WorkerFailed

from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.plan.pairing import ALONE, Company
from whistlestop.domain.plan.plan import Plan
from whistlestop.tui.rooms.frame.actions import HelpLine
from whistlestop.tui.rooms.frame.key_list import KeysScreen, RoomKeys
from whistlestop.tui.theme import THEMES, palette

SIZES = ((80, 24), (120, 40), (200, 60))


class RoomsApp(App[None]):
    """Shows one room; `asked` is what it asked for, `results` what it gave back."""

    ENABLE_COMMAND_PALETTE = False

    def __init__(
        self,
        services: ServicesForTests,
        room: Screen[Any],
        theme: str = "whistlestop-dark",
    ) -> None:
        super().__init__()
        self.services = services
        self.running = getattr(room, "running", None)
        self.asked: list[tuple[object, ...]] = []
        self.results: list[object] = []
        self._room = room
        for one in THEMES:
            self.register_theme(one)
        self.theme = theme

    def on_mount(self) -> None:
        self.push_screen(self._room, self.results.append)

    def open_sheet(self, circuit: Circuit) -> None:
        self.asked.append(("open_sheet", circuit.id))

    def begin(self, plan: Plan, company: Company = ALONE) -> None:
        self.asked.append(("begin", plan, company) if company.others else
                          ("begin", plan))  # fmt: skip

    def again(self) -> None:
        self.asked.append(("again",))

    def resume(self, session_id: str) -> None:
        self.asked.append(("resume", session_id))

    def open_log(self) -> None:
        self.asked.append(("open_log",))

    def open_setup(self, then: object = None) -> None:
        self.asked.append(("open_setup",))

    def open_keys(self) -> None:
        self.push_screen(KeysScreen())

    def open_room_keys(self, room: str, lines: Sequence[HelpLine]) -> None:
        self.push_screen(RoomKeys(room, lines))

    def open_builder(self) -> None:
        self.asked.append(("open_builder",))

    def open_next(self) -> None:
        self.asked.append(("open_next",))

    def open_weeks(self) -> None:
        self.asked.append(("open_weeks",))

    def ask_well(self) -> None:
        self.asked.append(("ask_well",))

    def ask_morning(self, asked: object) -> None:
        self.asked.append(("ask_morning", asked))

    def open_sounds(self) -> None:
        self.asked.append(("open_sounds",))

    def open_library(self) -> None:
        self.asked.append(("open_library",))

    def open_kit(self) -> None:
        self.asked.append(("open_kit",))

    def open_editor(self, circuit: Circuit | None, path: object) -> None:
        self.asked.append(("open_editor", circuit.id if circuit else None))

    def leave(self) -> None:
        self.asked.append(("leave",))


async def settle(pilot: Pilot[Any]) -> None:
    """Wait for threads of the room, and for what they brought to be painted."""
    await pilot.pause()
    await pilot.app.workers.wait_for_complete()
    await pilot.pause()
    await pilot.pause()


async def press(pilot: Pilot[Any], *keys: str, after_ms: int = 1_000) -> None:
    """Press keys one by one, each a while after the one before on their clock."""
    for key in keys:
        pilot.app.services.standing.now_ms += after_ms  # type: ignore[attr-defined]
        await pilot.press(key)
    await pilot.pause()


def texts(app: App[Any]) -> list[str]:
    """The lines on screen, as text."""
    return [
        "".join(segment.text for segment in strip if not segment.control)
        for strip in screen_strips(app)
    ]


def whole(app: App[Any]) -> str:
    """All lines on screen in one text."""
    return "\n".join(line.rstrip() for line in texts(app))


def drawn(app: App[Any], title: str) -> str:
    """The screen as a picture, in the colours of its theme."""
    inks = palette(app.theme)
    return picture(
        screen_strips(app),
        title=title,
        foreground=inks.text.fg,
        background=inks.background,
    )


async def do(pilot: Pilot[Any], *keys: str) -> None:
    """Press keys, each after what the one before set going is over."""
    for key in keys:
        await press(pilot, key)
        # What a thread could not do is said in the room; here it is no error.
        with suppress(WorkerFailed):
            await settle(pilot)
        await pilot.pause()


async def type_in(pilot: Pilot[Any], text: str) -> None:
    """Type a line where one is asked for."""
    pilot.app.screen.query_one(Input).value = text
    await do(pilot, "enter")
