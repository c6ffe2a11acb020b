"""Line mode: the same engine and keys, one line an event, no cursor movement."""

from __future__ import annotations

import sys
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import partial

from whistlestop.cli.caution_lines import CautionLines
from whistlestop.cli.event_lines import tell
from whistlestop.cli.keyboard import LineKeyboard
from whistlestop.cli.output import remark, say
from whistlestop.cli.receipts import Receipts
from whistlestop.domain.effort import Effort
from whistlestop.domain.load import parse_load
from whistlestop.domain.owner import OWNER
from whistlestop.domain.sites import SITES, site_of
from whistlestop.driver.guard import CAUTIONS, HEALTH, LINES, OUTPUT
from whistlestop.driver.keymap import DEFAULTS, Keymap
from whistlestop.driver.script import EffortScript, SimulatedClock, gate_answer
from whistlestop.driver.session import Session, heard_as
from whistlestop.engine.commands import (
    Command,
    Do,
    EnterCount,
    EnterDiscomfort,
    EnterEffort,
    EnterLoad,
    EnterNote,
    EnterSessionEffort,
    EnterVariant,
    Gap,
    SwapExercise,
)
from whistlestop.engine.events import Ending, EntryTaken, Event
from whistlestop.engine.states import Mode
from whistlestop.engine.view import view
from whistlestop.errors import CommandRejected

TICK_S = 0.1

HELP = (
    "keys, each followed by Enter: an empty line or space pauses and goes on, n "
    "next, b back, r restart, s skip, u undo, + or - for 10 s, e easier, h "
    "harder, d drop loop, q stop, z health stop; a number is the effort for the "
    'last loop; "count 12", "load 8 kg", "x knee left 3" and "note ..." are '
    "saved; with two people a changes who you enter for, or put a name in "
    'front: "Robin 7"'
)
_KIND = "kind"
_KINDS = ("muscle", "else", "something else")
_SIDES = frozenset({"left", "right", "both", "middle"})
_WORDS = {"+": "longer", "-": "shorter", "": "pause", "space": "pause"}


class PlainRun:
    """A session printed in lines."""

    def __init__(
        self,
        session: Session,
        *,
        keymap: Keymap,
        keyboard: LineKeyboard,
        receipts: Receipts,
        script: EffortScript | None = None,
        names: Mapping[str, str] | None = None,
    ) -> None:
        """Bind a session to the keyboard and, if there is one, to a script.

        `receipts` knows what the disk has; `names` says what to call those who
        train together.
        """
        self._names = dict(names or {})
        self._answering = OWNER
        self._session = session
        self._keymap = keymap
        self._keyboard = keyboard
        self._receipts = receipts
        self._script = script
        self._asked = ""
        self._guard = session.guard
        self._reader_left = False
        self._cautions = {
            who: CautionLines(self._name(who) if self._is_pair else "")
            for who in session.athletes
        }

    @property
    def has_lost_output(self) -> bool:
        """Whether lines could not be written any more."""
        return self._guard.has_lost(OUTPUT)

    @property
    def has_lost_reader(self) -> bool:
        """Whether that is because the reader of the lines has gone."""
        return self._reader_left

    def say(self, *lines: str) -> None:
        """Print facts; the session goes on where nobody takes them any more."""
        self._guard.call(OUTPUT, partial(self._print, *lines), None)

    def _print(self, *lines: str) -> None:
        try:
            say(*lines)
        except BrokenPipeError:
            self._reader_left = True
            raise

    def _remark(self, *lines: str) -> None:
        with suppress(OSError, ValueError):
            remark(*lines)

    def show_messages(self) -> None:
        """Say which part the session goes on without, if one failed."""
        self._remark(*self._guard.messages())

    def begin(self) -> None:
        """Start the session and tell it."""
        self._tell(self._session.begin())
        self._answer_gate()

    def run(self) -> None:
        """Run on real time until the session is over."""
        while not self._session.is_over:
            for line in self._keyboard.wait(self._wait_s()):
                self._line(line)
            if not self._keyboard.is_open:
                time.sleep(self._wait_s())
            self._tell(self._session.tick())
            self.acknowledge()
            if not self._keyboard.is_open or self._script:
                self._answer_gate()
                self._go_on_alone()

    def _go_on_alone(self) -> None:
        """After a gap nobody can answer, go on: the end of the input ends no run."""
        if self._session.engine.mode is Mode.PAUSED:
            self._do(Do.RESUME)

    def run_simulated(self, clock: SimulatedClock, speed: int) -> None:
        """Run on a simulated clock, `speed` times as fast, until it is over."""
        engine = self._session.engine
        while not self._session.is_over:
            due = engine.next_due()
            if due is None:
                self._answer_gate()
                due = engine.next_due()
                if due is None:
                    return
            _sleep((due - clock.now_ms) / 1000 / speed)
            clock.now_ms = due
            self._tell(self._session.tick())
            self.acknowledge()
            self._answer_gate()

    def close_out(self) -> None:
        """Ask for the entries after the session, while anybody can answer."""
        if self._session.engine.ending is Ending.HEALTH:
            self._guard.call(HEALTH, _say_what_to_do, None)
            self.show_messages()
        if self._keyboard.is_open and not self._script:
            for athlete in self._session.athletes:
                self._answering = athlete
                whose = f"{self._name(athlete)}: " if self._is_pair else ""
                self.say(
                    f"{whose}effort for the session, 0 to 10, then a note; an "
                    "empty line skips it"
                )
                self._ask_effort()
                self._ask_note()
        if self._script and self._script.surplus:
            self._remark(f"{self._script.surplus} of the efforts given were not needed")

    def acknowledge(self) -> None:
        """Say of entries that they are taken, as far as the disk has them."""
        if lines := self._receipts.due():
            self.say(*lines)

    def _ask_effort(self) -> None:
        while self._keyboard.is_open:
            self.acknowledge()
            for line in self._keyboard.wait(TICK_S):
                if not line.strip():
                    return
                try:
                    effort = Effort.parse(line)
                except ValueError as error:
                    self.say(f"{error}")
                    continue
                self._do(EnterSessionEffort(effort, self._answering))
                return

    def _ask_note(self) -> None:
        while self._keyboard.is_open:
            self.acknowledge()
            for line in self._keyboard.wait(TICK_S):
                if line.strip():
                    self._do(EnterNote(line.strip(), self._answering))
                return

    def _wait_s(self) -> float:
        due = self._session.engine.next_due()
        if due is None:
            return TICK_S
        left = (due - self._session.now_ms) / 1000
        return min(TICK_S, max(0.0, left))

    def _tell(self, events: Sequence[Event]) -> None:
        for event in events:
            line = self._guard.call(LINES, partial(self._line_of, event), None)
            if line is None:
                continue
            if isinstance(event, EntryTaken):
                self._receipts.owe(self._session.last_input, line)
            else:
                self.say(line, *self._care_lines(event))
        self.show_messages()
        if any(heard_as(event) for event in events):
            self._ring()
        if self._script:
            for entry in self._script.answer(events):
                self._do(entry)

    def _line_of(self, event: Event) -> str | None:
        if not self._is_pair:
            return tell(self._session.engine.for_athlete(), event)
        from whistlestop.cli.event_lines_pair import AthleteInLines, tell_pair

        people = [
            AthleteInLines(self._name(who), self._session.engine.for_athlete(who))
            for who in self._session.athletes
        ]
        return tell_pair(people, event)

    def _care_lines(self, event: Event) -> list[str]:
        none: list[str] = []
        return [
            line
            for who, care in self._cautions.items()
            for line in self._guard.call(
                CAUTIONS, partial(self._care_of, who, care, event), none
            )
        ]

    def _care_of(self, who: str, care: CautionLines, event: Event) -> list[str]:
        return care.at(self._session.engine.for_athlete(who).track, event)

    @property
    def _is_pair(self) -> bool:
        return len(self._session.athletes) > 1

    def _name(self, athlete: str) -> str:
        return self._names.get(athlete, athlete)

    def _ring(self) -> None:
        """The terminal's bell stands in where sound is lost; never into a pipe."""
        if self._session.sound.status().wants_bell and sys.stderr.isatty():
            sys.stderr.write("\a")
            sys.stderr.flush()

    def _answer_gate(self) -> None:
        command = gate_answer(self._session.engine)
        if command is not None:
            self._do(command)

    def _do(self, command: Command) -> None:
        try:
            self._tell(self._session.do(command))
        except CommandRejected as rejected:
            self.say(f"not now: {rejected}")
        self.acknowledge()

    def _line(self, line: str) -> None:
        athlete, line = self._whose(line.strip())
        command = self._command(line)
        if command is None:
            return
        if not isinstance(command, (Do, Gap, SwapExercise)):
            command = replace(command, athlete=athlete)
        self._do(command)

    def _whose(self, line: str) -> tuple[str, str]:
        """Who says a line: the one named in front of it, else whose turn it is."""
        for athlete in self._session.athletes if self._is_pair else ():
            for name in (self._name(athlete), athlete):
                head, rest = line[: len(name)], line[len(name) :]
                if head.casefold() == name.casefold() and rest.startswith((" ", ":")):
                    return athlete, rest.lstrip(" :")
        return self._answering, line

    def _command(self, line: str) -> Command | None:
        asked, self._asked = self._asked, ""
        word, _, rest = line.partition(" ")
        if asked == _KIND and line in _KINDS:
            if line in _KINDS[1:]:
                _say_what_to_do()
            return None
        if word == "note" and rest:
            return EnterNote(rest.strip())
        try:
            if word == "x" and rest:
                return self._felt(rest)
            if word in {"count", "load"} and rest:
                return _typed(word, rest)
            if line[:1].isdigit():
                loop = view(self._session.engine.for_athlete()).effort_loop
                if loop is None:
                    self.say("not now: no loop has ended yet")
                    return None
                return EnterEffort(loop, Effort.parse(line))
        except ValueError as error:
            self.say(f"not taken: {error}")
            return None
        action = _WORDS.get(line) or self._keymap.action(line)
        if action is None and line in DEFAULTS:
            action = line
        if action is None:
            self.say(f'"{line}" is not a key here; {HELP}')
            return None
        return self._act(action, asked)

    def _felt(self, rest: str) -> Command:
        """A discomfort; some places show the signs, some ask what it is."""
        entry = typed_discomfort(rest)
        if entry.site in {"chest", "head"}:
            _say_what_to_do()
        elif entry.site in {"belly", "elsewhere"}:
            self._asked = _KIND
            self.say(f"a sore muscle, or something else? {_KINDS[0]} or {_KINDS[1]}")
        return entry

    def _act(self, action: str, asked: str) -> Command | None:
        if action in {"stop", "drop_loop"} and asked != action:
            self._asked = action
            self.say(
                f"press it again to {action.replace('_', ' ')}; any other key cancels"
            )
            return None
        if action == "pause":
            engine = self._session.engine
            if engine.at_gate and engine.mode is Mode.RUNNING:
                return Do.NEXT
            return Do.RESUME if engine.mode is Mode.PAUSED else Do.PAUSE
        if action in {"easier", "harder"}:
            return EnterVariant(action)
        if action == "athlete":
            self._next_answers()
            return None
        if action == "mute":
            self._session.sound.mute(not self._session.sound.status().muted)
            return None
        try:
            return Do(action)
        except ValueError:
            self.say(HELP)
            return None

    def _next_answers(self) -> None:
        if not self._is_pair:
            self.say("you are training alone")
            return
        athletes = self._session.athletes
        place = athletes.index(self._answering) + 1
        self._answering = athletes[place % len(athletes)]
        self.say(f"entering for {self._name(self._answering)}")


def _sleep(seconds: float) -> None:
    """Sleep in pieces: a signal that comes just before a sleep is seen after it."""
    while seconds > 0:
        time.sleep(min(seconds, TICK_S))
        seconds -= TICK_S


def _say_what_to_do() -> None:
    """After a stop for health: signs, then acts, the gravest first."""
    from whistlestop.cli.well import say_what_to_do

    say_what_to_do()


def _typed(word: str, rest: str) -> Command:
    """A command with words after it.

    Raises:
        ValueError: The words do not fit.
    """
    if word == "count":
        number, _, of = rest.partition(" ")
        if not (number.isascii() and number.isdigit()) or of not in {"", "drill"}:
            hint = 'such as "count 12" or "count 12 drill"'
            raise ValueError(f"expected a whole number, {hint}")
        return EnterCount(int(number[:5]), drill=of == "drill")
    return EnterLoad(parse_load(rest).typed)


def typed_discomfort(rest: str) -> EnterDiscomfort:
    """A site by its name or its letter, a side where it has one, and 0 to 10.

    Raises:
        ValueError: With what was expected.
    """
    *words, level = rest.split()
    if not (level.isascii() and level.isdigit()):
        raise ValueError('expected "x SITE SIDE 0 to 10", such as "x knee left 3"')
    side = words.pop() if words and words[-1] in _SIDES else ""
    named = " ".join(words)
    letters = {site.letter: site for site in SITES.values()}
    site = letters.get(named) or site_of(named)
    if site is None:
        names = ", ".join(f"{x.letter} {x.name}" for x in SITES.values())
        raise ValueError(f'"{named}" is no site; expected one of {names}')
    if site.sided and not side:
        raise ValueError(f'expected a side: "x {named} left {level}"')
    return EnterDiscomfort(site.id, side if site.sided else "", int(level[:3]))
