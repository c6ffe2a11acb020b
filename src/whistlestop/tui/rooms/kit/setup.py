"""'What you have': kit, sore places and minutes in a few keys, then a circuit.

Owns the keys and the writing of kit.toml and limits.toml through the store. The values
are made in `setup_state`, the words in `setup_lines`.
"""

from __future__ import annotations

import string
from collections.abc import Sequence
from contextlib import suppress

from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.limits import Limit
from whistlestop.driver.guard import LIMITS, UNREAD
from whistlestop.driver.practice import beyond, from_log
from whistlestop.driver.services import Services
from whistlestop.errors import ProblemsFound, StoreError, WhistlestopError
from whistlestop.library.whole import library_means
from whistlestop.store.kit.file import write_kit
from whistlestop.store.kit.limits import write_limits
from whistlestop.tui.rooms.frame.actions import FRESH, ONCE, action
from whistlestop.tui.rooms.frame.choosing import ChoosingRoom
from whistlestop.tui.rooms.frame.room import QUIET_HELP
from whistlestop.tui.rooms.kit.setup_lines import MOST_SHOWN, listing_rows, suited_rows
from whistlestop.tui.rooms.kit.setup_state import BOTTLE_KEY, PLAIN, SORE, TYPED, Setup
from whistlestop.tui.rooms.sheet.fit_circuits import FittedCircuit, best_suited
from whistlestop.tui.rooms.sheet.today import Draft
from whistlestop.tui.widgets.page import PageLayout

_TYPABLE = {"space": " ", "full_stop": ".", "comma": ",", "x": "x", "k": "k", "g": "g",
            "l": "l", "b": "b"}  # fmt: skip
_MOST_TYPED = 40


class SetupRoom(ChoosingRoom[None]):
    """Lists what there is in a few keys, then offers the circuits that suit it best."""

    # Every letter is a thing here, and no word too many is to be read.
    help_keys = QUIET_HELP

    def __init__(self) -> None:
        super().__init__()
        self.setup = Setup()
        self.typing: tuple[str, str] | None = None
        self.found: tuple[FittedCircuit, ...] | None = None
        self._is_new = False
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
        if self.found is None:
            return "Kit and minutes", "", ""
        # `level` under [training] of config.toml asks for more.
        return "What fits", "", "for somebody new" if self._is_new else ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The listing, or what fits."""
        del lines
        if self.found is None:
            return PageLayout(listing_rows(self.setup, self.typing, cells))
        rows, self._row_ranges = suited_rows(
            self.found,
            self.setup.minutes,
            self.chosen,
            cells,
        )
        focus = self._row_ranges[self.chosen] if self._row_ranges else None
        return PageLayout(rows, focus)

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each circuit stands on the page."""
        return self._row_ranges

    # Keys

    def can_choose(self) -> bool:
        """Whether what fits is listed."""
        return self.found is not None and super().can_choose()

    # Listing

    def _is_listing(self) -> bool:
        return self.typing is None and self.found is None

    # A key still held from the sheet that opened this room switches nothing.
    @action(
        {key: key for key in (BOTTLE_KEY, *PLAIN, *SORE)},
        "mark",
        when=_is_listing,
        held=FRESH,
        shown="a-z",
    )
    def toggle_thing(self, letter: str) -> None:
        """I have what stands beside this letter, or not; it is sore, or not."""
        self.setup = self.setup.toggled(letter)

    @action({key: key for key in TYPED}, when=_is_listing, held=ONCE)
    def type_loads(self, letter: str) -> None:
        """Type the loads of the kettlebells, the dumbbells or the backpack."""
        self.typing = (letter, self.setup.loads(letter))

    @action(
        {key: key for key in (*string.digits, "backspace")},
        when=_is_listing,
        shown="0-9 Backspace",
    )
    def type_minutes(self, key: str) -> None:
        """Type the minutes you have."""
        self.setup = self.setup.with_minutes(key)

    @action("enter", "what fits", when=_is_listing, held=FRESH)
    def show_fits(self) -> None:
        """Save the list, and show what fits best."""
        self._look()

    # Typing loads

    def _is_typing(self) -> bool:
        return self.typing is not None

    @action(
        {**{digit: digit for digit in string.digits}, **_TYPABLE},
        when=_is_typing,
        shown="12.5 kg, lb",
    )
    def type_sign(self, sign: str) -> None:
        """Type a load, or several with commas between."""
        thing, text = self._typed
        self.typing = (thing, (text + sign)[:_MOST_TYPED])

    @action("backspace", when=lambda self: self._is_typing() and bool(self._typed[1]))
    def delete_sign(self) -> None:
        """Delete the last sign typed."""
        thing, text = self._typed
        self.typing = (thing, text[:-1])

    @action("enter", "done", when=_is_typing)
    def accept_line(self) -> None:
        """Use the loads as they are typed."""
        try:
            self.setup = self.setup.with_loads(*self._typed)
            self.typing = None
        except ValueError as error:
            self.say(f"{error}.")

    @property
    def _typed(self) -> tuple[str, str]:
        assert self.typing is not None
        return self.typing

    # What fits

    def _has_fits(self) -> bool:
        return self.typing is None and bool(self.found)

    @property
    def _fitted(self) -> Draft:
        assert self.found is not None
        return self.found[self.chosen].draft

    @action("space", "start", when=_has_fits, held=ONCE)
    def start(self) -> None:
        """Start the chosen circuit: get ready, then the first station."""
        self.rooms.begin(self._fitted.plan)

    @action("enter", "sheet", when=_has_fits, held=ONCE)
    def open_sheet(self) -> None:
        """Open the sheet of the chosen circuit."""
        # Imported here: the sheet opens this room.
        from whistlestop.tui.rooms.sheet.room import SheetRoom

        self.app.push_screen(SheetRoom(self._fitted.circuit, self._fitted))

    @action("escape", "back")
    def go_back(self) -> None:
        """Go one step back: from loads or what fits to the list, and from there out."""
        if self.typing is not None:
            self.typing = None
        elif self.found is not None:
            self.found, self.chosen = None, 0
        else:
            self.dismiss(None)

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
            (self.found, self._is_new), self.chosen = result, 0


def _suited(
    services: Services, setup: Setup, minutes: int | None
) -> tuple[tuple[FittedCircuit, ...], bool]:
    """What suits best, and whether that is for somebody new."""
    hard: frozenset[str] = frozenset()
    with suppress(WhistlestopError):
        hard = beyond(services)
    past = from_log(services)
    library = services.library.whole()
    means = library_means(
        setup.kit, setup.limits, setup.on, library, past.last_kg, past.waiting
    )
    circuits = [one.circuit for one in services.circuits.find_all().circuits.values()]
    return best_suited(circuits, means, minutes, hard)[:MOST_SHOWN], bool(hard)


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
