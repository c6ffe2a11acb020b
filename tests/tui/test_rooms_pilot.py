"""Each room with its keys pressed: what it asks of the application and the services."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.support.rooms_app import RoomsApp, press, settle, whole
from tests.support.services import (
    SHED,
    ServicesForTests,
    break_off,
    do_session,
    make_services,
    run_until,
    start_session,
)
from textual.events import Key
from textual.widgets import Input

from whistlestop.domain.plan.plan import Plan
from whistlestop.driver.starting import RunningSession
from whistlestop.engine.commands import Do, EnterDiscomfort
from whistlestop.engine.states import Mode
from whistlestop.errors import StoreError
from whistlestop.review.amended import version_lines
from whistlestop.review.record import session_record
from whistlestop.store.journal.writer import Status
from whistlestop.tui.rooms.circuits.room import CircuitsRoom
from whistlestop.tui.rooms.close_out.room import CloseOutRoom
from whistlestop.tui.rooms.frame.key_list import KeysScreen, RoomKeys
from whistlestop.tui.rooms.log.room import LogRoom, RecordScreen
from whistlestop.tui.rooms.safety.discomfort import DiscomfortScreen
from whistlestop.tui.rooms.safety.health import HealthScreen
from whistlestop.tui.rooms.safety.notice import NoticeScreen
from whistlestop.tui.rooms.sheet.room import SheetRoom
from whistlestop.tui.widgets.page import Page

SIZE = (80, 24)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    two = {"rainy-shed": SHED, "yard": SHED.replace("Rainy shed", "Yard")}
    return make_services(tmp_path / "home", two)


def record_so_far(running):
    return session_record(running.session.engine.for_athlete())


def ended(
    services: ServicesForTests, why: Do = Do.HEALTH, at_ms: int = 300_000
) -> RunningSession:
    running = start_session(services, services.circuits.read("rainy-shed"))
    run_until(services, running, at_ms)
    running.session.do(why)
    if running.session.engine.mode is not Mode.ENDED:
        running.session.do(why)
    return running


# Circuits


async def test_enter_opens_the_sheet_of_the_chosen_circuit(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "down", "enter")
    assert app.asked == [("open_sheet", "yard")]


async def test_the_circuit_done_last_is_chosen_and_can_be_done_again(services):
    do_session(services, services.circuits.read("yard"))
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "▌ Yard" in whole(app)
        assert "a again: Yard, today" in whole(app)
        await press(pilot, "a", "l", "q")
    assert app.asked == [("again",), ("open_log",), ("leave",)]


async def test_again_is_not_offered_where_nothing_was_done(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "again" not in whole(app)
        await press(pilot, "a", "r", "k")
    assert app.asked == []


async def test_an_interrupted_session_is_resumed_or_left_alone(services):
    session = break_off(services, services.circuits.read("yard"), 75_000)
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "Yard was interrupted at 17:31, loop 1, station 2" in whole(app)
        await press(pilot, "r")
        assert app.asked == [("resume", session)]
        await press(pilot, "k")
        assert "was interrupted" not in whole(app)
        assert "stays in the log, unfinished" in whole(app)
        await press(pilot, "r")
    assert app.asked == [("resume", session)]


async def test_the_room_looks_again_when_it_is_come_back_to(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "not done yet" in whole(app)
        await press(pilot, "question_mark")
        for name in ("rainy-shed", "yard"):
            do_session(services, services.circuits.read(name))
        await press(pilot, "escape")
        await settle(pilot)
        assert "not done yet" not in whole(app)
        assert whole(app).count("last today") == 2
        assert "▌ Rainy shed" in whole(app)


async def test_an_empty_shelf_says_what_to_do(tmp_path):
    app = RoomsApp(make_services(tmp_path), CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        sentences = whole(app)
        assert "No circuits yet." in sentences
        assert "--stations 10 --work 40 --recover 20 --loops 3" in sentences
        await press(pilot, "enter", "down", "end", "home")
    assert app.asked == []


async def test_a_shelf_that_cannot_be_read_is_said_and_ends_nothing(services):
    def fail():
        raise StoreError("the folder circuits cannot be read")

    services.circuits.find_all = fail
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await pilot.pause()
        for _ in range(20):
            if "could not be read" in whole(app):
                break
            await pilot.pause(0.05)
        assert "The circuits could not be read: the folder circuits" in whole(app)
        await press(pilot, "q")
    assert app.asked == [("leave",)]


async def test_a_log_that_cannot_be_read_leaves_the_circuits_usable(services):
    def fail(**_options):
        raise StoreError("the log folder cannot be read")

    services.log.sessions = fail
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "the log folder cannot be read" in whole(app)
        assert "▌ Rainy shed" in whole(app)


async def test_lone_modifiers_and_unknown_keys_do_nothing(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        before = whole(app)
        await press(pilot, "left_shift", "right_control", "f9", "j", "k")
        assert whole(app) == before
    assert app.asked == []


async def test_a_held_enter_opens_one_sheet(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, *["enter"] * 10, after_ms=33)
    assert app.asked == [("open_sheet", "rainy-shed")]


# Sheet


@pytest.mark.parametrize("key", ["space", "enter"])
async def test_the_sheet_starts_the_plan_as_it_stands(services, key):
    app = RoomsApp(services, SheetRoom(services.circuits.read("rainy-shed")))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "6:30 in all" in whole(app)
        await press(pilot, "left", "down", "right", "right")
        assert "changed for today" in whole(app)
        await press(pilot, *["down"] * 5, "d", key)
    [(asked, plan)] = app.asked
    assert asked == "begin"
    assert isinstance(plan, Plan)
    # One loop of two stations, 50 s each, and the recovery between them.
    assert plan.loops == 1
    assert [card.number for card in plan.stations] == [1, 3]
    assert plan.work_ms == 100_000


async def test_what_cannot_be_is_said_and_changes_nothing(services):
    app = RoomsApp(services, SheetRoom(services.circuits.read("rainy-shed")))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "left", "left")
        assert "Loops: 1 to 20." in whole(app)
        await press(pilot, "end", "d", "up", "d", "up", "d")
        assert "Not possible: loop 1 has no station left." in whole(app)
        await press(pilot, "u")
        assert "changed for today" not in whole(app)
        assert "6:30 in all" in whole(app)


async def test_a_held_enter_that_opened_the_sheet_does_not_start_it(services):
    app = RoomsApp(services, SheetRoom(services.circuits.read("rainy-shed")))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "enter", after_ms=500)
        await press(pilot, *["enter"] * 20, after_ms=33)
        assert app.asked == []
        await press(pilot, "enter")
    assert [one[0] for one in app.asked] == ["begin"]


async def test_the_start_and_the_stop_rule_stay_in_sight_while_scrolling(services):
    app = RoomsApp(services, SheetRoom(services.circuits.read("rainy-shed")))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        top = whole(app)
        await press(pilot, "end", "pagedown", "pagedown", "down")
        assert whole(app) != top
        assert "Space start" in whole(app)
        assert "press z (health stop)" in whole(app)
        await press(pilot, "home")
        assert "6:30 in all" in whole(app)
        await press(pilot, "escape")
    assert app.results == [None]


async def test_every_line_of_a_long_sheet_can_be_reached(services):
    app = RoomsApp(services, SheetRoom(services.circuits.read("rainy-shed")))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        seen = whole(app)
        page = app.screen.query_one("#page", Page)
        for _ in range(page.count):
            await press(pilot, "down")
            seen += whole(app)
        assert page.in_view.stop == page.count
        assert "Keep the door open." in seen
        assert "Lay out 5 things" in seen


# Close-out


async def test_efforts_note_and_discomfort_are_entered_and_kept(services):
    running = ended(services)
    app = RoomsApp(services, CloseOutRoom(running, poll_s=None))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "7", "comma", "down", "5", "down", "6", "backspace")
        await press(pilot, "n")
        await press(pilot, *"slept 9 h, q?", "up", "enter")
        await press(pilot, "x", "m", "l", "3")
        result = record_so_far(running)
        assert str(result.session_effort) == "7.5"
        assert [str(line.effort) for line in result.loops] == ["5", "None"]
        assert result.note == "slept 9 h, q?"
        felt = [taken.entry for taken in result.discomforts]
        assert felt == [EnterDiscomfort("knee", "left", 3)]
        assert "knee, left, 3 of 10" in whole(app)
        await press(pilot, "enter")
        await settle(pilot)
    assert app.results == ["closed"]
    assert running.release()
    record = services.log.record("last")
    assert str(record.session_effort) == "7.5"
    assert record.note == "slept 9 h, q?"
    assert record.discomforts[0].entry == EnterDiscomfort("knee", "left", 3)


async def test_the_word_kept_follows_the_disk_by_itself(services, tmp_path):
    running = ended(services)
    running.writer = disk = FullDisk(running.writer, tmp_path)
    app = RoomsApp(services, CloseOutRoom(running, poll_s=0.01))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert whole(app).splitlines()[0].endswith("not saved yet ━━")
        disk.takes = True
        for _ in range(50):
            await pilot.pause(0.02)
            if "not saved" not in whole(app):
                break
        assert whole(app).splitlines()[0].endswith("━ saved ━━")
    running.release()


async def test_one_then_zero_is_ten_and_one_alone_is_one(services):
    running = ended(services)
    app = RoomsApp(services, CloseOutRoom(running, poll_s=None))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "1", "0")
        assert "10  all I had" in whole(app)
        await press(pilot, "1")
        await press(pilot, "0", after_ms=1_600)
        assert "0  idle" in whole(app)
    running.release()


async def test_escape_leaves_a_note_as_it_was(services):
    running = ended(services)
    app = RoomsApp(services, CloseOutRoom(running, poll_s=None))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "n")
        assert isinstance(app.focused, Input)
        await press(pilot, "5", "k", "g")
        assert "\n  5kg\n" in whole(app)
        assert "How hard" not in whole(app)
        await press(pilot, "escape")
        await settle(pilot)
        assert not app.screen.query(Input)
        assert record_so_far(running).note == ""
        assert record_so_far(running).session_effort is None
        assert app.results == []
        await press(pilot, "5")
        assert str(record_so_far(running).session_effort) == "5"
    running.release()


async def test_a_health_stop_is_reopened_and_nothing_else_is(services):
    running = ended(services)
    app = RoomsApp(services, CloseOutRoom(running, poll_s=None))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "o reopen" in whole(app)
        await press(pilot, "o")
    assert app.results == ["reopened"]
    assert running.session.engine.mode is Mode.PAUSED
    running.release()


async def test_a_session_stopped_otherwise_offers_no_reopening(services):
    running = ended(services, Do.STOP)
    app = RoomsApp(services, CloseOutRoom(running, poll_s=None))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "reopen" not in whole(app)
        await press(pilot, "o")
        assert app.results == []
    running.release()


async def test_what_was_left_out_is_asked_about_in_one_key(services):
    running = ended(services, Do.STOP)
    app = RoomsApp(services, CloseOutRoom(running, poll_s=None))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "6")
        assert "too much (t), or no time (c)?" in whole(app)
        await press(pilot, "c")
        assert "There was no time" in whole(app)
        await press(pilot, "enter")
        await settle(pilot)
    assert app.results == ["closed"]
    assert running.release()
    diary = services.logbook().diary
    assert diary.amended(running.session_id) == {"left_out_for": "no-time"}
    (line,) = version_lines(diary.amendments[running.session_id])
    assert line.endswith(": left out: no time")


class FullDisk:
    """A writer whose disk takes nothing until `takes` is set."""

    def __init__(self, writer, copy: Path) -> None:
        self._writer, self._copy = writer, copy
        self.takes = False

    def __getattr__(self, name):
        return getattr(self._writer, name)

    def state(self) -> Status:
        return Status(self.takes, 0.0, None if self.takes else "no space is left")

    def flush(self, timeout_s: float) -> bool:
        return self.takes

    def emergency_copy(self, folder: Path) -> Path:
        assert folder == self._copy
        return self._writer.emergency_copy(folder)


async def test_a_disk_that_takes_nothing_is_said_and_a_copy_is_offered(
    services, tmp_path
):
    running = ended(services)
    running.writer = disk = FullDisk(running.writer, tmp_path)
    room = CloseOutRoom(running, poll_s=None, copy_folder=tmp_path)
    app = RoomsApp(services, room)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "not saved yet" in whole(app)
        await press(pilot, "enter")
        await settle(pilot)
        sentences = " ".join(whole(app).split())
        assert (
            "Not saved yet: no space is left. Stay here: it is only in memory."
            in sentences
        )
        assert app.results == []
        await press(pilot, "e")
        assert "Copy saved in" in whole(app)
        [copy] = tmp_path.glob("*.jsonl")
        assert '"k":"sum"' in copy.read_text().replace(" ", "")
        disk.takes = True
        room.look()
        await pilot.pause()
        assert "not saved yet" not in whole(app)
        await press(pilot, "enter")
        await settle(pilot)
    assert app.results == ["closed"]
    running.release()


async def test_leaving_without_the_record_asks_first(services, tmp_path):
    running = ended(services)
    running.writer = FullDisk(running.writer, tmp_path)
    app = RoomsApp(services, CloseOutRoom(running, poll_s=None, copy_folder=tmp_path))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "escape")
        assert app.results == []
        await press(pilot, "enter")
        await settle(pilot)
        await press(pilot, "escape")
        assert "Press Esc again" in whole(app)
        assert app.results == []
        await press(pilot, "escape")
    assert app.results == ["closed"]
    running.release()


# Notice, health, keys, discomfort


async def test_the_notice_is_acknowledged_once_and_kept(services):
    app = RoomsApp(services, NoticeScreen())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "enter", after_ms=100)
        assert services.memory.read().notice_acknowledged is None
        await press(pilot, "enter")
    assert app.results == [True]
    assert services.memory.read().notice_acknowledged is not None


async def test_the_notice_can_be_left_without_acknowledging(services):
    app = RoomsApp(services, NoticeScreen())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "q")
    assert app.results == [False]
    assert services.memory.read().notice_acknowledged is None


async def test_health_shows_whom_to_call_and_goes_to_the_close_out(services):
    app = RoomsApp(services, HealthScreen())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "Call your local emergency number now." in whole(app)
        await press(pilot, "down", "pagedown", "enter")
    assert app.results == [None]


@pytest.mark.parametrize("key", ["escape", "enter", "question_mark", "f1"])
async def test_the_lists_of_keys_open_over_a_room_and_go_as_they_came(services, key):
    app = RoomsApp(services, SheetRoom(services.circuits.read("yard")))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "question_mark")
        assert isinstance(app.screen, RoomKeys)
        assert "Start: get ready, then the first station." in whole(app)
        await press(pilot, "tab")
        assert isinstance(app.screen, KeysScreen)
        assert "skip the station" in whole(app)
        await press(pilot, key)
        assert isinstance(app.screen, RoomKeys)
        await press(pilot, key)
        assert isinstance(app.screen, SheetRoom)
    assert app.asked == []


async def test_discomfort_takes_three_presses_and_every_step_back(services):
    app = RoomsApp(services, DiscomfortScreen())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "b", "backspace", "o", "b", "backspace", "r", "t")
    assert app.results == [EnterDiscomfort("achilles", "right", 10)]


async def test_a_held_letter_names_no_side(services):
    app = RoomsApp(services, DiscomfortScreen())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "b")
        await press(pilot, *["b"] * 8, after_ms=33)
        assert "Which side?" in whole(app)
        await press(pilot, "escape")
    assert app.results == [None]


# Log


async def test_the_log_lists_newest_first_and_opens_the_completion_log(services):
    do_session(
        services,
        services.circuits.read("rainy-shed"),
        efforts=[5, 6.5],
        session_effort=6,
    )
    services.standing.now_ms += 86_400_000
    do_session(services, services.circuits.read("yard"))
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        lines = whole(app).splitlines()
        [yard] = [n for n, text in enumerate(lines) if "Yard" in text]
        [shed] = [n for n, text in enumerate(lines) if "Rainy shed" in text]
        assert yard < shed
        assert "100 %  5 6.5" in lines[shed]
        assert "not entered" in lines[yard]
        await press(pilot, "down", "enter")
        await settle(pilot)
        assert isinstance(app.screen, RecordScreen)
        assert "session effort 6" not in whole(app)
        await press(pilot, "end")
        assert "session effort 6: session load" in whole(app)
        await press(pilot, "escape")
        assert isinstance(app.screen, LogRoom)
        await press(pilot, "escape")
    assert app.results == [None]


async def test_a_journal_that_is_gone_is_said_in_a_sentence(services):
    do_session(services, services.circuits.read("yard"))
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        services.log.sessions()[0].path.unlink()
        await press(pilot, "enter")
        for _ in range(20):
            await pilot.pause(0.05)
            if "cannot" in whole(app):
                break
        assert "cannot be" in whole(app) or "cannot read" in whole(app)
        await press(pilot, "escape", "escape")
    assert app.results == [None]


async def test_an_empty_log_says_so(tmp_path):
    app = RoomsApp(make_services(tmp_path), LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "No sessions yet." in whole(app)
        await press(pilot, "enter", "down", "escape")
    assert app.results == [None]


async def test_a_key_repaints_the_lines_that_changed_and_no_others(
    services, monkeypatch
):
    do_session(services, services.circuits.read("yard"))
    for _ in range(4):
        services.standing.now_ms += 86_400_000
        do_session(services, services.circuits.read("yard"))
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        painted: list[int] = []
        page = app.screen.query_one("#page", Page)
        real = Page.render_line

        def counted(self, y):
            if self is page:
                painted.append(y)
            return real(self, y)

        monkeypatch.setattr(Page, "render_line", counted)
        await press(pilot, "down")
        # The line left and the line chosen now, below a blank line and the heads.
        assert sorted(set(painted)) == [2, 3]
        # After a suspension the terminal is blank, and nothing may be left out.
        painted.clear()
        app.screen.repaint()
        await pilot.pause()
        assert sorted(set(painted)) == list(range(page.size.height))


# Two keys at once


async def test_a_second_key_does_not_take_away_the_room_below(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        below = app.screen
        log = LogRoom()
        app.push_screen(log)
        await settle(pilot)
        log.dismiss(None)
        log.dismiss(None)
        assert app.screen is below
        log.post_message(Key("escape", None))
        await settle(pilot)
        assert app.screen is below


async def test_a_room_that_is_being_left_can_be_asked_to_paint(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await app.screen.query("*").remove()
        app.screen.paint()
        assert not app.screen.query("#words")
