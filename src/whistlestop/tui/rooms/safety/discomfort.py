"""Noting a discomfort in three presses: where, which side, how strong.

Gives the entry back to the caller, or nothing. It judges no complaint.
"""

from __future__ import annotations

from collections.abc import Sequence
from string import ascii_lowercase
from typing import Final

from whistlestop.driver.guard import QUESTIONS
from whistlestop.engine.commands import EnterDiscomfort
from whistlestop.tui.rooms.frame.room import ModalRoom
from whistlestop.tui.widgets.key_line import KeyEntry
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
    has_help = False

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

    def key_entries(self) -> Sequence[KeyEntry]:
        """Only the ways back; the page names the other keys."""
        if self.site:
            return [KeyEntry("Backspace", "one step back"), KeyEntry("Esc", "cancel")]
        return [KeyEntry("Esc", "cancel")]

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The step that is asked now."""
        del cells, lines
        return PageLayout(step_rows(self.site, self.side))

    def press(self, key: str) -> bool:
        """Take a letter or a digit; the third one finishes."""
        if key == "escape":
            self.dismiss(None)
        elif key == "backspace":
            self.site, self.side = (self.site if self.side else ""), ""
        elif not self.site and len(key) == 1 and key in ascii_lowercase[: len(SITES)]:
            if self.debounced(key):
                self.site = SITES[ascii_lowercase.index(key)]
        elif self.site and not self.side and key in SIDES:
            if self.debounced(key):
                self.side = SIDES[key]
        elif self.side and (key == TEN_KEY or (len(key) == 1 and key in "0123456789")):
            if self.debounced(key):
                level = 10 if key == TEN_KEY else int(key)
                self.dismiss(EnterDiscomfort(self.site, self.side, level))
        else:
            return False
        return True
