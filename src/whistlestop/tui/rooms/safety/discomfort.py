"""Noting a discomfort after a session: where, which side, how strong.

Gives the entry back to the caller, or nothing. It judges no complaint; what is asked,
and by which keys, stands in `tui.discomfort`, the same as on the Floor.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from whistlestop.driver.guard import QUESTIONS
from whistlestop.engine.commands import EnterDiscomfort
from whistlestop.tui.discomfort import (
    KINDS,
    LETTERS,
    SIDES,
    TEN_KEY,
    DiscomfortQuestion,
)
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.room import BACK, QUIET_HELP, ModalRoom
from whistlestop.tui.rooms.safety.health import HealthScreen
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import (
    BLANK,
    Column,
    Row,
    TextSpan,
    beside,
    fit,
    row,
)

CHEST: Final = "Chest pain or pressure: stop. Call your emergency number now."
_KEYS: Final = (
    *LETTERS,
    *(str(digit) for digit in range(10)),
    *(key for key in (*SIDES, *KINDS, TEN_KEY) if key not in LETTERS),
)


def step_rows(asked: DiscomfortQuestion) -> list[Row]:
    """Say what is asked now, and the answers so far."""
    if asked.step == "site":
        sites = asked.sites
        half = (len(sites) + 1) // 2
        named = [
            row(TextSpan(f"{x.letter} ", "bold"), " ", fit(x.name, 18)) for x in sites
        ]
        columns = [Column(named[:half], 26), Column(named[half:], 26)]
        listed: list[Row] = [(TextSpan("    "), *one) for one in beside(columns)]
        return [row("  ", TextSpan("Where?", "bold")), BLANK, *listed]
    rows = [row("  ", TextSpan("where   ", "dim"), asked.name), BLANK]
    if asked.step == "level":
        scale = row(
            "    ",
            TextSpan("0 … 9", "bold"),
            "   and   ",
            TextSpan(TEN_KEY, "bold"),
            " for 10",
        )
        if asked.one:
            scale = row("    1: Enter saves 1, 0 makes it 10")
        ends = row("    ", TextSpan("0 none   10 worst imaginable", "dim"))
        strong = row("  ", TextSpan("How strong, 0 to 10?", "bold"))
        return [*rows, strong, BLANK, scale, ends]
    is_side = asked.step == "side"
    text = "Which side?" if is_side else "A sore muscle, or something else?"
    keys = SIDES if is_side else KINDS
    choices = [row("    ", TextSpan(f"{k} ", "bold"), f" {s}") for k, s in keys.items()]
    return [*rows, row("  ", TextSpan(text, "bold")), BLANK, *choices]


class DiscomfortScreen(ModalRoom[EnterDiscomfort | None]):
    """Asks for one discomfort; gives None where it was left."""

    part = QUESTIONS
    help_keys = QUIET_HELP

    def __init__(self, asked: DiscomfortQuestion | None = None) -> None:
        """Begin with where it is."""
        super().__init__()
        self.asked = asked or DiscomfortQuestion()

    def title_text(self) -> tuple[str, str, str]:
        """Name the room, and where it is."""
        return "Discomfort", self.asked.name if self.asked.site else "", ""

    def standing_text(self) -> str:
        """What is expected after a wrong key, else what does not belong here."""
        return self.asked.correction.strip() or CHEST

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The step that is asked now."""
        del cells, lines
        return PageLayout(step_rows(self.asked))

    @action("backspace", "one step back", when=lambda self: bool(self.asked.site))
    def clear_step(self) -> None:
        """Go one step back."""
        self._take("backspace")

    go_back = replace(BACK, label="cancel", sentence="Go back; nothing is noted.")

    @action({key: key for key in _KEYS}, held=ONCE, shown="a-v 0-9")
    def answer(self, key: str) -> None:
        """Say where it is by its letter, then the side, then how strong, 0 to 10."""
        self._take(key)

    @action("enter", when=lambda self: self.asked.one, held=ONCE)
    def enter_one(self) -> None:
        """Save a 1 that was typed."""
        self._take("enter")

    def _take(self, key: str) -> None:
        answer = self.asked.press(key)
        if answer.question is None:
            self.dismiss(answer.entry)
            return
        self.asked = answer.question
        if answer.signs:
            self.app.push_screen(HealthScreen(onward="back to the question"))
