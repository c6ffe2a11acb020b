"""Everything but the screen: one home's services, made once and handed to their users.

A service reads files when it is asked, not before, and imports what is heavy where
it is used, so that the first screen does not wait. None of them knows this module.
"""

from __future__ import annotations

from contextlib import suppress
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from whistlestop.driver.circuits import CircuitService
from whistlestop.driver.guard import Guard
from whistlestop.driver.keymap import Keymap, build_keymap
from whistlestop.driver.kit import KitService
from whistlestop.driver.library import LibraryService
from whistlestop.driver.log import LogService
from whistlestop.driver.memory import MemoryService
from whistlestop.engine.clock import Clock, SystemClock
from whistlestop.errors import StoreError
from whistlestop.store.modes import close_old_ones
from whistlestop.store.places import Places
from whistlestop.store.settings.config import load_settings
from whistlestop.store.settings.values import Settings

if TYPE_CHECKING:
    from whistlestop.driver.audio_factory import AudioFactory
    from whistlestop.driver.diary import DiaryKeeper
    from whistlestop.driver.logbook import Logbook
    from whistlestop.driver.sessions import SessionService
    from whistlestop.driver.wellbeing import Wellbeing


class Services:
    """Circuits, library, kit, log, sessions and sound of one home."""

    def __init__(
        self,
        home: Path | None = None,
        *,
        clock: Clock | None = None,
        samples: bool = True,
    ) -> None:
        """Find places and settings, close what was left open; nothing is made yet.

        Args:
            home: Everything lies below it; None takes the system's usual folders.
            clock: What tells the time; None takes the machine's.
            samples: Whether the circuits that ship are among the circuits.

        Raises:
            StoreError: The home is no folder.
        """
        self.places = Places(home)
        close_old_ones(self.places)
        self.guard = Guard(self.places)
        self.clock: Clock = clock or SystemClock()
        loaded = load_settings(self.places.config_file)
        self.settings: Settings = loaded.settings
        self.keymap: Keymap = build_keymap(self.settings.keys)
        self.problems: tuple[str, ...] = (
            *(str(problem) for problem in loaded.problems),
            *self.keymap.problems,
        )
        self.library = LibraryService(self.places)
        self.circuits = CircuitService(self.places, self.library, samples=samples)
        self.kit = KitService(self.places, self.clock)
        self.log = LogService(self.places, self.clock)
        self.memory = MemoryService(self.places, self.clock)

    @cached_property
    def audio(self) -> AudioFactory:
        """What opens players and voices."""
        from whistlestop.driver.audio_factory import AudioFactory

        return AudioFactory(self.places, self.settings.sound, self.library.drills)

    @cached_property
    def sessions(self) -> SessionService:
        """What starts sessions and takes them up again."""
        from whistlestop.driver.sessions import SessionService
        from whistlestop.driver.starting import SessionHome

        home = SessionHome(
            self.places, self.clock, lambda: self.audio, self.kit, self.guard
        )
        return SessionService(home, self.settings.session, self.log)

    def logbook(self) -> Logbook:
        """The log as it stands now, with the diary laid over it."""
        from whistlestop.driver.logbook import Logbook

        return Logbook(self.log, self.library)

    @cached_property
    def wellbeing(self) -> Wellbeing:
        """What has to be answered before anything is proposed."""
        from whistlestop.driver.wellbeing import Wellbeing

        return Wellbeing(self.log, self.logbook, self.diary)

    def diary(self) -> DiaryKeeper:
        """What writes to the diary."""
        from whistlestop.driver.diary import DiaryKeeper

        return DiaryKeeper(self.log, self.library)

    def read_ahead(self) -> None:
        """Read the diary before it is needed; its problems are reported at its use."""
        with suppress(StoreError):
            _ = self.logbook().diary
