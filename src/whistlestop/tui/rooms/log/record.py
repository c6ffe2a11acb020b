"""One item of the log, opened: its completion log with every version, and amending.

Owns the keys and what is about to be amended. The lines are `review`'s, the writing
is the diary keeper's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from whistlestop.domain.effort import Effort
from whistlestop.domain.sites import site_name
from whistlestop.driver.diary import Amendment, DiscomfortEntry
from whistlestop.driver.effort_keys import EffortKeys
from whistlestop.driver.services import Services
from whistlestop.engine.commands import EnterDiscomfort
from whistlestop.engine.entries import NOTE_LIMIT
from whistlestop.review.diary import DiaryEntry
from whistlestop.review.heart import heart_of, heart_text
from whistlestop.review.items import LogItem
from whistlestop.review.record import SessionRecord
from whistlestop.store.journal.index import SessionLine
from whistlestop.tui.rooms.frame.actions import EFFORT_KEYS, ONCE, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.room import SCROLL, SCROLL_KEYS
from whistlestop.tui.rooms.log.lines import text_rows
from whistlestop.tui.rooms.safety.discomfort import DiscomfortScreen
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import Row, TextSpan, row

WHOLE: Final = 0
NAMES: Final = {
    "length_ms": "length",
    "elapsed_ms": "elapsed",
    "start": "begun",
    "rate": "average heart rate",
    "files": "activity files",
}


@dataclass(frozen=True)
class OpenRecord:
    """An item as read: its lines, and what can be amended in it now.

    `efforts` go by loop, WHOLE for the session's own; loops without work have none.
    """

    lines: tuple[str, ...]
    efforts: dict[int, Effort | None]
    note: str = ""


def opened(services: Services, item_id: str) -> OpenRecord:
    """Read a session or an entry of the diary.

    Raises:
        UsageError: There is no such thing.
        StoreError: A journal or the diary cannot be read.
    """
    # Imported here: only this room reads whole records.
    from whistlestop.review.lines import record_lines

    logbook = services.logbook()
    entry = logbook.entry(item_id)
    has_record = entry is None or isinstance(entry.values.get("plan"), dict)
    if entry is not None and not has_record:
        return _opened_entry(entry)
    shown = logbook.shown(item_id, scripted=True)
    lines = record_lines(shown.record)
    if entry is not None:
        lines += ["", "versions", *(f"  {version}" for version in shown.versions)]
    elif shown.versions:
        heart = logbook.diary.amended(item_id)
        if "heart" in heart:
            ms = shown.record.session_ms
            lines.append(heart_text(heart_of(heart["heart"]), ms))
        elif "rate" in heart:
            lines.append(f"{NAMES['rate']} {heart['rate']}")
        lines += ["", "versions", f"  {_recorded_text(shown.recorded)}"]
        lines += [f"  {version}" for version in shown.versions]
    efforts: dict[int, Effort | None] = {WHOLE: shown.record.session_effort}
    efforts |= {loop.loop: loop.effort for loop in shown.record.loops if loop.worked}
    return OpenRecord(tuple(lines), efforts, shown.record.note)


def _recorded_text(record: SessionRecord) -> str:
    effort = record.session_effort
    loops = ", ".join(
        "not entered" if loop.effort is None else f"{loop.effort}"
        for loop in record.loops
        if loop.worked
    )
    text = f"recorded {record.wall}: effort {effort or 'not entered'}; loops {loops}"
    felt = [d.entry for d in record.discomforts]
    for one in felt:
        named = (site_name(one.site), one.side, f"{one.level} of 10")
        text += f"; {', '.join(filter(None, named))}"
    return f'{text}; note "{record.note}"' if record.note else text


def _opened_entry(entry: DiaryEntry) -> OpenRecord:
    from whistlestop.review.amended import version_lines

    values = entry.values
    lines = [str(values.get("sport") or values.get("name") or entry.kind)]
    for name, value in values.items():
        if name == "heart":
            lines.append(f"  {heart_text(heart_of(value), values['length_ms'])}")
        elif name != "rate" or "heart" not in values:
            lines.append(f"  {NAMES.get(name, name)}: {_details(name, value)}")
    lines += ["", "versions"]
    lines += [f"  {line}" for line in version_lines(entry.versions, made=True)]
    if entry.kind not in {"training", "session"}:
        return OpenRecord(tuple(lines), {})
    text = values.get("effort")
    whole = None if text is None else Effort(round(text * 2))
    return OpenRecord(tuple(lines), {WHOLE: whole}, str(values.get("note", "")))


def _details(name: str, value: object) -> str:
    """A value of an entry in words."""
    if isinstance(value, int) and name in {"length_ms", "elapsed_ms"}:
        return f"{value / 60_000:g} min"
    if name == "files" and isinstance(value, list):
        return str(len(value))  # their keys say nothing to a person
    return f"{value}"


class RecordScreen(AskingRoom[bool]):
    """Gives True where something was amended."""

    def __init__(self, item: LogItem | SessionLine) -> None:
        super().__init__()
        self.item_id, self.name_shown = item.id, item.name
        self.found: OpenRecord | None = None
        self.loop = WHOLE
        self.pending: Effort | None = None
        self.has_pending = False
        self._changed = False
        self._keys = EffortKeys()

    def on_mount(self) -> None:
        """Read it in a thread."""
        super().on_mount()
        self.look()

    def look(self) -> None:
        """Read it again in a thread."""
        services, item_id = self.services, self.item_id
        self._work("record", lambda: opened(services, item_id))

    def _work(self, name: str, act: Callable[[], object]) -> None:
        self.run_worker(act, name=name, thread=True, exit_on_error=False)

    def take_result(self, name: str, result: object) -> None:
        """Show what was read; after an amendment read it again."""
        if isinstance(result, OpenRecord):
            self.found = result
            if self.loop not in result.efforts:
                self.loop = WHOLE
        elif name == "amend":
            self._changed = True
            self.say("Changed. Earlier values are listed below.")
            self.look()

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Show what the reader or the diary answered."""
        del name
        self.found = self.found or OpenRecord((), {})
        self.say(str(error))

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and the circuit."""
        return "Completion log", self.name_shown, ""

    def idle_text(self) -> str:
        """What a digit would amend, or what is about to be amended."""
        if self.has_pending:
            text = "not entered" if self.pending is None else f"{self.pending}"
            return f"Effort for {self._which}: {text}. Enter saves, Esc cancels."
        if self.found is None or not self.found.efforts:
            return ""
        return f"Digits change the effort for {self._which}; n the note, x discomfort."

    @property
    def _which(self) -> str:
        return "the session" if self.loop == WHOLE else f"loop {self.loop}"

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The completion log, long lines wrapped under their own beginning."""
        del lines
        if self.found is None:
            return PageLayout((row("  ", TextSpan("Reading the journal", "dim")),))
        rows: list[Row] = []
        for line in self.found.lines:
            rows += text_rows(line, cells)
        return PageLayout(rows)

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Nothing is chosen among the lines."""
        return ()

    # Keys

    def _has_efforts(self) -> bool:
        return bool(self.found and self.found.efforts)

    @action("enter", "save", when=lambda self: self.has_pending, held=ONCE)
    def save(self) -> None:
        """Save the effort that was typed; every version stays."""
        self._amend(self._effort_amendment())
        self.has_pending = False

    @action("escape", "cancel", when=lambda self: self.has_pending)
    def cancel_effort(self) -> None:
        """Drop the effort that was typed."""
        self.has_pending = False

    @action("escape", "back", when=lambda self: not self.has_pending)
    def go_back(self) -> None:
        """Go back."""
        self.dismiss(self._changed)

    # Nothing is chosen here: the arrows scroll.
    choose_row = replace(
        SCROLL,
        label=lambda self: "scroll" * (not self.has_pending),
        keys={**SCROLL_KEYS, "space": "pagedown"},
    )

    @action(
        EFFORT_KEYS,
        lambda self: "effort" * (not self.has_pending),
        drop=2,
        when=_has_efforts,
        shown="0-9",
    )
    def amend_effort(self, key: str) -> None:
        """Type another effort; a comma adds a half, Backspace clears."""
        if not self.again:
            self._keys = EffortKeys()
        efforts = self.found.efforts if self.found else {}
        present = self.pending if self.has_pending else efforts.get(self.loop)
        typed = self._keys.press(key, self.now_ms(), present)
        if typed is not None:
            self.pending, self.has_pending = typed.effort, True

    @action(
        {"left": -1, "right": 1},
        lambda self: "which loop" * (not self.has_pending),
        drop=3,
        when=lambda self: self._has_efforts() and len(self.found.efforts) > 1,
    )
    def choose_loop(self, step: int) -> None:
        """Choose which loop the effort is for."""
        assert self.found is not None
        loops = sorted(self.found.efforts)
        self.loop = loops[(loops.index(self.loop) + step) % len(loops)]
        self.has_pending = False

    @action(
        "n",
        lambda self: "note" * (not self.has_pending),
        drop=4,
        when=_has_efforts,
        held=ONCE,
    )
    def write_note(self) -> None:
        """Type another note."""
        assert self.found is not None
        note = self.found.note
        self.ask("The new note", self._note, value=note, limit=NOTE_LIMIT)

    @action(
        "x",
        lambda self: "discomfort" * (not self.has_pending),
        drop=5,
        when=_has_efforts,
        held=ONCE,
    )
    def note_discomfort(self) -> None:
        """Add a discomfort: where, which side, how strong."""
        self.app.push_screen(DiscomfortScreen(), self._take_discomfort)

    def _effort_amendment(self) -> Amendment:
        if self.loop == WHOLE:
            return Amendment(effort=self.pending, sets_effort=True)
        return Amendment(efforts={self.loop: self.pending})

    def _note(self, typed: str) -> str:
        text = " ".join(typed.split())
        if self.found is not None and text != self.found.note:
            self._amend(Amendment(note=text))
        return ""

    def _take_discomfort(self, entry: EnterDiscomfort | None) -> None:
        if entry is not None:
            felt = DiscomfortEntry(entry.site, entry.side, entry.level)
            self._amend(replace(Amendment(), felt=(felt,)))

    def _amend(self, amendment: Amendment) -> None:
        keeper, item_id = self.services.diary(), self.item_id
        self._work("amend", lambda: keeper.amend(item_id, amendment))
