"""Small questions answered by single keys while the clock goes on.

Discomfort takes three presses, a count or a load a few digits and Enter, stop
and drop loop their own key once more. A digit belongs to the open question, even one
that answers nothing: it is never entered as an effort. Any other key that does not
fit closes the question and does what it always does; so no such key is blocked. Only
the question about a discomfort stays open: what hurts must not get lost.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Final

from whistlestop.domain.load import Load, parse_load
from whistlestop.engine.commands import Command, Do, EnterCount, EnterLoad
from whistlestop.tui.discomfort import DiscomfortQuestion

LIMIT_MS: Final = 10_000
# A question whose answer must not be lost waits as long as it takes.
NO_LIMIT_MS: Final = 24 * 3_600_000


@dataclass(frozen=True, slots=True)
class PromptAnswer:
    """What a key did to the open question.

    `prompt` is the question that stands now, None when it is closed; `taken`
    says whether the key was used up; `command` is what was asked for; `signs` says
    that the page of warning signs is to be shown.
    """

    prompt: Prompt | None
    taken: bool
    command: Command | None = None
    signs: bool = False


@dataclass(frozen=True, slots=True)
class Confirm:
    """Enter does it: a second key of another kind, so that a held one cannot."""

    action: str
    do: Do

    @property
    def words(self) -> str:
        """The question as a line."""
        what = {"stop": "end the session here", "drop_loop": "drop this loop"}
        return f"Enter to {what[self.action]}; any other key cancels"

    def press(self, key: str, action: str | None) -> PromptAnswer:
        """Take one key."""
        if key == "enter":
            return PromptAnswer(None, taken=True, command=self.do)
        if action == self.action:
            return PromptAnswer(self, taken=True)
        return PromptAnswer(None, taken=key == "escape" or _is_digit(key))


@dataclass(frozen=True, slots=True)
class AskDiscomfort:
    """Where, which side, how strong: nothing but Escape or a whole answer closes it.

    The clock can be paused and the session stopped for health all the while; every
    other key is the question's, and one that answers nothing is named.
    """

    asked: DiscomfortQuestion = field(default_factory=DiscomfortQuestion)
    limit_ms: int = NO_LIMIT_MS

    @property
    def words(self) -> str:
        """The question as a line."""
        return self.asked.words

    def press(self, key: str, action: str | None) -> PromptAnswer:
        """Take one key."""
        if action == "health":
            return PromptAnswer(None, taken=False)
        if action == "pause":
            return PromptAnswer(self, taken=False)
        answer = self.asked.press(key)
        if answer.question is None:
            return PromptAnswer(None, taken=True, command=answer.entry)
        asked = replace(self, asked=answer.question)
        return PromptAnswer(asked, taken=True, signs=answer.signs)


@dataclass(frozen=True, slots=True)
class AskNumber:
    """Digits and Enter: a count, or the load really used.

    `drill` names the drill of the recovery, if any; the key of the count once more
    asks for its count, `of_drill`, instead of the station's.
    """

    what: str
    planned: Load | None = None
    typed: str = ""
    wrong: bool = False
    drill: str = ""
    of_drill: bool = False

    @property
    def words(self) -> str:
        """The question as a line."""
        wrong = "number out of range; " if self.wrong else ""
        unit = f" {self._unit}" if self.what == "load" else ""
        label = self._label if self.what == "count" else self.what
        more = f", c: {self._other}" if self.drill else ""
        return f"{wrong}{label}: {self.typed}_{unit}   Enter saves, Esc cancels{more}"

    @property
    def _label(self) -> str:
        return "in the drill" if self.of_drill else "reps"

    @property
    def _other(self) -> str:
        return "reps" if self.of_drill else "drill"

    @property
    def _unit(self) -> str:
        return self.planned.unit if self.planned else "kg"

    def press(self, key: str, action: str | None) -> PromptAnswer:
        """Take one key."""
        if key == "escape":
            return PromptAnswer(None, taken=True)
        if key == "backspace":
            return PromptAnswer(replace(self, typed=self.typed[:-1]), taken=True)
        if self.drill and action == self.what:
            return PromptAnswer(replace(self, of_drill=not self.of_drill), taken=True)
        if key == "enter":
            return self._done()
        dot = self.what == "load" and key in {"full_stop", "comma", "period"}
        if dot or _is_digit(key):
            mark = "." if dot else key
            typed = (self.typed + mark)[:6]
            return PromptAnswer(replace(self, typed=typed, wrong=False), taken=True)
        return PromptAnswer(None, taken=False)

    def _done(self) -> PromptAnswer:
        try:
            if self.what == "count":
                done = EnterCount(int(self.typed), drill=self.of_drill)
                return PromptAnswer(None, taken=True, command=done)
            count = self.planned.count if self.planned else 1
            times = f"{count} x " if count > 1 else ""
            load = parse_load(f"{times}{self.typed} {self._unit}")
        except ValueError:
            return PromptAnswer(replace(self, typed="", wrong=True), taken=True)
        return PromptAnswer(None, taken=True, command=EnterLoad(load.typed))


@dataclass(frozen=True, slots=True)
class AskChoice:
    """One of up to nine things, by its digit; Enter may stand for something else.

    `typed` is the question that Enter opens, where what is wanted is not listed.
    """

    what: str
    choices: tuple[tuple[str, Command], ...]
    otherwise: Command | None = None
    limit_ms: int = LIMIT_MS
    typed: AskNumber | None = None

    @property
    def words(self) -> str:
        """The question as a line."""
        more = "  Enter another" if self.typed is not None else ""
        listed = "  ".join(
            f"{number} {words}" for number, (words, _) in enumerate(self.choices, 1)
        )
        return f"{self.what}:  {listed}{more}"

    def press(self, key: str, action: str | None) -> PromptAnswer:
        """Take one key."""
        if key in {"escape", "backspace"}:
            return PromptAnswer(None, taken=True)
        if key == "enter":
            return PromptAnswer(self.typed, taken=True, command=self.otherwise)
        del action
        if _is_digit(key):
            number = int(key)
            if not 1 <= number <= len(self.choices):
                return PromptAnswer(self, taken=True)
            return PromptAnswer(None, taken=True, command=self.choices[number - 1][1])
        return PromptAnswer(None, taken=False)


def _is_digit(key: str) -> bool:
    return len(key) == 1 and key.isascii() and key.isdigit()


Prompt = Confirm | AskDiscomfort | AskNumber | AskChoice
