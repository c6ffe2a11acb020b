"""The library: stations and drills to look up, and to take into a circuit.

Owns loading, typing and the keys; the words stand in `library_lines` and
`library_card_lines`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal

from whistlestop.driver.services import Services
from whistlestop.tui.rooms.frame.actions import FRESH, ONCE, action
from whistlestop.tui.rooms.frame.choosing import CHOOSE_ROW, ChoosingRoom
from whistlestop.tui.rooms.frame.filtering import (
    FilterEntry,
    FilterRoom,
    group_row,
    narrowed,
    typed_row,
)
from whistlestop.tui.rooms.frame.room import QUIET_HELP, SCROLL
from whistlestop.tui.rooms.frame.words import counted
from whistlestop.tui.rooms.library.card_lines import (
    Card,
    NeighbourStation,
    drill_card,
    station_card,
    ways,
)
from whistlestop.tui.rooms.library.known import KnownLibrary, read_known
from whistlestop.tui.rooms.library.lines import (
    ALL,
    DRILLS,
    STATION_SHELVES,
    EntryDetails,
    drill_entries,
    entry_rows,
    station_entries,
)
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, row

ASIDE_FROM: Final = 112
_WIDEST: Final = 88
_LEAST: Final = 62
HINT: Final = "Type to find: squat, band, quiet, low ceiling, own."
Takes = Literal["", "station", "drill"]


class LibraryRoom(FilterRoom[str | None]):
    """Stations and drills. Where something is to be taken, it gives the id back."""

    def __init__(
        self, *, takes: Takes = "", at: str = "", known: KnownLibrary | None = None
    ) -> None:
        """Open the library.

        Args:
            takes: "station" or "drill": choose one, its id is the result.
            at: The id that is chosen at first.
            known: What is known, where somebody has read it already.
        """
        super().__init__()
        self.takes: Takes = takes
        self.known: KnownLibrary | None = None
        self._given = known
        self._at = at
        self._entries: tuple[FilterEntry[EntryDetails], ...] = ()
        self._groups: tuple[str, ...] = ()
        self._found: list[FilterEntry[EntryDetails]] = []
        self._row_ranges: list[tuple[int, int]] = []

    def on_mount(self) -> None:
        """Read in a thread; the room is on screen meanwhile."""
        super().on_mount()
        if self._given is not None:
            self.take_result("read", self._given)
            return
        services: Services = self.services
        self.run_worker(
            lambda: read_known(services),
            name="read",
            thread=True,
            exit_on_error=False,
        )

    def take_result(self, name: str, result: object) -> None:
        """Show what is known."""
        del name
        if not isinstance(result, KnownLibrary):
            return
        self.known = result
        if self.takes == "drill":
            self._entries = drill_entries(result, by_kind=True)
            kinds = dict.fromkeys(entry.section for entry in self._entries)
            self._groups = (ALL, *kinds)
        elif self.takes == "station":
            self._entries, self._groups = station_entries(result), STATION_SHELVES
        else:
            self._entries = (*station_entries(result), *drill_entries(result))
            self._groups = (*STATION_SHELVES, DRILLS)
        self.narrow()
        ids = [entry.value.id for entry in self._found]
        self.chosen = ids.index(self._at) if self._at in ids else 0
        if result.problems_found:
            self.say(result.problems_found[0])

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say that nothing could be read."""
        del name
        self.say(f"The library could not be read: {error}")

    @property
    def entry(self) -> FilterEntry[EntryDetails] | None:
        """The chosen entry."""
        return self._found[self.chosen] if self._found else None

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room, what is to be taken, and how much there is."""
        room = {"": "Library", "station": "Take a station", "drill": "Take a drill"}
        if self.known is None:
            return room[self.takes], "", ""
        drills = sum(entry.value.is_drill for entry in self._entries)
        stations = len(self._entries) - drills
        sentences = [counted(stations, "station")] if stations else []
        sentences += [counted(drills, "drill")] if drills else []
        return room[self.takes], ", ".join(sentences), ""

    def standing_text(self) -> str:
        """What the marks rest on."""
        known = self.known
        if known is not None and known.means.kit is None:
            return "Your kit list is empty, so nothing is marked missing."
        return ""

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """Shelves, what is typed, and the list; beside it a card, where it fits."""
        del lines
        known = self.known
        if known is None:
            return PageLayout((row("  ", TextSpan("Reading the library", "dim")),))
        wide = cells >= ASIDE_FROM
        own = min(_WIDEST, max(_LEAST, cells // 2) if wide else cells)
        head: list[Row] = [
            group_row(self._groups, self.section, own),
            typed_row(self.typed, len(self._found), own, HINT),
            BLANK,
        ]
        rows, self._row_ranges = entry_rows(self._found, self.chosen, own)
        if not rows:
            rows = [row("  ", TextSpan("No match. Esc clears the search.", "dim"))]
            return PageLayout(rows, head=head)
        focus = self._row_ranges[self.chosen]
        if not wide or self.entry is None:
            return PageLayout(rows, focus, head=head)
        beside = cells - own - 3
        details = self.entry.value
        card = card_of(known, details.id, -1, beside, is_drill=details.is_drill)
        title = row("  ", TextSpan(self.entry.name, "bold"))
        return PageLayout(rows, focus, (title, BLANK, *card.rows), beside, head)

    # Keys

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each entry stands on the page."""
        return self._row_ranges

    def group_count(self) -> int:
        """Regions, and drills."""
        return len(self._groups)

    def narrow(self) -> None:
        """List what is found on the open section."""
        section = self._groups[self.section] if self._groups else ALL
        self._found = narrowed(
            self._entries, "" if section == ALL else section, self.typed
        )

    @action("enter", "use it", when=lambda self: bool(self.takes), held=FRESH)
    def take_station(self) -> None:
        """Use the chosen station or drill."""
        if self.entry is not None:
            self.dismiss(self.entry.value.id)

    @action("enter", "its card", when=lambda self: not self.takes, held=ONCE)
    def open_card(self) -> None:
        """Open the card of the chosen station or drill."""
        if self.entry is not None:
            self._open(self.entry)

    @action(
        "right",
        lambda self: "card" * bool(self.takes),
        when=lambda self: self.entry is not None,
        held=ONCE,
    )
    def show_station(self) -> None:
        """Open the card of the chosen station or drill, to read it."""
        self.open_card()

    def _open(self, entry: FilterEntry[EntryDetails]) -> None:
        if self.known is not None:
            details = entry.value
            card = CardRoom(
                self.known,
                details.id,
                is_drill=details.is_drill,
                takes=bool(self.takes),
            )
            self.app.push_screen(card, self._taken)

    def _taken(self, taken: str | None) -> None:
        if taken is not None:
            self.dismiss(taken)


def card_of(
    known: KnownLibrary, key: str, chosen: int, cells: int, *, is_drill: bool
) -> Card:
    """The card of a station or a drill."""
    if is_drill:
        return drill_card(known, key, cells)
    return station_card(known, key, chosen, cells)


class CardRoom(ChoosingRoom[str | None]):
    """One card; Enter goes on to a neighbour, Esc the same way back.

    It gives an id back where something is to be taken and was.
    """

    help_keys = QUIET_HELP

    def __init__(
        self,
        known: KnownLibrary,
        key: str,
        *,
        is_drill: bool = False,
        takes: bool = False,
    ) -> None:
        """Open a card of what is known, by its id."""
        super().__init__()
        self.known, self.key = known, key
        self.is_drill, self.takes = is_drill, takes
        self._way_here: list[tuple[str, int]] = []
        self._card = Card(())

    def _ways(self) -> tuple[NeighbourStation, ...]:
        return () if self.is_drill else ways(self.known, self.key)

    def title_text(self) -> tuple[str, str, str]:
        """Name the station or drill, and whether it is one's own."""
        kind = "Drill" if self.is_drill else "Station"
        section = self.known.drills if self.is_drill else self.known.stations
        state = "your own" if self.key in self.known.own else ""
        return kind, section[self.key].name, state

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The card."""
        del lines
        self._card = card_of(
            self.known, self.key, self.chosen, cells, is_drill=self.is_drill
        )
        row_ranges = self._card.row_ranges
        focus = row_ranges[self.chosen] if row_ranges and self.chosen else None
        return PageLayout(self._card.rows, focus)

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where the neighbours stand."""
        return self._card.row_ranges

    def can_choose(self) -> bool:
        """Whether there are neighbours to choose among."""
        return bool(self._ways())

    @action(
        "enter",
        lambda self: f"to the {_word(self._ways()[self.chosen])} one",
        when=can_choose,
        held=ONCE,
    )
    def open_neighbour(self) -> None:
        """Open the card of the chosen easier or harder one."""
        self._way_here.append((self.key, self.chosen))
        self._show(self._ways()[self.chosen].to, 0)

    @action("t", "use it", when=lambda self: self.takes, held=ONCE)
    def take_station(self) -> None:
        """Use this station or drill."""
        self.dismiss(self.key)

    @action("escape left backspace", "back")
    def go_back(self) -> None:
        """Go back the way you came."""
        if self._way_here:
            self._show(*self._way_here.pop())
        else:
            self.dismiss(None)

    choose_row = replace(CHOOSE_ROW, label="choose, scroll", drop=1, shown="↑ ↓")
    read_on = replace(SCROLL, when=lambda self: not self.can_choose())

    def _show(self, key: str, chosen: int) -> None:
        self.key, self.chosen = key, chosen
        self.page.move_by(-self.page.count)


def _word(way: NeighbourStation) -> str:
    return "harder" if way.is_harder else "easier"
