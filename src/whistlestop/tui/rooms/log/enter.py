"""A session done without the laptop, entered field by field.

Owns the keys and the writing through the diary keeper; the words and what is typed are
`log_enter_lines`'s.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Final

from whistlestop.domain.text import sentence_case
from whistlestop.driver.diary import NOTE_LIMIT
from whistlestop.driver.next_steps import for_session
from whistlestop.errors import UsageError
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.choosing import CHOOSE_ROW
from whistlestop.tui.rooms.frame.room import BACK
from whistlestop.tui.rooms.log import enter_lines as words
from whistlestop.tui.rooms.log.enter_lines import EntryForm
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import TextSpan, row

IN_USE: Final = timedelta(days=90)


class EnterScreen(AskingRoom[str]):
    """Gives the name of what was entered; None where nothing was."""

    def __init__(self) -> None:
        super().__init__()
        self.form: EntryForm | None = None
        self._row_ranges: list[tuple[int, int]] = []

    def on_mount(self) -> None:
        """Read the circuits in a thread."""
        super().on_mount()
        services = self.services

        def read() -> EntryForm:
            circuits = [
                one.circuit for one in services.circuits.find_all().circuits.values()
            ]
            if not circuits:
                raise UsageError("no circuit to enter yet: add one first")
            today = services.clock.wall().date()
            done = services.logbook().done(since=today - IN_USE)
            used = {line.circuit for line in done}
            # As they would be done with the laptop: with the steps accepted for them.
            circuits = [
                for_session(services, c) if c.id in used else c for c in circuits
            ]
            last = done[0].circuit if done else ""
            return words.begin(circuits, today, last)

        self.run_worker(read, name="read", thread=True, exit_on_error=False)

    def take_result(self, name: str, result: object) -> None:
        """Show the form; once it is saved, leave."""
        if isinstance(result, EntryForm):
            self.form = result
        elif name == "keep" and self.form is not None:
            self.dismiss(self.form.circuit.name)

    def title_text(self) -> tuple[str, str, str]:
        """Name the room."""
        return "Log", "a session entered afterwards", ""

    @property
    def _field(self) -> str:
        assert self.form is not None
        return self.form.fields[self.chosen]

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The fields."""
        del lines
        if self.form is None:
            return PageLayout((row("  ", TextSpan("Reading circuits", "dim")),))
        rows, self._row_ranges = words.form_rows(self.form, self.chosen, cells)
        return PageLayout(rows, self._row_ranges[self.chosen])

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each field stands."""
        return self._row_ranges

    def can_choose(self) -> bool:
        """Whether the form is there."""
        return self.form is not None

    choose_row = replace(CHOOSE_ROW, label="which", drop=2, shown="↑ ↓")

    @action("enter", "fill in", when=can_choose, held=ONCE)
    def fill_field(self) -> None:
        """Type the chosen line."""
        assert self.form is not None
        self._ask(self.form)

    @action(
        {"left": -1, "right": 1},
        "another circuit",
        drop=1,
        when=lambda self: self.can_choose() and self._field == "circuit",
    )
    def choose_circuit(self, step: int) -> None:
        """Choose another circuit."""
        assert self.form is not None
        self.form = words.chosen(self.form, self.form.at + step)

    @action("k", "save", when=can_choose, held=ONCE)
    def save_entry(self) -> None:
        """Put it in the log."""
        assert self.form is not None
        keeper, done = self.services.diary(), self.form.done()
        self.run_worker(
            lambda: keeper.enter_session(done),
            name="keep",
            thread=True,
            exclusive=True,
            group="keep",
            exit_on_error=False,
        )

    go_back = replace(BACK, label="cancel", sentence="Go back; nothing is entered.")

    def _ask(self, form: EntryForm) -> None:
        field = self._field
        today = self.services.clock.wall().date()

        def take(text: str) -> str:
            try:
                self.form = words.typed(form, field, text, today)
            except ValueError as error:
                message = str(error)
                return f"{sentence_case(message)}."
            return ""

        value = words.value_of(form, field)
        self.ask(words.hint_of(field), take, value=value, limit=NOTE_LIMIT)

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say why nothing was entered."""
        del name
        text = str(error)
        self.say(f"{sentence_case(text)}.")
