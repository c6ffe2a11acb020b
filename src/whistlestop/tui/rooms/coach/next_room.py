"""The next step: for each circuit in use one proposal, taken, changed or put off.

Owns loading, choosing and the keys; the words stand in `next_lines`, and the coach's
driver keeps what is decided.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from whistlestop.coach.coming_back import asks_whether_well
from whistlestop.coach.decisions import PUT_OFF, PUT_OFF_DAYS
from whistlestop.coach.next_step import NextStepAnswer
from whistlestop.coach.soreness import offered_limits
from whistlestop.domain.reasons import REFUSAL_REASONS, RefusalReason, in_words
from whistlestop.domain.text import sentence_case
from whistlestop.driver.coaching import CircuitAdvice, Coaching
from whistlestop.driver.next_look import NextSteps, look
from whistlestop.tui.rooms.coach import next_lines as words
from whistlestop.tui.rooms.frame.actions import ONCE, action
from whistlestop.tui.rooms.frame.asking import AskingRoom
from whistlestop.tui.rooms.frame.room import BACK
from whistlestop.tui.rooms.frame.words import counted
from whistlestop.tui.widgets.page import PageLayout
from whistlestop.tui.widgets.safe_text import BLANK, Row, TextSpan, row

REASONS_TEXT: Final = in_words(REFUSAL_REASONS)


class NextRoom(AskingRoom[None]):
    """One proposal for each circuit in use."""

    def __init__(self) -> None:
        super().__init__()
        self.found: NextSteps | None = None
        self._result_text = ""
        self._row_ranges: list[tuple[int, int]] = []

    def on_mount(self) -> None:
        """Ask the coach in a thread."""
        super().on_mount()
        self.look()

    def on_screen_resume(self) -> None:
        """Ask again: weeks may have been planned meanwhile; a decision goes first."""
        if self.found is not None and not self._result_text:
            self.look()

    def look(self) -> None:
        """Ask the coach in a thread."""
        services = self.services
        self.run_worker(
            lambda: look(services),
            name="next",
            thread=True,
            exclusive=True,
            exit_on_error=False,
        )

    def take_result(self, name: str, result: object) -> None:
        """Show what was found, the same circuit chosen."""
        del name
        if not isinstance(result, NextSteps):
            return
        before = self.advice.answer.circuit if self.advice else ""
        self.found = result
        ids = [advice.answer.circuit for advice in result.advices]
        self.chosen = ids.index(before) if before in ids else 0
        if self._result_text:
            self.say(self._result_text)
            self._result_text = ""

    def take_failure(self, name: str, error: BaseException | None) -> None:
        """Say that the coach has nothing to go by."""
        self.found, self._result_text = self.found or NextSteps(), ""
        text = "Not saved" if name == "keep" else "This could not be read"
        self.say(f"{text}: {error}")

    @property
    def advice(self) -> CircuitAdvice | None:
        """The advice on the chosen circuit."""
        if self.found is None or not self.found.advices:
            return None
        return self.found.advices[self.chosen]

    # Words

    def title_text(self) -> tuple[str, str, str]:
        """Name the room and count the circuits."""
        if self.found is None:
            return "Next step", "", ""
        return "Next step", counted(len(self.found.advices), "circuit"), ""

    def idle_text(self) -> str:
        """The first thing that could not be read, or what does not change."""
        if self.found is not None and self.found.problems:
            return self.found.problems[0]
        return "Nothing changes until you accept it. Your circuit file stays unchanged."

    def page_layout(self, cells: int, lines: int) -> PageLayout:
        """A line for each circuit, and all behind the chosen one below."""
        del lines
        self._row_ranges = []
        if self.found is None:
            return PageLayout((row("  ", TextSpan("Reading the log", "dim")),))
        if self.advice is None:
            return PageLayout(words.empty_rows(cells))
        rows: list[Row] = []
        for place, advice in enumerate(self.found.advices):
            self._row_ranges.append((place, place))
            is_chosen = place == self.chosen
            rows.append(words.list_row(advice, chosen=is_chosen, cells=cells))
        rows += [BLANK, *words.detail_rows(self.found, self.chosen, cells)]
        return PageLayout(rows, self._row_ranges[self.chosen])

    def row_ranges(self) -> Sequence[tuple[int, int]]:
        """Where each circuit stands."""
        return self._row_ranges

    # Keys

    def _has_advice(self) -> bool:
        return self.advice is not None

    def _asks_whether_well(self) -> bool:
        advice = self.advice
        return advice is not None and asks_whether_well(advice.answer.proposal)

    def _asks_why(self) -> bool:
        advice = self.advice
        return advice is not None and advice.answer.proposal.asks == "why-put-off"

    def _can_accept(self) -> bool:
        is_question = self._asks_whether_well() or self._asks_why()
        return self._has_advice() and not is_question

    @action("enter", "no symptoms", when=_asks_whether_well, held=ONCE)
    def say_well(self) -> None:
        """Say that you have had no symptoms for 24 hours, without medicine."""
        services = self.services

        def act() -> NextSteps:
            services.wellbeing.answer_illness()
            return look(services)

        self._result_text = "Saved: no symptoms for 24 hours, without medicine."
        self.run_worker(
            act, name="keep", thread=True, exclusive=True, exit_on_error=False
        )

    @action("enter", "accept", when=_can_accept, held=ONCE)
    def take_step(self) -> None:
        """Accept it: the sheet opens so from now on."""
        assert self.advice is not None
        title = self.advice.answer.proposal.title
        self._save(self.advice, f"Accepted: {title}.")

    @action("c", "change it", when=_can_accept, held=ONCE)
    def swap_step(self) -> None:
        """Choose another step instead, or numbers of your own."""
        assert self.advice is not None
        # Imported here: only this key needs it.
        from whistlestop.tui.rooms.coach.next_change import ChangeRoom

        self.app.push_screen(ChangeRoom(self.advice), self._changed)

    @action("x", "later", when=_can_accept, held=ONCE)
    def put_off_step(self) -> None:
        """Put it off: it is asked again in as many days as you type."""
        asked = f"For how many days, {PUT_OFF.expected}, and why: {REASONS_TEXT}?"
        self.ask(asked, self._put_off, value=f"{PUT_OFF_DAYS} ", limit=20)

    @action("enter", "say why", when=_asks_why, held=ONCE)
    def say_why(self) -> None:
        """Say why you put the last steps off."""
        asked = f"{sentence_case(REASONS_TEXT)}?"
        self.ask(asked, self._explain, limit=20)

    def _offers_limit(self) -> bool:
        advice = self.advice
        return advice is not None and bool(
            offered_limits(advice.history, advice.context)
        )

    @action("o", "leave it out", when=_offers_limit, held=ONCE)
    def leave_out(self) -> None:
        """Leave out what is sore for 14 days: it stands under your limits then."""
        assert self.advice is not None
        services, advice = self.services, self.advice

        def act() -> NextSteps:
            Coaching(services).leave_out(advice)
            return look(services)

        self._result_text = "Left out for 14 days; your limits have it."
        self.run_worker(
            act, name="keep", thread=True, exclusive=True, exit_on_error=False
        )

    @action("p", "weeks", drop=1, held=ONCE)
    def open_weeks(self) -> None:
        """Plan the weeks ahead."""
        self.rooms.open_weeks()

    go_back = BACK

    def _changed(self, answer: NextStepAnswer | None) -> None:
        advice = self.advice
        if answer is None or advice is None:
            return
        title = answer.proposal.title
        details = f"Accepted: {title}, instead of: {advice.answer.proposal.title}."
        self._save(advice, details, instead=answer)

    def _put_off(self, typed: str) -> str:
        days_text, _, why = typed.strip().partition(" ")
        reason = reason_of(why)
        if reason is None:
            return f"Say why: {REASONS_TEXT}; or leave it out."
        try:
            days = PUT_OFF.typed(days_text)
        except ValueError as error:
            return f"{str(error).capitalize()}."
        advice = self.advice
        if advice is not None:
            title = advice.answer.proposal.title

            def act(coaching: Coaching) -> None:
                coaching.save(advice, "put_off", put_off_days=days, reason=reason)

            self._do(act, f"Put off for {days} days: {title}.")
        return ""

    def _explain(self, typed: str) -> str:
        reason, advice = reason_of(typed), self.advice
        if not reason:
            return f"Say why: {REASONS_TEXT}."
        if advice is not None:
            self._do(lambda coaching: coaching.explain(advice, reason), "Saved: why.")
        return ""

    def _save(
        self,
        advice: CircuitAdvice,
        text: str,
        *,
        instead: NextStepAnswer | None = None,
    ) -> None:
        """Save that a step was taken, or another one instead."""
        if instead is None:
            self._do(lambda coaching: coaching.save(advice, "accept"), text)
            return
        made = instead.proposal
        self._do(lambda coaching: coaching.save(advice, "change", instead=made), text)

    def _do(self, save: Callable[[Coaching], object], text: str) -> None:
        """Save a decision in a thread, then ask the coach again."""
        services = self.services

        def act() -> NextSteps:
            save(Coaching(services))
            return look(services)

        self._result_text = text
        self.run_worker(
            act, name="keep", thread=True, exclusive=True, exit_on_error=False
        )


def reason_of(typed: str) -> RefusalReason | None:
    """The reason that was typed, "" for none; None: it is none of them."""
    text = "-".join(typed.casefold().split())
    if not text:
        return ""
    return next((reason for reason in REFUSAL_REASONS if reason == text), None)
