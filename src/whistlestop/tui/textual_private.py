"""The one place that leans on names which Textual keeps to itself.

Textual may change them in any version. `RELIED_ON` lists them, and a test holds each
against the Textual that is installed; nothing else in the program overrides or reads
a private name of Textual, which a test holds too.
"""

from __future__ import annotations

import shutil
from typing import Final

from rich.console import RenderableType
from textual.app import App
from textual.geometry import Size

# Each name with what would go wrong if Textual did without it.
RELIED_ON: Final = {
    "_handle_exception": "a fault would end the program before the record is closed",
    "_fatal_error": "a traceback with what was typed would stand on the screen",
    "_print_error_renderables": "Textual's own texts would be printed after a fault",
    "_close_messages_no_wait": "a fault would not end the program",
    "_exit_renderables": "Textual's own texts would be printed after a fault",
    "_exception": "the line about a fault could not be written",
    "_return_code": "the exit status after unreadable input would be 0",
    "_size": "a terminal without a size would be laid out for ever",
    "_driver": "a terminal without a size would be laid out for ever",
}
RELIED_ON_IN_DRIVERS: Final = {
    "_size": "a terminal without a size would be laid out for ever",
}


class FailsInOrder(App[None]):
    """An app that closes its record first when it fails, and shows no traceback.

    What derives from it fills in the hooks; none of them may raise.
    """

    def close_record(self) -> None:
        """Save what must not be lost; called first, and perhaps more than once."""

    def on_failed(self, error: Exception) -> None:
        """Hear, at the very end, of the fault that ended the app."""

    def on_unreadable_input(self) -> None:
        """Hear that the thread which reads the terminal could not go on."""

    @property
    def size(self) -> Size:
        """As Textual has it; a terminal without a size has one for all who ask.

        Its driver takes that for 80 x 24 and its console for 80 x 25. Left so, each
        layout asks for the other for ever, and no signal comes through.
        """
        if self._size is None and self._driver is not None:
            columns, lines = shutil.get_terminal_size()
            if self._driver._size is None and not self.is_headless:  # noqa: SLF001
                self._driver._size = (columns, lines)  # noqa: SLF001
        return super().size

    def _handle_exception(self, error: Exception) -> None:
        self.close_record()
        super()._handle_exception(error)

    def panic(self, *renderables: RenderableType) -> None:
        """End on a fault of the terminal's own thread, as on any other."""
        self.close_record()
        self._return_code = 1
        self.on_unreadable_input()
        super().panic(*renderables)

    def _fatal_error(self) -> None:
        # Textual's traceback has the values of variables in it: what was typed.
        self._close_messages_no_wait()

    def _print_error_renderables(self) -> None:
        self._exit_renderables.clear()
        if self._exception is not None:
            self.on_failed(self._exception)
