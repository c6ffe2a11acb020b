"""The one place where a session calls what it can do without.

Clock, engine and journal are the session. Sound, voice, coach, limits, names and
pictures only go with it: a fault in one of them is shown once, written to the fault
file, and the session goes on without that part.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

from whistlestop.errors import ProblemsFound, WhistlestopError
from whistlestop.sound.port import PlannedCue, SoundPort, SoundReport, SoundStatus

if TYPE_CHECKING:
    from whistlestop.store.places import Places

Result = TypeVar("Result")

# The parts, as they stand at the beginning of a sentence.
SOUND: Final = "The sound"
VOICE: Final = "The voice"
CUES: Final = "The planning of cues"
COACH: Final = "The coach"
DIARY: Final = "The diary"
LIMITS: Final = "The list of limits"
NAMES: Final = "The list of athletes"
EXCHANGE: Final = "The choice of stations"
QUESTIONS: Final = "This question"
CAUTIONS: Final = "The list of cautions"
KEY_POINTS: Final = "The list of drills"
PICTURE: Final = "The large picture"
LINES: Final = "The text of an event"
OUTPUT: Final = "The output"
AWAKE: Final = "Keeping the machine awake"
NOTICE: Final = "The first notice"
KEYS: Final = "The list of keys"
HEALTH: Final = "The list of signs"
CLOSE_OUT: Final = "The close-out"
SESSIONS: Final = "The list of sessions"

UNREAD: Final = "The limits cannot be read: nothing is exchanged until they are."
_LOST: Final = SoundStatus("lost", detail="The sound failed.")
_SILENT: Final = SoundStatus("lost", detail="The sound failed.", muted=True)


class Guard:
    """Calls parts that may fail, and remembers which of them did."""

    def __init__(self, places: Places | None = None) -> None:
        """Begin with every part whole.

        Args:
            places: Where the fault file is; None writes none.
        """
        self._places = places
        self._lost: set[str] = set()
        self._shown: set[str] = set()
        self._messages: deque[str] = deque()

    def call(
        self, part: str, function: Callable[[], Result], without: Result
    ) -> Result:
        """Call a part of the program that a session can do without.

        A problem in somebody's file can be mended while the session goes on, so
        that part is asked again; any other fault takes the part out.

        Args:
            part: Its name, one of those above.
            function: The call.
            without: What stands in where the call fails, or failed before.
        """
        if part in self._lost:
            return without
        try:
            return function()
        except WhistlestopError as error:
            self.show(sentence(error))
        except Exception as error:  # noqa: BLE001 - that is what this is for
            self._lose(part, error)
        return without

    def has_lost(self, part: str) -> bool:
        """Whether a part is out for this session."""
        return part in self._lost

    def show(self, message: str) -> None:
        """Have a message shown, once in a session; an empty one is none."""
        if message and message not in self._shown:
            self._shown.add(message)
            self._messages.append(message)

    def next_message(self) -> str:
        """The oldest message that nobody has shown yet, or nothing."""
        return self._messages.popleft() if self._messages else ""

    def messages(self) -> tuple[str, ...]:
        """All messages that nobody has shown yet, the oldest first."""
        found = tuple(self._messages)
        self._messages.clear()
        return found

    def begin_session(self) -> None:
        """Try every part again; messages that wait to be shown still wait."""
        self._lost.clear()
        self._shown = set(self._messages)

    def _lose(self, part: str, error: Exception) -> None:
        # Imported here: nothing has to be loaded as long as nothing fails.
        from whistlestop.driver.fault import fault_file

        self._lost.add(part)
        path = None if self._places is None else fault_file(error, self._places)
        where = f"; details: {path}" if path else ""
        self.show(f"{part} failed ({_why(error)}); the session goes on{where}")


def _why(error: Exception) -> str:
    if not isinstance(error, OSError):
        return type(error).__name__
    from whistlestop.store.places import in_text

    return in_text(error)


def sentence(error: WhistlestopError) -> str:
    """One line for an error; of several problems the first, and how many more."""
    if not isinstance(error, ProblemsFound):
        return " ".join(str(error).split())
    first, *others = error.problems
    more = f" (and {len(others)} more)" if others else ""
    return f"{first}{more}"


class GuardedSound:
    """A sound port whose faults end no session: then the terminal's bell stands in."""

    def __init__(self, port: SoundPort, guard: Guard) -> None:
        """Stand before a port."""
        self.port = port
        self._guard = guard
        self._muted = False

    def plan(self, epoch: int, cues: Sequence[PlannedCue]) -> None:
        """Hand cues on."""
        self._call(lambda: self.port.plan(epoch, cues))

    def clear(self, epoch: int) -> None:
        """Withdraw what is older."""
        self._call(lambda: self.port.clear(epoch))

    def now(self, cue: str) -> None:
        """Play at once."""
        self._call(lambda: self.port.now(cue))

    def load(self, cue: str, path: Path) -> None:
        """Add a sound."""
        self._call(lambda: self.port.load(cue, path))

    def offset(self, offset_ms: int) -> None:
        """Set the offset."""
        self._call(lambda: self.port.offset(offset_ms))

    def volume(self, percent: int) -> None:
        """Set the level."""
        self._call(lambda: self.port.volume(percent))

    def mute(self, on: bool) -> None:  # noqa: FBT001 - as in the port
        """Silence everything or undo it, the bell that stands in too."""
        self._muted = on
        self._call(lambda: self.port.mute(on))

    def status(self) -> SoundStatus:
        """How the port stands; lost where it failed."""
        instead = _SILENT if self._muted else _LOST
        return self._guard.call(SOUND, self.port.status, instead)

    def reports(self) -> list[SoundReport]:
        """What the port reported."""
        return self._guard.call(SOUND, self.port.reports, [])

    def close(self) -> None:
        """End it, also where it failed before."""
        Guard().call(SOUND, self.port.close, None)

    def _call(self, function: Callable[[], None]) -> None:
        self._guard.call(SOUND, function, None)
