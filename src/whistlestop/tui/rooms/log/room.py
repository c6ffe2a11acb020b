"""The log: all that was done, newest first, filtered, amended and added to.

Owns loading, choosing and the keys; the words stand in `log_lines`, what is typed is
read by `log_forms`, and the diary keeper writes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, cast

from textual.message import Message

from whistlestop.domain.effort import Effort
from whistlestop.domain.text import sentence_case
from whistlestop.driver.circuit_files import save_from_journal, without_file
from whistlestop.driver.diary import Amendment
from whistlestop.driver.logbook import MONTH_DAYS
from whistlestop.errors import StoreError
from whistlestop.review.diary import DiaryEntry
from whistlestop.review.items import Filter, ItemKind, LogItem
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.words import counted
from whistlestop.tui.rooms.log import forms
from whistlestop.tui.rooms.log import lines as words
from whistlestop.tui.rooms.log.record import RecordScreen
from whistlestop.tui.widgets.page import PageLayout, RowsOnDemand
from whistlestop.tui.widgets.safe_text import Row, TextSpan, row

if TYPE_CHECKING:
    from whistlestop.driver.activities import ActivityImport, ActivityPlan
    from whistlestop.tui.rooms.log.archive import ArchiveAnswer

CIRCUITS = frozenset({ItemKind.SESSION, ItemKind.ENTERED})
FIRST_LOOK = timedelta(weeks=8)
MONTH = timedelta(days=MONTH_DAYS - 1)
# Reading on would hold the painting up; a room that is left is not waited for.
PAINT_WAIT_S = 0.5


@dataclass(frozen=True)
class LogReading:
    """The whole log as read: what passes the filter, and what is to be asked of it.

    `elsewhere` are the circuits that are not among the athlete's own.
    """

    items: list[LogItem]
    problems: tuple[str, ...]
    elsewhere: frozenset[str]
    asks_of_blanks: bool


class LogRoom(AskingRoom[None]):
    """All that stands in the log, scripted sessions left out."""

    class Newest(Message):
        """The newest weeks, read before the rest."""

        def __init__(self, items: list[LogItem]) -> None:
            super().__init__()
            self.items = items

    def __init__(self) -> None:
        super().__init__()
        self.items: list[LogItem] | None = None
        self.wanted = Filter()
        self._row_ranges: list[tuple[int, int]] = []
        self.problems: tuple[str, ...] = ()
        self.is_whole = False
        self.asks_of_blanks = False
        self.elsewhere: frozenset[str] = frozenset()
        self._painted = Event()
        self._deleting = ""
        self._archive: Path | None = None
        self._done_text = ""
        self._import: tuple[ActivityImport, ActivityPlan] | None = None
        self._is_import_typed = False
        self._unrated: list[DiaryEntry] = []

    def on_mount(self) -> None:
        """Read the log in a thread; the room is on screen meanwhile."""
        super().on_mount()
        self.look()

    def look(self) -> None:
        """Read the log in a thread, as far as it is wanted."""
        services, wanted = self.services, self.wanted
        is_first = self.items is None
        since = services.clock.wall().date() - FIRST_LOOK

        def read() -> LogReading:
            # The newest weeks first, so that a log of years opens as soon.
            if is_first:
                newest = services.logbook().items(Filter(since=since))
                self.post_message(self.Newest(newest))
                self._painted.wait(PAINT_WAIT_S)
            logbook = services.logbook()
            items = logbook.items(wanted)
            return LogReading(
                items,
                logbook.problems,
                without_file(services, (item.circuit for item in items)),
                asks_of_blanks=logbook.asks_of_blanks(),
            )

        self.run_worker(
            read,
            name="log",
            thread=True,
            exclusive=True,
            group="log",
            exit_on_error=False,
        )

    def on_log_room_newest(self, event: Newest) -> None:
        """Show the newest weeks while the rest is read."""
        event.stop()
        if self.items is None and event.items:
            self._set_items(event.items)
            self.paint()
        self.call_after_refresh(self._painted.set)

    def _set_items(self, items: list[LogItem]) -> None:
        before = self._chosen_id()
        self.items = items
        self._row_ranges = [(i, i) for i in range(len(items))]
        ids = [item.id for item in items]
        last = max(0, len(ids) - 1)
        self.chosen = ids.index(before) if before in ids else min(self.chosen, last)

    def take_result(self, name: str, result: object) -> None:
        """Show what was read, the same item chosen; after a change read it again."""
        if isinstance(result, LogReading):
            self.problems, self.elsewhere = result.problems, result.elsewhere
            self.asks_of_blanks = result.asks_of_blanks
            self.is_whole = True
            self._set_items(result.items)
        elif name == "archive":
            self._show_archive(cast("ArchiveAnswer", result))
        elif name == "import" and isinstance(result, tuple):
            self._show_import(*result)
        elif name == "effort":
            if not self.is_asking:
                self.say("Entered; u undoes the last one.")
            self.look()
        elif name.startswith("write"):
            self.say(
                f"{self._done_text}{result if name == 'write-with-answer' else ''}."
            )
            self.look()

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say that the log cannot be read, or that nothing was written."""
        if name == "log":
            self.items = self.items or []
            self.say(f"The log could not be read: {error}")
            return
        self.say(sentence(error))

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room, count what is shown, and say what is filtered."""
        if self.items is None:
            return "Log", "", ""
        if not self.is_whole:
            return "Log", "the newest weeks", "reading on"
        text = forms.filter_text(self.wanted)
        sessions = sum(item.kind in CIRCUITS for item in self.items)
        count = counted(sessions, "session")
        if more := len(self.items) - sessions:
            count += f", {counted(more, 'other')}"
        return "Log", count, f"filter: {text}" if text else ""

    def idle_text(self) -> str:
        """The keys that write, and what a sign means."""
        if self.items is None:
            return ""
        writing = self.hint_text()
        if self.asks_of_blanks and not self.message:
            return f"{forms.BLANKS_QUESTION} {writing}"
        if self.problems and not self.message:
            more = counted(len(self.problems), "thing")
            which = "it" if len(self.problems) == 1 else "them"
            text = f"{more} to look at in the diary: `log verify` names {which}."
            return f"{text} {writing}"
        signs = " · – not entered · d averaged from loops"
        return f"{writing}{signs}" if self.items else writing

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """One line an item, made when it comes into view."""
        del lines
        if self.items is None:
            return PageLayout((row("  ", TextSpan("Reading the log", "dim")),))
        if not self.items:
            if self.wanted.is_empty:
                return PageLayout(words.empty_rows())
            return PageLayout(words.none_rows(forms.filter_text(self.wanted), cells))
        items, chosen = self.items, self.chosen
        today = self.services.clock.wall().date()

        def make(index: int) -> Row:
            return words.item_row(
                items[index], chosen=index == chosen, cells=cells, today=today
            )

        rows = RowsOnDemand(len(items), make)
        return PageLayout(
            rows, self._row_ranges[chosen], head=(words.header_row(cells),)
        )

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each item stands."""
        return self._row_ranges

    def _chosen_id(self) -> str:
        return self.items[self.chosen].id if self.items else ""

    # Keys

    def _has_items(self) -> bool:
        return bool(self.items)

    def _is_from_elsewhere(self) -> bool:
        """Whether the chosen session was done from no circuit that is there now."""
        if not self.items:
            return False
        item = self.items[self.chosen]
        return item.kind is ItemKind.SESSION and item.circuit in self.elsewhere

    def _is_filtered(self) -> bool:
        return not self.wanted.is_empty

    @action("enter", "open", when=_has_items, held=ONCE)
    def open_record(self) -> None:
        """Open what was planned and done."""
        assert self.items is not None
        item = self.items[self.chosen]
        self.app.push_screen(RecordScreen(item), self._after_record)

    @action(
        "f",
        lambda self: "filter" * (self._has_items() or self._is_filtered()),
        drop=3,
        held=ONCE,
    )
    def filter_log(self) -> None:
        """Show only what you type: a circuit, a sport, a month, effort over 7."""
        words_now = forms.filter_text(self.wanted)
        asked = f"Filter, for example: {forms.FILTER_HINT}. Leave empty to show all."
        self.ask(asked, self._filter, value=words_now, limit=200)

    @action(
        "p",
        lambda self: "plots" * (self._has_items() or self._is_filtered()),
        drop=2,
        held=ONCE,
    )
    def show_plots(self) -> None:
        """See the same in pictures."""
        # Imported here: only this key needs the plots.
        from whistlestop.tui.rooms.log.plots import PlotsRoom

        self.app.push_screen(PlotsRoom(wanted=self.wanted))

    @action(
        "tab",
        lambda self: "what changed" * (self._has_items() or self._is_filtered()),
        drop=2,
        held=ONCE,
    )
    def show_changes(self) -> None:
        """See what changed: loads, efforts, drills, left beside right."""
        # Imported here: only this key needs the sentences.
        from whistlestop.tui.rooms.log.changes import ChangesRoom

        self.app.push_screen(ChangesRoom(wanted=self.wanted))

    @action("escape", "back")
    def go_back(self) -> None:
        """Go back; while a filter is set, clear it first."""
        if self._is_filtered():
            self._filter("")
        else:
            self.dismiss(None)

    @action("e", "add session", held=ONCE, is_hint=True)
    def add_session(self) -> None:
        """Add a session done without the laptop."""
        # Imported here: only this key needs the circuits.
        from whistlestop.tui.rooms.log.enter import EnterScreen

        self.app.push_screen(EnterScreen(), self._after_entering)

    @action("a", "other training", held=ONCE, is_hint=True)
    def add_training(self) -> None:
        """Add other training: what it was, how long, how hard."""
        asked = (
            f"Other training, for example {forms.TRAINING_HINT}; heart rate, "
            f"if known, for example {forms.HEART_HINT}."
        )
        self.ask(asked, self._add, limit=120)

    @action("i", "", held=ONCE)
    def import_activities(self) -> None:
        """Import activity files: shown first, entered with the same key again."""
        pending, self._import = self._import, None
        # After a typed path its Enter lies between the two.
        if pending is not None and (self.again or self._is_import_typed):
            bringing, plan = pending
            self._write("Imported; u undoes it", lambda: bringing.enter(plan))
            return
        # Imported here: only this key reads activity files.
        from whistlestop.driver.activities import watched_folder

        if watched_folder(self.services) is None:
            self.ask("A file of FIT or GPX, or a folder of them.", self._look_at)
        else:
            self._look_at("")

    @action("o", lambda self: self._missing_text(), drop=1, when=_has_items, held=ONCE)
    def enter_efforts(self) -> None:
        """Enter the efforts that are missing of other training, one by one."""
        from whistlestop.driver.activities import unrated
        from whistlestop.tui.rooms.log.activities import effort_question

        diary = self.services.logbook().diary
        first = self.services.clock.wall().date() - MONTH
        self._unrated = unrated(diary.present, first)
        if not self._unrated:
            self.say("No other training of the last month is without an effort.")
            return
        asked = effort_question(self._unrated[0], len(self._unrated))
        self.ask(asked, self._take_effort)

    @action("m", "mark days", held=ONCE, is_hint=True)
    def mark_days(self) -> None:
        """Mark days: ill, away, or fully logged."""
        self.ask(f"Days, for example {forms.MARK_HINT}.", self._mark)

    @action("b", "blank days", held=ONCE, is_hint=True)
    def count_blanks(self) -> None:
        """Say how days without an entry count; undo takes it back."""
        self.ask(forms.BLANKS_HINT, self._blanks, limit=10)

    @action("d", "delete", when=_has_items, held=ONCE, is_hint=True)
    def delete_entry(self) -> None:
        """Delete the chosen line from the log; it asks, and undo brings it back."""
        assert self.items is not None
        item = self.items[self.chosen]
        if not (self.again and self._deleting == item.id):
            self._deleting = item.id
            self.say(f"Delete {item.name}? Press d again; u undoes it.")
            return
        self._deleting = ""
        keeper = self.services.diary()
        text = f"{item.name} deleted; u undoes it"
        self._write(text, lambda: keeper.delete(item.id))

    @action(
        "y",
        "save circuit",
        drop=1,
        when=lambda self: self._is_from_elsewhere(),
        held=ONCE,
    )
    def save_circuit(self) -> None:
        """Save the circuit of this session among yours: its file lies elsewhere."""
        assert self.items is not None
        item, services = self.items[self.chosen], self.services
        text = f"{item.name} is among your circuits now"
        self._write(text, lambda: save_from_journal(services, item.circuit))

    @action("ctrl+s", "", held=ONCE)
    def copy_everything(self) -> None:
        """Back up everything as one archive, or put one back: it is tried first."""
        # Imported here: only this key reads archives.
        from whistlestop.tui.rooms.log.archive import ASKED, default_archive

        value = default_archive(self.services.clock.wall().date())
        self.ask(ASKED, self._take_archive, value=value, limit=400)

    @action("u", "undo", held=ONCE, is_hint=True)
    def undo(self) -> None:
        """Take the last change to the log back."""
        self._write("Undone: ", self.services.diary().undo, with_answer=True)

    @action("r", "redo", held=ONCE, is_hint=True)
    def redo(self) -> None:
        """Do again what was taken back."""
        self._write("Redone: ", self.services.diary().redo, with_answer=True)

    def _after_record(self, changed: bool | None) -> None:  # noqa: FBT001 - a result
        if changed:
            self.look()

    def _after_entering(self, name: str | None) -> None:
        if name is not None:
            self.say(f"Entered: {name}.")
            self.look()

    def _filter(self, text: str) -> str:
        try:
            self.wanted = forms.parse_filter(text)
        except ValueError as error:
            return sentence(error)
        self.chosen = 0
        self.look()
        return ""

    def _add(self, text: str) -> str:
        try:
            keeper = self.services.diary()
            done = forms.parse_training(
                text, self.services.clock.wall().date(), keeper.last_heart()
            )
        except (ValueError, StoreError) as error:
            return sentence(error)
        message = f"Added: {forms.training_text(done)}"
        self._write(message, lambda: keeper.add_training(done))
        return ""

    def _missing_text(self) -> str:
        first = self.services.clock.wall().date() - MONTH
        missing = [
            item
            for item in self.items or ()
            if item.kind is ItemKind.TRAINING
            and item.effort is None
            and item.day is not None
            and item.day >= first
        ]
        return f"{counted(len(missing), 'effort')} missing" if missing else ""

    def _take_effort(self, text: str) -> str:
        """Take one effort and ask for the next in the same line."""
        entry, *more = self._unrated
        text = text.strip()
        if text:
            try:
                effort = Effort.parse(text)
            except ValueError as error:
                return sentence(error)
            keeper = self.services.diary()
            amendment = Amendment(effort=effort, sets_effort=True)
            self.run_worker(
                lambda: keeper.amend(entry.id, amendment),
                name="effort",
                thread=True,
                exit_on_error=False,
            )
        self._unrated = more
        if not more:
            return ""
        from whistlestop.tui.rooms.log.activities import effort_question

        question = effort_question(more[0], len(more))
        self.ask_on(question)
        return question

    def _look_at(self, text: str) -> str:
        """Read activity files in a thread: those of a path, else those watched."""
        from whistlestop.driver.activities import ActivityImport, watched_files

        services, self._is_import_typed = self.services, bool(text)

        def read() -> tuple[ActivityImport, ActivityPlan]:
            paths = [Path(text).expanduser()] if text else watched_files(services)
            bringing = ActivityImport(services, paths)
            return bringing, bringing.plan()

        self.run_worker(
            read,
            name="import",
            thread=True,
            exit_on_error=False,
        )
        return ""

    def _show_import(self, bringing: ActivityImport, plan: ActivityPlan) -> None:
        from whistlestop.tui.rooms.log.activities import plan_text

        self._import = (bringing, plan) if plan.lines else None
        self.say(plan_text(plan))

    def _take_archive(self, text: str) -> str:
        from whistlestop.tui.rooms.log.archive import take_archive

        if not text.strip():
            return "A file, such as backup.tar.gz."
        path, places = Path(text.strip()).expanduser(), self.services.places
        self._archive_work(lambda: take_archive(places, path))
        return ""

    def _archive_work(self, act: Callable[[], ArchiveAnswer]) -> None:
        self.run_worker(act, name="archive", thread=True, exit_on_error=False)

    def _show_archive(self, answer: ArchiveAnswer) -> None:
        if answer.archive is None:
            self.say(answer.text)
            self.look()
        else:
            self._archive = answer.archive
            self.ask(answer.text, self._put_back, limit=5)

    def _put_back(self, text: str) -> str:
        from whistlestop.tui.rooms.log.archive import put_back

        places, archive = self.services.places, self._archive
        if text.strip().casefold() != "yes" or archive is None:
            return "Type yes to put them back; Esc leaves everything as it is."
        self._archive_work(lambda: put_back(places, archive))
        return ""

    def _mark(self, text: str) -> str:
        try:
            marked = forms.parse_mark(text, self.services.clock.wall().date())
        except ValueError as error:
            return sentence(error)
        keeper, mark = self.services.diary(), marked.mark
        message = f"Marked: {forms.mark_text(marked)}"
        if mark is None:
            self._write(message, lambda: keeper.fully_logged(marked.span))
        else:
            self._write(message, lambda: keeper.mark(mark, marked.span))
        return ""

    def _blanks(self, text: str) -> str:
        try:
            answer = forms.parse_blanks(text)
        except ValueError as error:
            return sentence(error)
        services = self.services

        def act() -> str:
            logbook = services.logbook()
            first = logbook.today
            if answer.past:
                first = logbook.book().first_day or first
            return services.diary().count_blanks(first, as_rest=answer.as_rest)

        how = "count as rest" if answer.as_rest else "are not known"
        since = "all along" if answer.past else "from today on"
        self._write(f"Days without an entry {how}, {since}; u undoes it", act)
        return ""

    def _write(
        self, done: str, act: Callable[[], object], *, with_answer: bool = False
    ) -> None:
        """Let the diary keeper write in a thread; `with_answer` adds its answer."""
        self._done_text = done
        self.run_worker(
            act,
            name="write-with-answer" if with_answer else "write",
            thread=True,
            exit_on_error=False,
        )


def sentence(error: BaseException | None) -> str:
    """An error as a sentence."""
    text = str(error)
    return f"{sentence_case(text)}."
