"""One item of the log, opened: its completion log with every version, and amending.

Owns the keys and what is about to be amended. The lines are `review`'s, the writing
is the diary keeper's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from whistlestop.domain.effort import Effort
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
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.log.lines import text_rows
from whistlestop.tui.rooms.safety.discomfort import DiscomfortScreen
from whistlestop.tui.widgets.key_line import KeyEntry
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import Row, TextSpan, row

WHOLE: Final = 0


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
    if entry is not None:
        return _opened_entry(entry)
    shown = logbook.shown(item_id, scripted=True)
    lines = record_lines(shown.record)
    if shown.versions:
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
        text += f"; {one.site}, {one.side}, {one.level} of 10"
    return f'{text}; note "{record.note}"' if record.note else text


def _opened_entry(entry: DiaryEntry) -> OpenRecord:
    from whistlestop.review.amended import version_lines

    values = entry.values
    names = {"length_ms": "length"}
    lines = [str(values.get("sport") or values.get("name") or entry.kind)]
    for name, value in values.items():
        if name == "heart":
            lines.append(f"  {heart_text(heart_of(value), values['length_ms'])}")
            continue
        details = f"{value / 60_000:g} min" if name == "length_ms" else f"{value}"
        lines.append(f"  {names.get(name, name)}: {details}")
    lines += ["", "versions"]
    lines += [f"  {line}" for line in version_lines(entry.versions, made=True)]
    if entry.kind not in {"training", "session"}:
        return OpenRecord(tuple(lines), {})
    text = values.get("effort")
    whole = None if text is None else Effort(round(text * 2))
    return OpenRecord(tuple(lines), {WHOLE: whole}, str(values.get("note", "")))


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

    def standing_text(self) -> str:
        """What a digit would amend, or what is about to be amended."""
        if self.is_asking:
            return self.asked_text()
        if self.has_pending:
            text = "not entered" if self.pending is None else f"{self.pending}"
            return f"Effort for {self._which}: {text}. Enter saves, Esc cancels."
        if self.found is None or not self.found.efforts:
            return ""
        return f"Digits change the effort for {self._which}; n the note, x discomfort."

    @property
    def _which(self) -> str:
        return "the session" if self.loop == WHOLE else f"loop {self.loop}"

    def key_entries(self) -> Sequence[KeyEntry]:
        """Read on, amend, or go back."""
        if self.is_asking:
            return self.asked_keys()
        if self.has_pending:
            return [KeyEntry("Enter", "save"), KeyEntry("Esc", "cancel")]
        entries = [KeyEntry("Esc", "back"), KeyEntry("↑ ↓", "scroll", 1)]
        if self.found is None or not self.found.efforts:
            return entries
        entries.append(KeyEntry("0-9", "effort", 2))
        if len(self.found.efforts) > 1:
            entries.append(KeyEntry("← →", "which loop", 3))
        return [*entries, KeyEntry("n", "note", 4), KeyEntry("x", "discomfort", 5)]

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

    def press(self, key: str) -> bool:
        """Amend, scroll, or go back."""
        if self.is_asking:
            return self.press_asking(key)
        if self._press_effort(key) or self._press_amend(key):
            return True
        lines = max(1, self.page.lines - 2)
        steps = {
            "down": 1,
            "up": -1,
            "pagedown": lines,
            "pageup": -lines,
            "space": lines,
            "home": -self.page.count,
            "end": self.page.count,
        }
        if key == "escape":
            self.dismiss(self._changed)
            return True
        if key not in steps:
            return False
        self.page.move_by(steps[key])
        self.follow = False
        return True

    def _press_effort(self, key: str) -> bool:
        """Digits say an effort; it is written only once Enter saves it."""
        efforts = self.found.efforts if self.found else {}
        if self.has_pending and key in {"enter", "escape"}:
            if key == "enter" and self.debounced(key):
                self._amend(self._effort_amendment())
            self.has_pending = False
            return True
        if not efforts:
            return False
        if key in {"left", "right"} and len(efforts) > 1:
            loops = sorted(efforts)
            step = 1 if key == "right" else -1
            self.loop = loops[(loops.index(self.loop) + step) % len(loops)]
            self.has_pending = False
            return True
        present = self.pending if self.has_pending else efforts.get(self.loop)
        typed = self._keys.press(key, self.now_ms(), present)
        if typed is None:
            return False
        self.pending, self.has_pending = typed.effort, True
        return True

    def _effort_amendment(self) -> Amendment:
        if self.loop == WHOLE:
            return Amendment(effort=self.pending, sets_effort=True)
        return Amendment(efforts={self.loop: self.pending})

    def _press_amend(self, key: str) -> bool:
        if self.found is None or not self.found.efforts or key not in {"n", "x"}:
            return False
        if not self.debounced(key):
            return True
        if key == "x":
            self.app.push_screen(DiscomfortScreen(), self._take_discomfort)
        else:
            self.ask(
                "The new note",
                self._note,
                value=self.found.note,
                limit=NOTE_LIMIT,
            )
        return True

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
