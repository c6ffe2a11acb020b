"""Another step instead of the one proposed: chosen among the legal ones, or typed.

Owns choosing and the typed amounts. What is legal says `coach.instead`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from whistlestop.coach.changes import shape_of, totals_of
from whistlestop.coach.instead import alternatives, own_amounts
from whistlestop.coach.next_step import NextStepAnswer
from whistlestop.domain.text import sentence_case
from whistlestop.driver.coaching import CircuitAdvice
from whistlestop.errors import ChangeError
from whistlestop.tui.rooms.coach import next_lines as words
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.room import BACK
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK

HINT: Final = "work 45 recovery 20 loops 2; anything missing stays the same"
_PART: Final = re.compile(
    r"(work|w|recovery|recover|r|loops|loop|l)\s*(\d{1,4})\s*s?", re.ASCII
)
_NAMES: Final = {"w": "interval_ms", "r": "recover_ms", "l": "loops"}


def amounts_of(typed: str) -> dict[str, int]:
    """Read amounts: work and recovery in seconds, loops.

    Raises:
        ValueError: It is none of them.
    """
    text = typed.strip().lower().replace(",", " ")
    found: dict[str, int] = {}
    place = 0
    for match in _PART.finditer(text):
        if text[place : match.start()].strip():
            break
        name = _NAMES[match[1][0]]
        found[name] = int(match[2]) * (1 if name == "loops" else 1000)
        place = match.end()
    if not found or text[place:].strip():
        raise ValueError(f"Type it like this: {HINT}.")
    return found


class ChangeRoom(AskingRoom[NextStepAnswer]):
    """What else may be done; it gives back the answer that was chosen."""

    def __init__(self, advice: CircuitAdvice) -> None:
        super().__init__()
        self.advice = advice
        self.answers = alternatives(advice.history, advice.context, advice.answer)
        self._row_ranges: list[tuple[int, int]] = []

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and the circuit."""
        return "Another step", self.advice.answer.name, ""

    def idle_text(self) -> str:
        """What it would be chosen instead of."""
        return f"Instead of: {self.advice.answer.proposal.title}."

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The other legal steps."""
        del lines
        now = totals_of(self.advice.progress.circuit)
        head = words.paragraph(f"Now {shape_of(now)}.", cells)
        rows, self._row_ranges = words.choice_rows(self.answers, self.chosen, cells)
        if not rows:
            text = "No other step today; press a for your own numbers."
            rows = words.paragraph(text, cells)
        focus = self._row_ranges[self.chosen] if self._row_ranges else None
        return PageLayout(rows, focus, head=[*head, BLANK])

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each step stands."""
        return self._row_ranges

    @action("enter", "accept this one", when=lambda self: bool(self.answers), held=ONCE)
    def take_other(self) -> None:
        """Accept the chosen step instead."""
        self.dismiss(self.answers[self.chosen])

    @action("a", "your own numbers", held=ONCE)
    def add_amounts(self) -> None:
        """Type numbers of your own: work, recovery and loops."""
        now = totals_of(self.advice.progress.circuit)
        value = (
            f"work {now.interval_ms / 1000:g} "
            f"recovery {now.recover_ms / 1000:g} loops {now.loops}"
        )
        self.ask(f"Your numbers, for example {HINT}.", self._own, value=value)

    go_back = BACK

    def _own(self, typed: str) -> str:
        try:
            amounts = amounts_of(typed)
            made = own_amounts(self.advice.context, self.advice.answer, **amounts)
        except ChangeError as error:
            text = error.message
            end = "" if text.endswith(".") else "."
            return sentence_case(text) + end
        except ValueError as error:
            return str(error)
        self.dismiss(made)
        return ""
