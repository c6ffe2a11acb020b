"""Noting a discomfort in three presses: where, which side, how strong.

Gives the entry back to the caller, or nothing. It judges no complaint.
"""

from __future__ import annotations

from dataclasses import replace
from string import ascii_lowercase
from typing import Final

from whistlestop.driver.guard import QUESTIONS
from whistlestop.engine.commands import EnterDiscomfort
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.room import BACK, QUIET_HELP, ModalRoom
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

SITES: Final = (
    "head",
    "neck",
    "shoulder",
    "elbow",
    "wrist or hand",
    "upper back",
    "lower back",
    "ribs",
    "belly",
    "hip",
    "groin",
    "front of thigh",
    "hamstring",
    "knee",
    "shin",
    "calf",
    "Achilles tendon",
    "ankle",
    "foot",
)
SIDES: Final = {"l": "left", "r": "right", "b": "both", "m": "middle"}
TEN_KEY: Final = "t"
CHEST: Final = "Chest pain or pressure: stop. Call your emergency number now."


def step_rows(site: str, side: str) -> list[Row]:
    """Say what is asked now, and the answers so far."""
    if not site:
        half = (len(SITES) + 1) // 2
        named = [
            row(TextSpan(f"{letter} ", "bold"), " ", fit(name, 16))
            for letter, name in zip(ascii_lowercase, SITES, strict=False)
        ]
        columns = [Column(named[:half], 24), Column(named[half:], 24)]
        listed: list[Row] = [(TextSpan("    "), *one) for one in beside(columns)]
        return [row("  ", TextSpan("Where?", "bold")), BLANK, *listed]
    sentences = [row("  ", TextSpan("where   ", "dim"), site)]
    if not side:
        sides = [
            row("    ", TextSpan(f"{k} ", "bold"), f" {s}") for k, s in SIDES.items()
        ]
        return [
            *sentences,
            BLANK,
            row("  ", TextSpan("Which side?", "bold")),
            BLANK,
            *sides,
        ]
    sentences.append(row("  ", TextSpan("side    ", "dim"), side))
    scale = row(
        "    ",
        TextSpan("0 … 9", "bold"),
        "   and   ",
        TextSpan(TEN_KEY, "bold"),
        " for 10",
    )
    words = row("    ", TextSpan("0 none   10 worst imaginable", "dim"))
    return [
        *sentences,
        BLANK,
        row("  ", TextSpan("How strong, 0 to 10?", "bold")),
        BLANK,
        scale,
        words,
    ]


class DiscomfortScreen(ModalRoom[EnterDiscomfort | None]):
    """Asks for one discomfort; gives None where it was left."""

    part = QUESTIONS
    help_keys = QUIET_HELP

    def __init__(self) -> None:
        super().__init__()
        self.site = ""
        self.side = ""

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and the step."""
        step = 1 + bool(self.site) + bool(self.side)
        return "Discomfort", "", f"{step} of 3"

    def standing_text(self) -> str:
        """What does not belong here."""
        return CHEST

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The step that is asked now."""
        del cells, lines
        return PageLayout(step_rows(self.site, self.side))

    def _asks_site(self) -> bool:
        return not self.site

    def _asks_side(self) -> bool:
        return bool(self.site) and not self.side

    @action("backspace", "one step back", when=lambda self: bool(self.site))
    def clear_step(self) -> None:
        """Go one step back."""
        self.site, self.side = (self.site if self.side else ""), ""

    go_back = replace(BACK, label="cancel", sentence="Go back; nothing is noted.")

    @action(
        dict(zip(ascii_lowercase, SITES, strict=False)),
        when=_asks_site,
        held=ONCE,
        shown="a-z",
    )
    def choose_site(self, site: str) -> None:
        """Say where it is."""
        self.site = site

    @action(SIDES, when=_asks_side, held=ONCE)
    def choose_side(self, side: str) -> None:
        """Say which side."""
        self.side = side

    @action(
        {**{str(level): level for level in range(10)}, TEN_KEY: 10},
        when=lambda self: bool(self.side),
        held=ONCE,
        shown=f"0-9 {TEN_KEY}",
    )
    def choose_level(self, level: int) -> None:
        """Say how strong it is, 0 to 10."""
        self.dismiss(EnterDiscomfort(self.site, self.side, level))
