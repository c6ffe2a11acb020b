"""'What you have': kit, sore places and minutes in a few keys, then a circuit.

Owns the keys and the writing of kit.toml and limits.toml through the store. The values
are made in `setup_state`, the words in `setup_lines`.
"""

from __future__ import annotations

from collections.abc import Sequence

from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.limits import Limit
from whistlestop.driver.guard import LIMITS, UNREAD
from whistlestop.driver.services import Services
from whistlestop.errors import ProblemsFound, StoreError
from whistlestop.library.whole import library_means
from whistlestop.store.kit.file import write_kit
from whistlestop.store.kit.limits import write_limits
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.kit.setup_lines import MOST_SHOWN, listing_rows, suited_rows
from whistlestop.tui.rooms.kit.setup_state import BOTTLE_KEY, PLAIN, SORE, TYPED, Setup
from whistlestop.tui.rooms.sheet.fit_circuits import FittedCircuit, best_suited
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout

_TYPABLE = {"space": " ", "full_stop": ".", "comma": ",", "x": "x", "k": "k", "g": "g",
            "l": "l", "b": "b"}  # fmt: skip
_MOST_TYPED = 40


class SetupRoom(ChoosingRoom[None]):
    """Lists what there is in a few keys, then offers the circuits that suit it best."""

    # Every letter is a thing here, and no word too many is to be read.
    has_help = False

    def __init__(self) -> None:
        super().__init__()
        self.setup = Setup()
        self.typing: tuple[str, str] | None = None
        self.found: tuple[FittedCircuit, ...] | None = None
        self._read: tuple[Kit | None, tuple[Limit, ...]] = (None, ())
        self._unread = ""
        self._row_ranges: list[tuple[int, int]] = []

    def on_mount(self) -> None:
        """Begin with what is listed already."""
        super().on_mount()
        kit: Kit | None = None
        limits: tuple[Limit, ...] = ()
        try:
            kit = self.services.kit.owned()
        except ProblemsFound as found:
            self.say(f"{found.problems[0]}")
        self._unread = self.services.guard.call(
            LIMITS, self.services.kit.limits_problem, UNREAD
        )
        if self._unread:
            self.say(self._unread)
        else:
            limits = self.services.kit.limits()
        self._read = kit, limits
        self.setup = Setup.of(kit, limits, self.services.clock.wall().date())

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room."""
        return ("Kit and minutes" if self.found is None else "What fits"), "", ""

    def key_entries(self) -> Sequence[KeyEntry]:
        """What can be done at this point."""
        if self.typing is not None:
            return [KeyEntry("Enter", "done"), KeyEntry("Esc", "back")]
        if self.found is None:
            return [
                KeyEntry("a-z", "mark"),
                KeyEntry("Enter", "what fits"),
                KeyEntry("Esc", "back"),
            ]
        back = KeyEntry("Esc", "back")
        if not self.found:
            return [back]
        return [KeyEntry("Space", "start"), KeyEntry("Enter", "sheet"), back]

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The listing, or what fits."""
        del lines
        if self.found is None:
            return PageLayout(listing_rows(self.setup, self.typing, cells))
        rows, self._row_ranges = suited_rows(
            self.found, self.setup.minutes, self.chosen, cells
        )
        focus = self._row_ranges[self.chosen] if self._row_ranges else None
        return PageLayout(rows, focus)

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each circuit stands on the page."""
        return self._row_ranges

    # Keys

    def press(self, key: str) -> bool:
        """Type a load; switch a thing; type minutes; look; choose."""
        if self.typing is not None:
            return self._type(*self.typing, key)
        if self.found is not None:
            return self._choose_circuit(key)
        if key in TYPED and self.debounced(key):
            self.typing = (key, self.setup.loads(key))
        elif key == BOTTLE_KEY or key in PLAIN or key in SORE:
            # A key still held from the sheet that opened this room switches nothing.
            if self.debounced(key, on_arrival=False):
                self.setup = self.setup.toggled(key)
        elif key == "backspace" or (len(key) == 1 and key in "0123456789"):
            self.setup = self.setup.with_minutes(key)
        elif key == "enter":
            if self.debounced(key, on_arrival=False):
                self._look()
        elif key == "escape":
            self.dismiss(None)
        else:
            return key in TYPED
        return True

    def _type(self, thing: str, text: str, key: str) -> bool:
        match key:
            case "enter":
                try:
                    self.setup = self.setup.with_loads(thing, text)
                    self.typing = None
                except ValueError as error:
                    self.say(f"{error}.")
            case "escape":
                self.typing = None
            case "backspace":
                self.typing = (thing, text[:-1])
            case _:
                digit = key if len(key) == 1 and key in "0123456789" else ""
                more = digit or _TYPABLE.get(key, "")
                self.typing = (thing, (text + more)[:_MOST_TYPED])
        return True

    def _choose_circuit(self, key: str) -> bool:
        if self._row_ranges and self.move(key):
            return True
        match key:
            case "enter" if self.found:
                if self.debounced(key):
                    self._open(self.found[self.chosen])
            case "space" if self.found:
                if self.debounced(key):
                    self.rooms.begin(self.found[self.chosen].draft.plan)
            case "escape":
                self.found, self.chosen = None, 0
            case _:
                return False
        return True

    def _open(self, one: FittedCircuit) -> None:
        # Imported here: the sheet opens this room.
        from whistlestop.tui.rooms.sheet.room import SheetRoom

        self.app.push_screen(SheetRoom(one.draft.circuit, one.draft))

    # Keeping and looking

    def _look(self) -> None:
        """Save the listing, then make every circuit suit it, in a thread."""
        if self._unread:
            # Nor is the file written over: somebody's limits stand in it.
            self.say(self._unread)
            return
        text = _save(self.services, self.setup, self._read)
        if text:
            self.say(text)
        else:
            self._read = self.setup.kit, self.setup.limits
        setup, services = self.setup, self.services
        minutes = int(setup.minutes) if setup.minutes else None
        self.run_worker(
            lambda: _suited(services, setup, minutes),
            name="suited",
            thread=True,
            exclusive=True,
            exit_on_error=False,
        )

    def take_result(self, name: str, result: object) -> None:
        """Show what fits, the best one chosen."""
        del name
        if isinstance(result, tuple):
            self.found, self.chosen = result, 0


def _suited(
    services: Services, setup: Setup, minutes: int | None
) -> tuple[FittedCircuit, ...]:
    means = library_means(setup.kit, setup.limits, setup.on, services.library.whole())
    circuits = [one.circuit for one in services.circuits.find_all().circuits.values()]
    return best_suited(circuits, means, minutes)[:MOST_SHOWN]


def _save(
    services: Services, setup: Setup, read: tuple[Kit | None, tuple[Limit, ...]]
) -> str:
    """Write what has changed; say what could not be saved, or nothing."""
    try:
        if setup.kit != read[0]:
            write_kit(services.places.kit_file, setup.kit)
        if setup.limits != read[1]:
            write_limits(services.places.limits_file, setup.limits)
    except StoreError as error:
        return f"Used for now, but not saved: {error}."
    return ""
