"""The page after a stop for health, and the question about the next morning.

Owns the steps and the keys; what is due and what was answered say `driver.wellbeing`.
Nothing is proposed before the page is answered, and nobody is called well but by their
own word.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from whistlestop.driver.wellbeing import MorningQuestion
from whistlestop.errors import StoreError
from whistlestop.library.cautions import HEALTH_STOP
from whistlestop.review.wellbeing import CAUSES, GRAVE, Felt, HealthStop
from whistlestop.tui.rooms.frame.actions import FRESH, ONCE, action
from whistlestop.tui.rooms.frame.room import BACK, QUIET_HELP, SCROLL, ModalRoom
from whistlestop.tui.rooms.safety.health import health_rows
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, row, wrapped

_WIDEST: Final = 84
CAUSE_KEYS: Final[Mapping[str, str]] = {key[0]: key for key in CAUSES}
FELT_KEYS: Final[Mapping[str, Felt]] = {"b": "better", "s": "same", "w": "worse"}
SEE_A_DOCTOR: Final = "After that see a doctor before your next session."
OWN_WORD: Final = (
    "That you are well is your own word: nobody here can see it. Then come three easy "
    "sessions, of half the work at most, and after them two that build up again."
)
OWN_WORD_GRAVE: Final = (
    "That you are well is your own word: nobody here can see it. Then come seven easy "
    "sessions, of half the work at most, and after them two that build up again."
)


def question_rows(stop: HealthStop, cells: int) -> list[Row]:
    """Ask what it was."""
    width = min(_WIDEST, cells - 4)
    text = f"You ended the session of {stop.day:%A %d %b} for your health."
    rows: list[Row] = [row("  ", line) for line in wrapped(text, width)]
    rows += [BLANK, row("  ", TextSpan("What was it?", "bold")), BLANK]
    for key, cause in CAUSE_KEYS.items():
        rows.append(row("    ", TextSpan(f"{key} ", "bold"), f" {CAUSES[cause]}"))
    return rows


def own_word_rows(cause: str, cells: int) -> list[Row]:
    """Ask for the athlete's own word that they are well."""
    width = min(_WIDEST, cells - 4)
    texts = [OWN_WORD]
    if cause in GRAVE:
        texts = [SEE_A_DOCTOR, OWN_WORD_GRAVE]
    rows: list[Row] = [row("  ", TextSpan("what it was   ", "dim"), CAUSES[cause])]
    rows += [BLANK, row("  ", TextSpan("Are you well again?", "bold"))]
    for text in texts:
        rows += [BLANK, *(row("  ", line) for line in wrapped(text, width))]
    return rows


class WellRoom(ModalRoom[bool]):
    """The page after a stop for health; gives True once it is answered."""

    help_keys = QUIET_HELP
    keeps_text = False

    def __init__(self, stop: HealthStop) -> None:
        """Ask about a stop."""
        super().__init__()
        self.stop = stop
        self.has_read = False
        self.cause = ""

    def title_text(self) -> tuple[str, str, str]:
        """Name the page and the step."""
        step = 1 + self.has_read + bool(self.cause)
        asked = "" if self.has_read else "do you have any of these?"
        return "After your health stop", asked, f"{step} of 3"

    def standing_text(self) -> str:
        """What holds until it is answered; the signs want the whole screen."""
        if not self.has_read:
            return ""
        return "Until this is answered, no session is proposed."

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The signs that need a doctor first, then what it was, then their word."""
        if not self.has_read:
            folded = self.services.settings.screen.ascii
            grave = HEALTH_STOP[:2]
            rows = health_rows(cells, lines - 1, ascii_only=folded, only=grave)
            return PageLayout(rows)
        if not self.cause:
            return PageLayout(question_rows(self.stop, cells))
        return PageLayout(own_word_rows(self.cause, cells))

    def _asks_cause(self) -> bool:
        return self.has_read and not self.cause

    @action("enter", "none of these", when=lambda self: not self.has_read, held=FRESH)
    def read_page(self) -> None:
        """Go on to the question what it was."""
        self.has_read = True

    @action(CAUSE_KEYS, when=_asks_cause, held=ONCE, shown="c h p i o")
    def choose_cause(self, cause: str) -> None:
        """Say what it was."""
        self.cause = cause

    @action("enter", "I am well", when=lambda self: bool(self.cause), held=FRESH)
    def say_well(self) -> None:
        """Say that you are well again; it is saved in your diary."""
        try:
            self.services.wellbeing.answer_stop(self.stop, self.cause)
        except StoreError as error:
            self.say(f"Not saved: {error}")
            return
        self.dismiss(result=True)

    @action("backspace", "one step back", when=lambda self: self.has_read)
    def clear_step(self) -> None:
        """Go one step back."""
        self.has_read, self.cause = bool(self.cause), ""

    read_on = replace(SCROLL, label="")
    go_back = replace(BACK, label="not yet", sentence="Leave it open for now.")


class MorningRoom(ModalRoom[None]):
    """Asks once how a discomfort was on the next morning."""

    help_keys = QUIET_HELP

    def __init__(self, asked: MorningQuestion) -> None:
        """Ask about one discomfort."""
        super().__init__()
        self.asked = asked

    def title_text(self) -> tuple[str, str, str]:
        """Name the question."""
        return "The next morning", "", ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The question and its three answers."""
        del lines
        width = min(_WIDEST, cells - 4)
        rows: list[Row] = [row("  ", line) for line in wrapped(self.asked.words, width)]
        rows.append(BLANK)
        for key, felt in FELT_KEYS.items():
            answer = "the same" if felt == "same" else felt
            rows.append(row("    ", TextSpan(f"{key} ", "bold"), f" {answer}"))
        text = "Worse asks for less next time: what asks much of it eases or changes."
        rows += [BLANK, *(row("  ", TextSpan(x, "dim")) for x in wrapped(text, width))]
        return PageLayout(rows)

    @action(FELT_KEYS, held=ONCE, shown="b s w")
    def say_felt(self, felt: Felt) -> None:
        """Say how it was."""
        try:
            self.services.wellbeing.answer_morning(self.asked, felt)
        except StoreError as error:
            self.say(f"Not saved: {error}")
            return
        self.dismiss(None)

    go_back = replace(BACK, label="later", sentence="Leave it open; asked again.")
