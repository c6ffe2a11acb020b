"""Somebody who trains: presses keys as a hand does, at the Floor or in line mode.

Every key of the keymap is pressed, with weights; questions are mostly answered;
sessions are killed and taken up again. A seed gives the same person again.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.support.clock import HandClock
from tests.support.fake_sound import FAKES
from textual.pilot import Pilot

from whistlestop.cli.keyboard import LineKeyboard
from whistlestop.cli.plain import PlainRun
from whistlestop.cli.receipts import Receipts
from whistlestop.domain.plan.pairing import ALONE, Company
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver import audio_factory as sounding
from whistlestop.driver.keymap import DEFAULTS
from whistlestop.driver.pairs import together
from whistlestop.driver.services import Services
from whistlestop.driver.starting import RunningSession
from whistlestop.store.journal.verify import verify_log
from whistlestop.tui.app import WhistlestopApp
from whistlestop.tui.floor.screen import FloorScreen

# How often each key of the keymap is pressed beside the others.
WEIGHTS = {
    "pause": 8, "next": 10, "back": 4, "restart": 2, "skip": 7, "undo": 3,
    "longer": 3, "shorter": 3, "easier": 3, "harder": 3, "load": 3, "swap": 5,
    "drop_loop": 2, "discomfort": 2, "count": 2, "athlete": 2, "mute": 1,
    "voice": 2, "pacing": 2, "stop": 1, "health": 0.05, "keys": 1, "effort": 8,
}  # fmt: skip
# What follows a key that asks; an empty answer leaves the question open.
ANSWERS = {
    "skip": ["", "1", "3"],
    "swap": ["1", "1", "2", "escape"],
    "easier": ["1", "1", "enter"],
    "harder": ["1", "enter"],
    "load": ["1", "2", "enter 1 0 enter"],
    "drop_loop": ["enter", "enter", "n"],
    "stop": ["n", "space", "escape"],
    "discomfort": ["m l 3", "g t", "7 b r 4", "c r escape", "u s 2", "escape"],
    "count": ["1 2 enter", "backspace", ""],
    "keys": ["escape", "question_mark"],
}
EFFORTS = ("5", "6 comma", "1 0", "0", "8", "backspace")
LINES = {
    "discomfort": "x knee left 3",
    "count": "count 12",
    "load": "load 8 kg",
    "effort": "6.5",
}
CIRCUITS = {
    "yard": """\
format = 1
name = "Yard"
loops = 2
work = "12 s"
recover = "8 s"
loop_break = "until key"
get_ready = "5 s"
[[station]]
exercise = "goblet-squat"
load = "12 kg"
drill = "one-ball-arc"
[[station]]
exercise = "side-plank"
work = "16 s"
[[station]]
exercise = "push-up"
hold = true
[[station]]
exercise = "one-arm-row"
load = "8 kg"
""",
    "pair": """\
format = 1
name = "Pair"
loops = 2
work = "10 s"
recover = "6 s"
loop_break = "9 s"
get_ready = "3 s"
[[station]]
exercise = "push-up"
[[station]]
exercise = "side-plank"
[[station]]
exercise = "dead-bug"
[[station]]
exercise = "wall-sit"
""",
}
MOST_MS = 15 * 60_000


class Killed(BaseException):
    """The process is gone: nothing is closed, nothing more is written."""


@dataclass
class Outcome:
    """What became of one session."""

    seed: int
    mode: str
    kills: int = 0
    presses: int = 0
    ending: str = ""
    wrong: tuple[str, ...] = ()


class Hand:
    """Draws what is pressed next, and after how long."""

    def __init__(self, seed: int) -> None:
        self.drawn = random.Random(seed)
        actions, weights = zip(*WEIGHTS.items(), strict=True)
        self._actions, self._weights = actions, weights

    def action(self) -> str:
        (found,) = self.drawn.choices(self._actions, self._weights)
        return str(found)

    def pause_ms(self) -> int:
        """Mostly seconds; sometimes two presses in one."""
        if self.drawn.random() < 0.2:
            return self.drawn.randint(20, 350)
        return self.drawn.randint(400, 6_000)

    def press(self) -> list[str]:
        """One press, and what answers the question it asks."""
        action = self.action()
        if action == "effort":
            return self.drawn.choice(EFFORTS).split()
        first = self.drawn.choice(DEFAULTS[action][0])
        answer = self.drawn.choice(ANSWERS.get(action, [""]))
        return [first, *answer.split()]

    def lines(self) -> list[str]:
        """The same as lines."""
        action = self.action()
        if action == "drop_loop":
            return ["d", self.drawn.choice(["d", "n"])]
        if action == "stop":
            return ["q", "n"]
        if action == "pause":
            return [self.drawn.choice(["", "space"])]
        if self.drawn.random() < 0.03:
            return ["note so so"]
        typed = LINES.get(action)
        return [typed or self.drawn.choice(DEFAULTS[action][0])]


def install_fakes(monkeypatch: Any) -> None:
    """Have every session of this process sound on a fake device with a fake voice."""
    for name, fake in FAKES.items():
        monkeypatch.setattr(sounding, name, fake)
    monkeypatch.setattr("whistlestop.tui.awake.awake_command", lambda: None)


def make_home(home: Path) -> Path:
    """A home with the circuits of this person, the notice acknowledged."""
    (home / "circuits").mkdir(parents=True)
    (home / "state").mkdir()
    for name, text in CIRCUITS.items():
        (home / "circuits" / f"{name}.toml").write_text(text)
    moment = "2031-04-12T06:15:02+02:00"
    remembered = f'notice_acknowledged = "{moment}"\n'
    (home / "state" / "remembered.toml").write_text(remembered)
    return home


def plan_for(services: Services, *, pair: bool) -> tuple[Plan, Company]:
    """Alone in the yard, or two people."""
    if not pair:
        return compile_plan(services.circuits.read("yard")), ALONE
    plan, company, _ = together(
        services, services.circuits.read("pair"), "Robin", keep=True
    )
    return plan, company


class TypingKeyboard(LineKeyboard):
    """A keyboard whose waiting moves the clock; lines come as the hand draws them."""

    def __init__(self, hand: Hand, clock: HandClock, outcome: Outcome) -> None:
        super().__init__(fd=-1)
        self._hand, self._clock, self._outcome = hand, clock, outcome
        self._waiting: list[str] = []
        self._next_ms = clock.awake_ms + hand.pause_ms()
        self._ends_ms = clock.awake_ms + MOST_MS
        self.killed_ms: int | None = None
        self.is_after = False

    def wait(self, seconds: float) -> list[str]:
        self._clock.go(max(1, round(seconds * 1_000)))
        now = self._clock.awake_ms
        if self.killed_ms is not None and now >= self.killed_ms:
            raise Killed
        if self.is_after:
            return [self._hand.drawn.choice(["", "7"])]
        if now >= self._ends_ms:
            return ["q"]
        if now < self._next_ms:
            return []
        if not self._waiting:
            self._waiting = self._hand.lines()
        self._outcome.presses += 1
        line = self._waiting.pop(0)
        self._next_ms = now + (300 if self._waiting else self._hand.pause_ms())
        return [line]


def abandon(running: RunningSession) -> None:
    """Leave a session as a kill does: what was written is there, nothing else."""
    running.released = True
    running.writer.close(5.0)
    running.lock.__exit__(None, None, None)


def session_in_lines(home: Path, seed: int) -> Outcome:
    """One whole session in line mode on a simulated clock, with kills in it."""
    hand, clock = Hand(seed), HandClock()
    outcome = Outcome(seed, "lines")
    services = Services(home, clock=clock)
    plan, company = plan_for(services, pair=seed % 4 == 1)
    running = services.sessions.start(
        plan, options=services.sessions.options(), company=company
    )
    begin = True
    for is_last in _lives(hand):
        keyboard = TypingKeyboard(hand, clock, outcome)
        if not is_last:
            keyboard.killed_ms = clock.awake_ms + hand.drawn.randint(50, 60_000)
        try:
            _run_in_lines(services, running, keyboard, begin=begin)
            break
        except Killed:
            outcome.kills += 1
            abandon(running)
            clock.go(hand.drawn.randint(100, 20_000))
            services = Services(home, clock=clock)
            running, begin = services.sessions.resume(running.session_id), False
    running.session.close()
    assert running.release()
    return judged(outcome, home, running.session_id)


def _lives(hand: Hand) -> Iterator[bool]:
    """Most sessions live once; some are killed up to three times."""
    for _ in range(hand.drawn.choice([0, 0, 1, 1, 3])):
        yield False
    yield True


def _run_in_lines(
    services: Services,
    running: RunningSession,
    keyboard: TypingKeyboard,
    *,
    begin: bool,
) -> None:
    names = dict.fromkeys(running.session.athletes, "Robin")
    run = PlainRun(
        running.session,
        keymap=services.keymap,
        keyboard=keyboard,
        receipts=Receipts(running.writer),
        names=names,
    )
    running.open_sound()
    if begin:
        run.begin()
    run.run()
    keyboard.is_after, keyboard.killed_ms = True, None
    run.close_out()


async def session_on_floor(home: Path, seed: int) -> Outcome:
    """One whole session on the Floor on a simulated clock, with kills in it."""
    hand, clock = Hand(seed), HandClock()
    outcome = Outcome(seed, "floor")
    session_id = ""
    for is_last in _lives(hand):
        services = Services(home, clock=clock)
        what: dict[str, Any] = {"resume": session_id}
        if not session_id:
            plan, company = plan_for(services, pair=seed % 4 == 1)
            what = {"plan": plan, "company": company}
        app = WhistlestopApp(services, polls=False, **what)
        limit_ms = MOST_MS if is_last else hand.drawn.randint(50, 60_000)
        async with app.run_test(size=(100, 30)) as pilot:
            await pilot.pause()
            running = app.running
            assert running is not None
            session_id = running.session_id
            await press_on(pilot, hand, clock, outcome, limit_ms)
            if running.session.is_over or is_last:
                app.end_session()
                break
            outcome.kills += 1
            abandon(running)
            app.running = None
        clock.go(hand.drawn.randint(100, 20_000))
    return judged(outcome, home, session_id)


async def press_on(
    pilot: Pilot[Any], hand: Hand, clock: HandClock, outcome: Outcome, limit_ms: int
) -> None:
    """Press keys on the Floor until it is over, or the time is."""
    floors = [one for one in pilot.app.screen_stack if isinstance(one, FloorScreen)]
    floor, session = floors[-1], floors[-1]._session
    end_ms = clock.awake_ms + limit_ms
    last_of_all = limit_ms == MOST_MS
    while not session.is_over:
        for key in hand.press():
            await _let_pass(pilot, clock, floor, hand.pause_ms() // 2)
            if session.is_over:
                return
            outcome.presses += 1
            if pilot.app.screen is floor:
                floor.press(key)
            else:
                await pilot.press(key)
        if clock.awake_ms >= end_ms:
            if not last_of_all:
                return
            if pilot.app.screen is not floor:
                await _let_pass(pilot, clock, floor, 1_000)
                await pilot.press("escape")
            for key in ("q", "enter"):
                clock.go(1_000)
                floor.press(key)


async def _let_pass(
    pilot: Pilot[Any], clock: HandClock, floor: FloorScreen, ms: int
) -> None:
    while ms > 0:
        step = min(ms, 500)
        clock.go(step)
        floor.poll()
        ms -= step
    await pilot.pause()


def judged(outcome: Outcome, home: Path, session_id: str) -> Outcome:
    """Say what is wrong with a session that is over: nothing may be.

    What `log verify` looks at is among it: each file of the log, and the replay.
    """
    services = Services(home)
    record = services.log.record(session_id)
    outcome.ending = record.ending
    state = verify_log(services.places.log)
    wrong = [*record.problems, *(copy.what for copy in state.copies)]
    wrong += [problem for file in state.files for problem in file.problems]
    if not record.finished:
        wrong.append("it did not come to its end")
    done = sum(loop.best_ms for loop in record.loops)
    planned = sum(loop.plan_ms for loop in record.loops)
    if not 0 <= done <= planned:
        wrong.append(f"{done} ms of work done of {planned}")
    if record.active_ms + record.paused_ms + record.gated_ms != record.elapsed_ms:
        wrong.append("active, paused and gated are not elapsed")
    fault = home / "state" / "fault.txt"
    if fault.exists():
        wrong.append(fault.read_text()[-1500:])
    outcome.wrong = tuple(wrong)
    return outcome
