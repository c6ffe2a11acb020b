"""What a room may ask of the application: other rooms, the Floor, and the services."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from whistlestop.domain.plan.pairing import ALONE, Company

if TYPE_CHECKING:
    from whistlestop.domain.circuit.circuit import Circuit
    from whistlestop.domain.plan.plan import Plan
    from whistlestop.driver.services import Services
    from whistlestop.driver.starting import RunningSession
    from whistlestop.driver.wellbeing import MorningQuestion
    from whistlestop.tui.rooms.frame.actions import HelpLine


class Rooms(Protocol):
    """The application, as far as rooms know it."""

    services: Services
    running: RunningSession | None
    """The session that is held, until its record is closed."""

    def open_sheet(self, circuit: Circuit) -> None:
        """Show the station sheet of a circuit."""
        ...

    def begin(self, plan: Plan, company: Company = ALONE) -> None:
        """Start a session of a plan, alone or in company, on the Floor."""
        ...

    def again(self) -> None:
        """Start the last session's plan once more, on the Floor."""
        ...

    def resume(self, session_id: str) -> None:
        """Take an interrupted session up again, on the Floor."""
        ...

    def open_log(self) -> None:
        """Show the log."""
        ...

    def open_library(self) -> None:
        """Show the library: stations and drills."""
        ...

    def open_kit(self) -> None:
        """Show what is owned; limits are reached from there."""
        ...

    def open_editor(self, circuit: Circuit | None, path: Path | None) -> None:
        """Edit a circuit: None begins an empty one, no path a copy under a new name."""
        ...

    def open_setup(self, then: Callable[[None], None] | None = None) -> None:
        """Ask what is there and how long there is, and offer what fits.

        `then` is called once that room is left.
        """
        ...

    def open_builder(self) -> None:
        """Ask for a new circuit."""
        ...

    def open_next(self) -> None:
        """Show the next step for each circuit in use."""
        ...

    def open_weeks(self) -> None:
        """Show the weeks ahead."""
        ...

    def ask_well(self) -> None:
        """Show the page after a stop for health, if one waits for its answer."""
        ...

    def ask_morning(self, asked: MorningQuestion) -> None:
        """Ask how a discomfort was on the next morning."""
        ...

    def open_sounds(self) -> None:
        """Show and play what is heard."""
        ...

    def open_keys(self) -> None:
        """Show the keys of a session as they are mapped."""
        ...

    def open_room_keys(self, room: str, lines: Sequence[HelpLine]) -> None:
        """Show the keys of a room, a sentence each."""
        ...

    def leave(self) -> None:
        """Leave the program."""
        ...
