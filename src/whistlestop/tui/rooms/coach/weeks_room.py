"""The weeks ahead: a grid of days, what is wanted, and planning again.

Owns the keys, and that nothing is saved before it was shown; words and grid stand in
`weeks_lines`, and the driver's planning reads and keeps the files.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from whistlestop.coach.weeks import Weeks
from whistlestop.domain.day import parse_day
from whistlestop.domain.targets import Targets
from whistlestop.domain.text import sentence_case
from whistlestop.driver.planning import Outlook, Planning
from whistlestop.errors import WhistlestopError
from whistlestop.review.days import week_of
from whistlestop.store.places import write_new
from whistlestop.tui.rooms.coach import weeks_lines as words
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, row, wrapped
from whistlestop.tui.widgets.title_line import heading

# With any other change the saved plan is planned again, with as little moved as can be.
NEEDS_NEW_PLAN = frozenset({"sessions_a_week", "blocks", "circuits", "weeks"})
CALENDAR_NAME = "whistlestop-weeks.ics"


@dataclass(frozen=True, slots=True)
class Pending:
    """A plan that was not saved yet, and what it changes, in sentences."""

    outlook: Outlook
    plan: Weeks
    sentences: tuple[str, ...]


class WeeksRoom(AskingRoom[None]):
    """The plan as a grid, and what it is made from."""

    def __init__(self) -> None:
        super().__init__()
        self.outlook: Outlook | None = None
        self.pending: Pending | None = None
        self.problem = ""
        self._result_text = ""
        self._first = 0
        self._is_browsing = False

    @property
    def planning(self) -> Planning:
        """This home's plans."""
        return Planning(self.services)

    def on_mount(self) -> None:
        """Read wishes, plan and log in a thread."""
        super().on_mount()
        self._run("look", self.planning.outlook)

    def _run(self, name: str, act: Callable[[], object]) -> None:
        self.run_worker(
            act, name=name, thread=True, exclusive=True, exit_on_error=False
        )

    def take_result(self, name: str, result: object) -> None:
        """Show the weeks, or what would change in them."""
        if isinstance(result, Outlook):
            self.outlook, self.pending = result, None
            if result.plan is None:
                self._make(result.targets)
        elif isinstance(result, Pending):
            self.pending, self._is_browsing = result, False
        if name == "keep" and self._result_text:
            self.say(self._result_text)

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say what is wrong; without wishes there is nothing to show."""
        text = f"{error}"
        text = f"{sentence_case(text)}."
        if name == "look" and self.outlook is None:
            self.problem = text
            return
        self.say(f"Not saved: {error}." if name == "keep" else text)

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and its days."""
        plan = self._plan
        state = "not saved yet" if self.pending else ""
        return "Weeks", words.days_of_plan(plan) if plan else "", state

    def idle_text(self) -> str:
        """How the chosen wish is typed, or what Enter does."""
        if self.problem or self.outlook is None:
            return ""
        if self.pending and self._saved_plan_of_day is None:
            return "Enter saves this plan; e changes the marked line."
        if self.pending:
            return "Enter saves this plan; Esc goes back to the old one."
        field = words.FIELDS[self.chosen]
        return f"{field.label}: {field.ask}."

    @property
    def _saved_plan_of_day(self) -> Weeks | None:
        return self.outlook.plan if self.outlook else None

    @property
    def _plan(self) -> Weeks | None:
        if self.pending:
            return self.pending.plan
        return self._saved_plan_of_day

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """The grid, what would change, and what is wanted."""
        del lines
        if self.problem:
            sentences = [row("  ", line) for line in wrapped(self.problem, cells - 4)]
            return PageLayout(sentences)
        outlook = self.pending.outlook if self.pending else self.outlook
        if outlook is None:
            return PageLayout((row("  ", TextSpan("Reading the weeks", "dim")),))
        rows: list[Row] = []
        if self.pending:
            rows += [*words.changed_rows(self.pending.sentences, cells), BLANK]
        plan, wishes, today = self._plan, outlook.wishes, outlook.today
        if plan is not None:
            rows += words.grid(plan, wishes, today, cells)
        rows += words.legend_rows(wishes, cells)
        if plan is not None:
            unmet = outlook.unmet(plan)
            rows += words.foreseen_rows(plan, wishes, unmet, today, cells)
        rows.append(BLANK)
        if outlook.against:
            rows += [*words.against_rows(outlook.against, cells), BLANK]
        rows.append(heading("Your plan settings"))
        first = len(rows)
        rows += words.field_rows(outlook.targets, self.chosen, cells)
        self._first = first
        if not self._is_browsing:
            return PageLayout(rows, (0, 0))
        here = first + self.chosen
        return PageLayout(rows, (0, here) if here < self.page.lines else (here, here))

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each wish stands."""
        return [(self._first + n,) * 2 for n in range(len(words.FIELDS))]

    # Keys

    def can_choose(self) -> bool:
        """Whether there are wishes to choose among."""
        return not self.problem and self.outlook is not None

    def move(self, key: str) -> None:
        """Choose a wish; from then on it stays in view."""
        super().move(key)
        self._is_browsing = True

    def _is_plain(self) -> bool:
        return self.can_choose() and self.pending is None

    def _is_pending(self) -> bool:
        return self.can_choose() and self.pending is not None

    @property
    def _targets(self) -> Targets:
        outlook = self.pending.outlook if self.pending else self.outlook
        assert outlook is not None
        return outlook.targets

    @action("enter", "save plan", when=_is_pending, held=ONCE)
    def save_plan(self) -> None:
        """Save the plan that is shown."""
        assert self.pending is not None
        self._save(self.pending)

    @action("e", "change", drop=2, when=_is_pending, held=ONCE)
    def change_marked(self) -> None:
        """Change the marked setting before the plan is saved."""
        self._edit(self._targets)

    @action("enter e", "change", when=_is_plain, held=ONCE)
    def change_wish(self) -> None:
        """Type the chosen setting again."""
        self._edit(self._targets)

    @action("r", "plan again", drop=1, when=_is_plain, held=ONCE)
    def plan_again(self) -> None:
        """Plan again with as few moves as can be."""
        self._again(self._targets)

    @action("x", "miss a day", drop=2, when=_is_plain, held=ONCE)
    def skip_day(self) -> None:
        """Name a day you cannot train; what moves is shown before it is saved."""
        assert self.outlook is not None
        asked = "Which day can you not train? For example 2031-05-12."
        self.ask(asked, self._day_off, value=self.outlook.today.isoformat())

    @action("n", "start over", drop=3, when=_is_plain, held=ONCE)
    def add_plan(self) -> None:
        """Make a new plan from this week on."""
        assert self.outlook is not None
        began = week_of(self.outlook.today).first
        self._make(replace(self._targets, began=began))

    @action("i", "calendar", drop=3, when=_is_plain, held=ONCE)
    def save_calendar(self) -> None:
        """Write the plan as a calendar file."""
        path = Path.home() / CALENDAR_NAME
        asked = "Save to which new file?"
        self.ask(asked, self._calendar, value=str(path), limit=400)

    def _is_replacing(self) -> bool:
        """Whether another plan is shown than the one that is saved."""
        return self.pending is not None and self._saved_plan_of_day is not None

    @action("escape", lambda self: "cancel" if self._is_replacing() else "back")
    def go_back(self) -> None:
        """Go back; from a plan that is not saved to the one that is."""
        if self._is_replacing():
            self.pending = None
            self.say("Nothing changed.")
        else:
            self.dismiss(None)

    def _edit(self, targets: Targets) -> None:
        field = words.FIELDS[self.chosen]

        def take(typed: str) -> str:
            try:
                wanted = replace(targets, **{field.name: field.kind.typed(typed)})
            except ValueError as error:
                text = str(error)
                return f"{sentence_case(text)}."
            if wanted == targets:
                return ""
            if (
                field.name in NEEDS_NEW_PLAN
                or not self.outlook
                or self.outlook.plan is None
            ):
                self._make(wanted)
            else:
                self._again(wanted)
            return ""

        asked = f"{field.label}: {field.ask}."
        standing = field.kind.as_line(getattr(targets, field.name))
        self.ask(asked, take, value=standing, limit=400)

    def _day_off(self, typed: str) -> str:
        if self.outlook is None:
            return ""
        try:
            day = parse_day(typed.strip())
        except ValueError as error:
            text = str(error)
            return f"{sentence_case(text)}."
        self._again(words.with_day_off(self.outlook.targets, day))
        return ""

    def _calendar(self, typed: str) -> str:
        if self.outlook is None:
            return ""
        from whistlestop.review.exchange.ical import calendar_text

        try:
            path = Path(typed.strip()).expanduser()
            if path.suffix != ".ics":
                return "The file name must end in .ics."
            if path.exists():
                return "That file exists; choose another name."
            events = self.planning.events(self.outlook)
            write_new(path, calendar_text((), events).encode())
        except (WhistlestopError, OSError, RuntimeError, ValueError) as error:
            return f"Not written: {error}."
        self.say(f"{len(events)} planned sessions written to {path}.")
        return ""

    # Planning

    def _make(self, targets: Targets) -> None:
        """A new plan from today on, shown before it is saved."""
        planning = self.planning

        def act() -> Pending:
            outlook = planning.outlook(targets)
            made = planning.made(outlook)
            text = words.made_sentences(outlook.plan, made, outlook.today)
            return Pending(outlook, made, text)

        self._run("plan", act)

    def _again(self, targets: Targets) -> None:
        """The saved plan again, with as little changed as can be, shown first."""
        planning = self.planning

        def act() -> Pending:
            outlook = planning.outlook(targets)
            again = planning.replanned(outlook)
            text = again.sentences or ("No session has to move.",)
            return Pending(outlook, again.weeks, text)

        self._run("plan", act)

    def _save(self, pending: Pending) -> None:
        planning = self.planning

        def act() -> Outlook:
            planning.save(pending.plan, pending.outlook.targets)
            return planning.outlook()

        self._result_text = "Saved."
        self._run("keep", act)
