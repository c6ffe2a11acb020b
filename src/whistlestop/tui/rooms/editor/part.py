"""A room within the editor: it changes the same circuit, with the same undo.

Owns the keys that all of them have. The history stays with the editor; what the lines
mean, each room says.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final, Protocol

from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.circuit.edit import EditHistory
from whistlestop.domain.text import sentence_case
from whistlestop.errors import RefusedError
from whistlestop.tui.rooms.editor.live import LiveFacts
from whistlestop.tui.rooms.frame.actions import Action, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.room import BACK, QUIET_HELP

_TYPED_LIMIT: Final = 400
# Keys that move the chosen line, and by how many.
MOVES: Final = {"shift+up": -1, "K": -1, "shift+down": 1, "J": 1}


class Editing(Protocol):
    """What a room within the editor needs of it."""

    history: EditHistory

    @property
    def circuit(self) -> Circuit:
        """The circuit as it stands."""
        ...

    @property
    def now(self) -> LiveFacts:
        """What there is to say of it."""
        ...

    @property
    def state(self) -> str:
        """Whether it is saved, in a word."""
        ...

    def take_step(self, words: str, circuit: Circuit) -> None:
        """Go on with another circuit; `words` name the step for undo."""
        ...

    def step_back(self) -> str:
        """Undo the last step, and say which; RefusedError where there is none."""
        ...

    def step_forth(self) -> str:
        """Do the step that was undone last again, and say which."""
        ...


def sentence(refused: RefusedError) -> str:
    """A refusal as a sentence."""
    text = str(refused)
    return f"{sentence_case(text)}."


class StepRoom(AskingRoom[None]):
    """A room in which a typed line makes a step."""

    def take_step(self, words: str, circuit: Circuit) -> None:
        """Go on with another circuit; `words` name the step for undo."""
        raise NotImplementedError

    def perform(self, one: Action, key: str) -> None:
        """Do it; a step that cannot be made says why."""
        try:
            super().perform(one, key)
        except RefusedError as refused:
            self.say(sentence(refused))

    def ask_for(
        self, asked: str, words: str, made: Callable[[str], Circuit], value: str = ""
    ) -> None:
        """Ask for a line that makes a step; one that cannot be is refused and stays."""

        def take(typed: str) -> str:
            try:
                self.take_step(words, made(typed))
            except RefusedError as refused:
                return sentence(refused)
            return ""

        self.ask(asked, take, value=value, limit=_TYPED_LIMIT)


class EditorPart(StepRoom):
    """Lines of the editor's circuit, in a room of their own."""

    help_keys = QUIET_HELP

    def __init__(self, editing: Editing) -> None:
        """Open it over an editor."""
        super().__init__()
        self.editing = editing
        self._row_ranges: list[tuple[int, int]] = []

    @property
    def circuit(self) -> Circuit:
        """The circuit as it stands."""
        return self.editing.circuit

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each line stands."""
        return self._row_ranges

    @action("u ctrl+z", lambda self: "undo" * bool(self.editing.history.past), drop=3)
    def undo(self) -> None:
        """Take the last step back."""
        self.say(self.editing.step_back())
        self.settle_chosen()

    @action("U ctrl+y")
    def redo(self) -> None:
        """Do again the step that was taken back."""
        self.say(self.editing.step_forth())
        self.settle_chosen()

    go_back = BACK

    def settle_chosen(self) -> None:
        """Choose a line that is there, after steps that took lines away."""

    def take_step(self, words: str, circuit: Circuit) -> None:
        """Take a step of the editor's."""
        self.editing.take_step(words, circuit)
        self.settle_chosen()
