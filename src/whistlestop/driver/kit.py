"""What is owned in one home, and what is left out for a while."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from whistlestop.driver.guard import sentence
from whistlestop.engine.clock import Clock
from whistlestop.errors import WhistlestopError
from whistlestop.store.places import Places

if TYPE_CHECKING:
    from whistlestop.domain.kit.kit import Kit
    from whistlestop.domain.limits import Limit


class KitService:
    """Reads `kit.toml` and `limits.toml` each time they are asked for."""

    def __init__(self, places: Places, clock: Clock) -> None:
        """Prepare; nothing is read yet."""
        self._places = places
        self._clock = clock

    def owned(self) -> Kit | None:
        """What is owned; None where no kit file is there.

        Raises:
            ProblemsFound: The file has problems.
        """
        # Imported here, and below: a session alone needs neither.
        from whistlestop.store.kit.file import read_kit

        path = self._places.kit_file
        return read_kit(path) if os.path.lexists(path) else None

    def limits(self) -> tuple[Limit, ...]:
        """What is left out for a while; nothing where no file is there.

        Raises:
            ProblemsFound: The file has problems.
        """
        from whistlestop.store.kit.limits import read_limits

        path = self._places.limits_file
        return read_limits(path) if os.path.lexists(path) else ()

    def limits_problem(self) -> str:
        """Why nothing may be chosen or exchanged now; nothing where limits are read."""
        try:
            self.limits()
        except WhistlestopError as error:
            return f"{sentence(error)}: nothing is exchanged until it is read."
        return ""

    def limits_in_force(self) -> tuple[Limit, ...]:
        """What is to be left out today.

        Raises:
            ProblemsFound: The file has problems.
        """
        from whistlestop.domain.limits import in_force

        return in_force(self.limits(), self._clock.wall().date())
