"""Nothing but clock, engine and journal can end a session.

A fault is raised from every call that a session makes into anything else, live on
the Floor and in line mode, and after a resume: it comes to its own end, and the
record adds up.
"""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import pytest
from tests.support.clock import HandClock
from tests.support.person import (
    Hand,
    Outcome,
    TypingKeyboard,
    abandon,
    install_fakes,
)
from tests.support.person import (
    make_home as plain_home,
)
from tests.support.recording_sound import RecordingSound
from textual.pilot import Pilot

from whistlestop.cli import line_run
from whistlestop.cli.receipts import Receipts
from whistlestop.domain.plan.pairing import ALONE, Company
from whistlestop.domain.plan.plan import Plan
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.driver.guard import COACH, SOUND, UNREAD, Guard, GuardedSound
from whistlestop.driver.keymap import DEFAULTS
from whistlestop.driver.pairs import together
from whistlestop.driver.services import Services
from whistlestop.driver.starting import RunningSession
from whistlestop.engine.states import Mode
from whistlestop.errors import Problem, ProblemsFound
from whistlestop.sound.port import SoundReport, SoundStatus
from whistlestop.tui.app import WhistlestopApp
from whistlestop.tui.floor.screen import FloorScreen

W = "whistlestop"
# Every call into what a session can do without, whichever mode makes it.
BOTH = (
    f"{W}.driver.audio_factory.open_sound",
    f"{W}.driver.audio_factory.open_voice",
    f"{W}.driver.audio_factory.find_own",
    f"{W}.driver.audio_factory.drill_sounds",
    f"{W}.driver.audio_factory.AudioFactory.port",
    f"{W}.driver.library.LibraryService.drills",
    f"{W}.driver.kit.KitService.limits",
    "tests.support.recording_sound.RecordingSound.plan",
    "tests.support.recording_sound.RecordingSound.clear",
    "tests.support.recording_sound.RecordingSound.now",
    "tests.support.recording_sound.RecordingSound.load",
    "tests.support.recording_sound.RecordingSound.mute",
    "tests.support.recording_sound.RecordingSound.status",
    "tests.support.recording_sound.RecordingSound.reports",
    "tests.support.recording_sound.RecordingSound.close",
    "tests.support.fake_sound.FakeVoice.start",
    "tests.support.fake_sound.FakeVoice.ready",
    "tests.support.fake_sound.FakeVoice.close",
    f"{W}.driver.session_audio.SessionAudio.prepare",
    f"{W}.driver.session_audio.SessionAudio.poll",
    f"{W}.driver.session_audio.SessionAudio.close",
    f"{W}.driver.cue_scheduler.CueScheduler.__init__",
    f"{W}.driver.cue_scheduler.CueScheduler.begin",
    f"{W}.driver.cue_scheduler.CueScheduler.go_on",
    f"{W}.driver.cue_scheduler.CueScheduler.after_input",
    f"{W}.driver.cue_scheduler.CueScheduler.change",
    f"{W}.sound.cue_filter.CueFilter.upcoming",
    f"{W}.sound.soundtrack.Soundtrack.sentences",
)
FOR_TWO = (f"{W}.driver.athletes.called",)
ON_FLOOR = (
    f"{W}.driver.session_audio.SessionAudio.switch_voice",
    f"{W}.driver.session_audio.SessionAudio.switch_pacing",
    f"{W}.driver.kit.KitService.owned",
    f"{W}.driver.library.LibraryService.whole",
    f"{W}.driver.circuits.CircuitService.remember",
    f"{W}.tui.awake.KeepAwake.start",
    f"{W}.tui.floor.questions.about",
    f"{W}.tui.floor.questions.instead",
    f"{W}.tui.floor.questions.choices",
    f"{W}.tui.floor.questions.typed_load",
    f"{W}.tui.floor.prompts.AskNumber.press",
    f"{W}.tui.rooms.frame.key_list.KeysScreen.__init__",
    f"{W}.tui.rooms.frame.key_list.key_rows",
    f"{W}.tui.floor.caution.calls_for",
    f"{W}.tui.floor.screen.floor_model",
    f"{W}.tui.floor.screen.paint",
)
ON_FLOOR_FOR_TWO = (
    f"{W}.tui.floor.pair.pair_model",
    f"{W}.tui.floor.paint_pair.paint_pair",
)
AFTER_END = (
    f"{W}.tui.rooms.safety.health.HealthScreen.__init__",
    f"{W}.tui.rooms.safety.health.health_rows",
    f"{W}.tui.rooms.close_out.room.CloseOutRoom.__init__",
    f"{W}.tui.rooms.close_out.room.CloseOutRoom.title_text",
    f"{W}.tui.rooms.close_out.room.CloseOutRoom.press",
    f"{W}.tui.rooms.close_out.room.session_record",
    f"{W}.tui.rooms.close_out.room.close_out",
)
IN_LINES = (f"{W}.cli.plain.tell", f"{W}.cli.plain.say")
IN_LINES_FOR_TWO = (f"{W}.cli.event_lines_pair.tell_pair",)
# One is only called at the beginning, the other only in the middle of a session.
LIVE_ONLY = {f"{W}.driver.cue_scheduler.CueScheduler.begin"}
RESUMED_ONLY = {f"{W}.driver.cue_scheduler.CueScheduler.change"}
MANY_KEYS = "w 1 l 1 e escape h escape c 1 enter m m v t x escape s s u question_mark"
BRIEF = """\
format = 1
name = "Brief"
work = "6 s"
recover = "3 s"
get_ready = "2 s"
[[station]]
exercise = "goblet-squat"
load = "12 kg"
[[station]]
exercise = "push-up"
hold = true
"""
FOR_PAIR = """\
format = 1
name = "Two"
work = "6 s"
recover = "3 s"
get_ready = "2 s"
[[station]]
exercise = "push-up"
[[station]]
exercise = "dead-bug"
"""


def make_home(home: Path) -> Path:
    """A home with two short circuits."""
    plain_home(home)
    (home / "circuits" / "yard.toml").write_text(BRIEF)
    (home / "circuits" / "pair.toml").write_text(FOR_PAIR)
    return home


def plan_for(services: Services, *, pair: bool) -> tuple[Plan, Company]:
    if not pair:
        return compile_plan(services.circuits.read("yard")), ALONE
    plan, company, _ = together(
        services, services.circuits.read("pair"), "Robin", keep=True
    )
    return plan, company


class Fault(Exception):
    """What nobody foresaw."""


@pytest.fixture(autouse=True)
def _fakes(monkeypatch: pytest.MonkeyPatch) -> None:
    install_fakes(monkeypatch)


def break_call(monkeypatch: pytest.MonkeyPatch, target: str) -> list[str]:
    """Raise from a call; the list says that it was made."""
    made: list[str] = []

    def fail(*_: object, **__: object) -> None:
        made.append(target)
        raise Fault(target)

    monkeypatch.setattr(target, fail)
    return made


def check_record(home: Path, session_id: str, ending: str = "complete") -> None:
    """It has its own end, and its figures add up."""
    record = Services(home).log.record(session_id)
    assert record.problems == ()
    assert (record.finished, record.ending) == (True, ending)
    parts = record.active_ms + record.paused_ms + record.gated_ms
    assert parts == record.elapsed_ms > 0


async def train(home: Path, clock: HandClock, **what: Any) -> tuple[str, Guard]:
    """A session on the Floor in which every key is pressed, to its own end."""
    services = Services(home, clock=clock)
    app = WhistlestopApp(services, polls=False, **what)
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        running = app.running
        assert running is not None
        await _press_all(pilot, running, clock)
        app.end_session()
    return running.session_id, services.guard


async def _press_all(
    pilot: Pilot[Any], running: RunningSession, clock: HandClock
) -> None:
    (floor,) = [s for s in pilot.app.screen_stack if isinstance(s, FloorScreen)]
    floor._set_going()
    for key in MANY_KEYS.split():
        clock.go(150)
        floor.poll()
        floor.press(key)
    await pilot.pause()
    if pilot.app.screen is not floor:
        await pilot.press("escape")
    while not running.session.is_over:
        clock.go(1_000)
        floor.poll()
        if stands_still(running):
            floor.press("space")
    await pilot.pause()


async def until_broken_off(home: Path, clock: HandClock, *, pair: bool) -> str:
    """A session that was killed after some seconds; its id."""
    services = Services(home, clock=clock)
    plan, company = plan_for(services, pair=pair)
    running = services.sessions.start(plan, company=company)
    running.open_sound()
    running.session.begin()
    for _ in range(30):
        clock.go(100)
        running.session.tick()
    abandon(running)
    clock.go(5_000)
    return running.session_id


@pytest.mark.slow
@pytest.mark.parametrize("target", [*BOTH, *ON_FLOOR, *FOR_TWO, *ON_FLOOR_FOR_TWO])
async def test_a_fault_on_the_floor_ends_no_session(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, target: str
) -> None:
    home, clock = make_home(tmp_path / "home"), HandClock()
    pair = target in FOR_TWO + ON_FLOOR_FOR_TWO
    plan, company = plan_for(Services(home), pair=pair)
    made = break_call(monkeypatch, target)
    session_id, _ = await train(home, clock, plan=plan, company=company)
    assert bool(made) is (target not in RESUMED_ONLY)
    check_record(home, session_id)
    if made and not target.endswith("close") and "remember" not in target:
        assert "Fault" in (home / "state" / "fault.txt").read_text()


@pytest.mark.slow
@pytest.mark.parametrize("target", [*BOTH, *FOR_TWO])
async def test_a_fault_after_a_resume_on_the_floor_ends_no_session(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, target: str
) -> None:
    home, clock = make_home(tmp_path / "home"), HandClock()
    broken_off = await until_broken_off(home, clock, pair=target in FOR_TWO)
    made = break_call(monkeypatch, target)
    session_id, _ = await train(home, clock, resume=broken_off)
    assert session_id == broken_off
    assert bool(made) is (target not in LIVE_ONLY)
    check_record(home, session_id)


@pytest.mark.parametrize("target", AFTER_END)
async def test_a_fault_after_the_end_loses_nothing_of_the_session(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, target: str
) -> None:
    """Stopped for health: the signs, the close-out, and Enter brings one on."""
    home, clock = make_home(tmp_path / "home"), HandClock()
    services = Services(home, clock=clock)
    plan, _ = plan_for(services, pair=False)
    made = break_call(monkeypatch, target)
    app = WhistlestopApp(services, polls=False, plan=plan)
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        running = app.running
        assert running is not None
        (floor,) = [s for s in app.screen_stack if isinstance(s, FloorScreen)]
        floor._set_going()
        for _ in range(30):
            clock.go(100)
            floor.poll()
        floor.press(DEFAULTS["health"][0][0])
        for _ in range(40):
            clock.go(1_000)
            await pilot.press("enter")
            await pilot.pause()
            if app.running is None:
                break
        assert app.running is None
        assert app.is_running
    assert made
    check_record(home, running.session_id, "health")


async def test_without_the_list_of_sessions_the_newest_is_found_by_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home, clock = make_home(tmp_path / "home"), HandClock()
    broken_off = await until_broken_off(home, clock, pair=False)
    made = break_call(monkeypatch, f"{W}.store.journal.index.LogIndex.sessions")
    services = Services(home, clock=clock)
    interrupted = services.sessions.interrupted()
    assert made
    assert interrupted is not None
    assert interrupted.id == broken_off
    services.sessions.settle(broken_off)
    assert services.sessions.interrupted() is None


def stands_still(running: RunningSession) -> bool:
    """Whether only a key brings it on: a pause, or a gate without a count-in."""
    engine = running.session.engine
    return engine.mode is Mode.PAUSED or (
        engine.at_gate and engine.mode is Mode.RUNNING
    )


class Lines(TypingKeyboard):
    """Types a list of lines, a second apart, and opens every gate."""

    def __init__(
        self, clock: HandClock, running: RunningSession, lines: list[str]
    ) -> None:
        super().__init__(Hand(1), clock, Outcome(1, "lines"))
        self._running, self._lines_left = running, lines

    def wait(self, seconds: float) -> list[str]:
        self._clock.go(max(1, round(seconds * 1_000)))
        session = self._running.session
        if session.is_over:
            return [""]
        if self._lines_left and self._clock.awake_ms % 7 == 0:
            return [self._lines_left.pop(0)]
        return [""] if stands_still(running=self._running) else []


LINES = "m|m|e|h|note so|6|x knee left 3|s|u|count 3|a|tab"


def run_lines(
    services: Services, running: RunningSession, clock: HandClock, *, begin: bool
) -> None:
    """A session in line mode, as `run --plain` makes it."""
    keyboard = Lines(clock, running, LINES.split("|"))
    run = line_run._printing(
        services, running, keyboard, Receipts(running.writer), None
    )
    running.open_sound()
    if begin:
        run.begin()
    run.run()
    run.close_out()
    running.session.close()
    assert running.release()


@pytest.mark.parametrize("is_resumed", [False, True], ids=["live", "resumed"])
@pytest.mark.parametrize("target", [*BOTH, *IN_LINES, *FOR_TWO, *IN_LINES_FOR_TWO])
def test_a_fault_in_line_mode_ends_no_session(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, target: str, is_resumed: bool
) -> None:
    home, clock = make_home(tmp_path / "home"), HandClock()
    pair = target in FOR_TWO + IN_LINES_FOR_TWO
    plan, company = plan_for(Services(home), pair=pair)
    broken_off = ""
    if is_resumed:
        broken_off = asyncio.run(until_broken_off(home, clock, pair=pair))
    made = break_call(monkeypatch, target)
    services = Services(home, clock=clock)
    if is_resumed:
        running = services.sessions.resume(broken_off)
    else:
        running = services.sessions.start(
            plan, options=services.sessions.options(), company=company
        )
    run_lines(services, running, clock, begin=not is_resumed)
    assert bool(made) is (target not in (LIVE_ONLY if is_resumed else RESUMED_ONLY))
    check_record(home, running.session_id)


def test_a_part_that_failed_is_shown_once_and_not_asked_again(tmp_path: Path) -> None:
    asked: list[int] = []

    def fail() -> int:
        asked.append(1)
        raise Fault("x")

    guard = Guard(Services(tmp_path).places)
    assert [guard.call(SOUND, fail, 7) for _ in range(3)] == [7, 7, 7]
    assert len(asked) == 1
    (message,) = guard.messages()
    assert message.startswith("The sound failed (Fault); the session goes on")
    assert "Fault: x" in (tmp_path / "state" / "fault.txt").read_text()
    guard.begin_session()
    assert guard.call(SOUND, lambda: 3, 7) == 3


def test_a_file_with_a_problem_is_named_once_and_asked_again() -> None:
    """It can be mended while the session goes on."""
    problems = (Problem("weeks.toml", 2, 1, "no"), Problem("weeks.toml", 3, 1, "no"))

    def fail() -> int:
        raise ProblemsFound(problems)

    guard = Guard()
    assert [guard.call(COACH, fail, 0) for _ in range(2)] == [0, 0]
    assert guard.messages() == ("weeks.toml:2:1: no (and 1 more)",)
    assert guard.call(COACH, lambda: 5, 0) == 5


def test_where_the_player_failed_the_bell_stands_in_unless_it_is_muted() -> None:
    guard = Guard()

    class Broken(RecordingSound):
        def _note(self, method: str, *_: object) -> None:
            raise Fault(method)

        def status(self) -> SoundStatus:
            raise Fault("status")

        def reports(self) -> list[SoundReport]:
            raise Fault("reports")

    sound = GuardedSound(Broken(), guard)
    sound.now("go")
    assert sound.status().wants_bell
    sound.mute(on=True)
    assert not sound.status().wants_bell
    assert sound.reports() == []
    sound.close()


# Files that cannot be read do not stop `run CIRCUIT`.

STEP = (
    '{"s":0,"k":"decision","id":"d1","circuit":"yard","day":"2031-04-12",'
    '"choice":"accepted","rule":"load","change":{}}\n'
)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("weeks.toml", 'weeks = "eight"\n'),
        ("limits.toml", 'limit = "knee"\n'),
        ("kit.toml", "kit = 3\n"),
        ("log/diary.jsonl", None),
        ("log/decisions.jsonl", None),
        ("log/diary.jsonl", "not a line\n"),
        ("log/decisions.jsonl", "not a line\n"),
    ],
)
def test_a_file_that_cannot_be_read_does_not_stop_a_run(
    tmp_path: Path, name: str, text: str | None, capsys: pytest.CaptureFixture[str]
) -> None:
    """None: a folder stands where the file should be."""
    home = make_home(tmp_path / "home")
    (home / "log").mkdir()
    (home / "log" / "decisions.jsonl").write_text(STEP)
    path = home / name
    path.unlink(missing_ok=True)
    if text is None:
        path.mkdir()
    else:
        path.write_text(text)
    from whistlestop.cli.main import main

    status = main(["run", "yard", "--plain", "--speed", "1000", "--home", str(home)])
    assert status == 0
    (line,) = Services(home).log.sessions(scripted=True)
    assert line.finished
    sentences = capsys.readouterr().err
    if text is None or name == "limits.toml":
        assert name.rpartition("/")[2] in sentences
        assert "Accepted steps are left out" in sentences or "diary" in name


def test_with_limits_that_cannot_be_read_nothing_is_chosen(tmp_path: Path) -> None:
    home = make_home(tmp_path / "home")
    services = Services(home)
    assert services.kit.limits_problem() == ""
    (home / "limits.toml").write_text('limit = "knee"\n')
    assert "nothing is exchanged until it is read" in services.kit.limits_problem()
    (home / "limits.toml").unlink()
    (home / "limits.toml").mkdir()
    assert "nothing is exchanged until it is read" in services.kit.limits_problem()


def test_unread_is_what_stands_in_where_reading_limits_fails_in_any_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    services = Services(make_home(tmp_path / "home"))
    break_call(monkeypatch, f"{W}.driver.kit.KitService.limits")
    assert (
        services.guard.call("The list", services.kit.limits_problem, UNREAD) == UNREAD
    )
