"""The log room with its keys pressed: what it shows, and what it writes."""

from __future__ import annotations

from pathlib import Path
from threading import Event

import pytest
from rich.cells import cell_len
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import (
    SHED,
    ServicesForTests,
    do_session,
    make_services,
    run_until,
    start_session,
)
from textual.widgets import Input

from whistlestop.domain.sites import SITES
from whistlestop.domain.text import first_hostile
from whistlestop.driver.logbook import Logbook
from whistlestop.errors import StoreError
from whistlestop.review.days import Mark
from whistlestop.store.diary.file import append_step, diary_path
from whistlestop.store.journal.index import SessionLine
from whistlestop.tui.rooms.log.plots import PlotsRoom
from whistlestop.tui.rooms.log.record import RecordScreen
from whistlestop.tui.rooms.log.room import LogRoom

SIZE = (80, 24)
DAY_MS = 86_400_000


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    """Two sessions: the shed, and a day later the yard."""
    two = {"rainy-shed": SHED, "yard": SHED.replace("Rainy shed", "Yard")}
    made = make_services(tmp_path / "home", two)
    do_session(
        made, made.circuits.read("rainy-shed"), efforts=[5, 6.5], session_effort=6
    )
    made.standing.now_ms += DAY_MS
    do_session(made, made.circuits.read("yard"))
    made.standing.now_ms += DAY_MS
    return made


async def type_in(pilot, text: str) -> None:
    """Replace what stands in the field, and press Enter."""
    pilot.app.screen.query_one(Input).value = text
    await press(pilot, "enter")
    await settle(pilot)


async def do(pilot, *keys: str) -> None:
    for key in keys:
        await press(pilot, key)
        await settle(pilot)


async def test_each_session_says_its_load_beside_its_effort(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        [shed] = [text for text in whole(app).splitlines() if "Rainy shed" in text]
        line = services.log.sessions()[-1]
        load_au = 6 * line.session_ms / 60_000
        assert f"6 {load_au:8.0f}"[:2] in shed
        assert f"{load_au:.0f} AU" in shed
        assert "100 %  5 6.5" in shed


async def test_the_log_is_filtered_by_circuit_station_and_date(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "f")
        await type_in(pilot, "yard")
        assert "Yard" in whole(app)
        assert "Rainy" not in whole(app)
        assert "filter: yard" in texts(app)[0]
        await do(pilot, "f")
        assert pilot.app.screen.query_one(Input).value == "yard"
        await type_in(pilot, "station goblet squat to 2026-03-12")
        assert "Rainy shed" in whole(app)
        assert "Yard" not in whole(app)
        await do(pilot, "f")
        await type_in(pilot, "station deadlift")
        assert "No match in the log: station deadlift" in whole(app)
        await do(pilot, "escape")
        assert "Yard" in whole(app)
        assert app.results == []
        await do(pilot, "escape")
    assert app.results == [None]


async def test_a_filter_that_means_nothing_stays_to_be_mended(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "f")
        await type_in(pilot, "from soon")
        assert "Expected a day such as 2031-05-12." in whole(app)
        assert pilot.app.screen.query_one(Input).value == "from soon"
        await do(pilot, "escape")
        assert not pilot.app.screen.query(Input)
        assert "Yard" in whole(app)


async def test_other_training_is_added_and_taken_back_and_stands_again(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "a")
        await type_in(pilot, "trail run 45 6")
        assert "Added: trail run, 45 min, effort 6" in whole(app)
        assert "270 AU" in whole(app)
        [entry] = services.logbook().diary.present
        assert (entry.values["sport"], entry.values["effort"]) == ("trail run", 6)
        await do(pilot, "u")
        assert "Undone: trail run on 2026-03-14" in whole(app)
        assert services.logbook().diary.present == ()
        await do(pilot, "r")
        assert "Redone: trail run" in whole(app)
        assert len(services.logbook().diary.present) == 1


async def test_what_the_diary_refuses_is_said_and_nothing_is_written(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "u")
        assert "There is nothing to undo in the diary." in whole(app)
        await do(pilot, "a")
        await type_in(pilot, "cycling 90 5 2027-01-01")
        assert "still to come" in whole(app)
        assert services.logbook().diary.entries == {}


async def test_days_are_marked_and_shown(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "m")
        await type_in(pilot, "illness 2026-03-10..2026-03-11")
        assert "illness" in whole(app)
        assert "Marked: illness, 10 Mar 2026 to 11 Mar 2026" in whole(app)
        await do(pilot, "m")
        await type_in(pilot, "full 2026-03-01..2026-03-14")
        book = services.logbook().book()
        days = [day.day.day for span in book.fully_logged for day in book.days(span)]
        assert days == list(range(1, 15))
        assert {m for marks in book.marks.values() for m in marks} == {Mark.ILLNESS}


async def test_deleting_is_asked_for_and_undone(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "d")
        assert "Delete Yard? Press d again" in whole(app)
        await do(pilot, "down", "up", "d")
        assert len(services.logbook().items()) == 2
        await do(pilot, "d")
        assert [item.name for item in services.logbook().items()] == ["Rainy shed"]
        assert "1 session" in texts(app)[0]
        assert len(services.log.sessions()) == 2  # the journal stays on the disk
        await do(pilot, "u")
        assert "2 sessions" in texts(app)[0]


async def test_a_held_key_deletes_nothing(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "d")
        await press(pilot, *["d"] * 6, after_ms=33)
        await settle(pilot)
    assert len(services.logbook().items()) == 2


async def test_an_effort_is_amended_and_every_version_shown(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "down", "enter", "8", "comma")
        assert "Effort for the session: 8.5. Enter saves" in whole(app)
        assert services.logbook().diary.amendments == {}
        await do(pilot, "enter")
        assert "Changed. Earlier values are listed below." in whole(app)
        await do(pilot, "7", "enter", "end")
        sentences = whole(app)
        assert (
            "recorded 2026-03-12T17:30:00.000+01:00: effort 6; loops 5, 6.5"
            in sentences
        )
        assert sentences.count("amended 2026-03-14") == 2
        assert sentences.index("effort 8.5") < sentences.index(": effort 7")
        assert "session effort 7: session load" in sentences
        await do(pilot, "escape")
        assert isinstance(app.screen, LogRoom)
        assert "amended" in whole(app)
    [versions] = services.logbook().diary.amendments.values()
    assert [version.values["effort"] for version in versions] == [8.5, 7]


async def test_a_pending_effort_is_left_by_escape_or_by_another_loop(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "down", "enter", "8", "escape")
        assert isinstance(app.screen, RecordScreen)
        await do(pilot, "right", "right")
        assert "effort for loop 2" in whole(app)
        await press(pilot, "1")
        await press(pilot, "0", "enter")
        await settle(pilot)
    shown = services.logbook().record(services.log.sessions()[-1].id)
    assert [str(loop.effort) for loop in shown.loops] == ["5", "10"]
    assert str(shown.session_effort) == "6"


async def test_note_and_discomfort_are_amended(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "enter", "n")
        await type_in(pilot, "Left the door open?")
        await do(pilot, "x", SITES["knee"].letter, "l", "3", "end")
        assert "note: Left the door open?" in whole(app)
        assert "discomfort: knee, left, 3 of 10" in whole(app)
    newest = services.logbook().record("last")
    assert newest.note == "Left the door open?"
    assert [d.entry.level for d in newest.discomforts] == [3]
    assert services.log.record("last").note == ""  # the journal was not touched


async def test_an_entry_of_the_diary_opens_and_is_amended_too(services):
    ride = {"k": "training", "id": "d1", "day": "2026-03-14", "sport": "cycling"}
    wall = services.clock.wall().isoformat()
    path = diary_path(services.places.log)
    append_step(path, [{**ride, "length_ms": 5_400_000, "effort": 4}], wall=wall)
    mark = {"k": "mark", "id": "d2", "first": "2026-03-15", "last": "2026-03-15"}
    append_step(path, [{**mark, "mark": "rest"}], wall=wall)
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "down", "enter")
        assert "length: 90 min" in whole(app)
        await do(pilot, "5", "enter")
        assert "effort: 5" in whole(app)
        assert "entered 2026-03-14" in whole(app)
        await do(pilot, "escape", "up", "enter", "5", "n", "x")
        assert "mark: rest" in whole(app)
        assert isinstance(app.screen, RecordScreen)
    assert services.logbook().diary.entries["d1"].values["effort"] == 5


async def test_a_diary_on_a_full_disk_is_said_and_loses_nothing(services, monkeypatch):
    def refuse(*_args, **_options):
        raise StoreError("the diary cannot be written to: the disk is full")

    monkeypatch.setattr("whistlestop.driver.diary.append_step", refuse)
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "a")
        pilot.app.screen.query_one(Input).value = "cycling 90"
        await press(pilot, "enter")
        for _ in range(20):
            await pilot.pause(0.05)
            if "the disk is full" in whole(app):
                break
        assert "The diary cannot be written to: the disk is full." in whole(app)
        assert "Yard" in whole(app)


@pytest.mark.parametrize("size", SIZES, ids=str)
async def test_a_question_fits_every_size_and_question_marks_are_letters(
    services, size
):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        for key in ("f", "a", "m"):
            await press(pilot, key)
            await pilot.press("question_mark")
            await settle(pilot)
            assert isinstance(app.screen, LogRoom)
            assert pilot.app.screen.query_one(Input).value.endswith("?")
            lines = texts(app)
            assert len(lines) == size[1]
            assert all(cell_len(text) == size[0] for text in lines)
            assert "Esc cancel" in lines[-1]
            await do(pilot, "escape")


async def test_names_in_the_diary_that_mean_harm_do_none(services):
    name = "\x1b[31m[bold]x[/] \u202e<b>"
    line = {
        "k": "training",
        "id": "d1",
        "day": "2026-03-14",
        "sport": name,
        "note": name,
        "length_ms": 60_000,
    }
    append_step(diary_path(services.places.log), [line], wall=name)
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert all(first_hostile(text) is None for text in texts(app))
        await do(pilot, "enter")
        assert all(first_hostile(text) is None for text in texts(app))
        assert "[bold]x[/]" in whole(app)


async def test_p_shows_the_plots(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "p")
        assert isinstance(app.screen, PlotsRoom)
        await do(pilot, "escape")
        assert isinstance(app.screen, LogRoom)


async def test_a_log_of_thousands_is_windowed_newest_first(tmp_path):
    made = make_services(tmp_path)
    lines = [
        SessionLine(f"{n:05d}", Path("x"), name=f"Session {n}") for n in range(5_000)
    ]
    made.log.sessions = lambda **_options: lines
    app = RoomsApp(made, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "Session 4999" in whole(app)
        assert "5000 sessions" in texts(app)[0]
        await press(pilot, "end")
        assert "Session 0 " in whole(app)
        assert "Session 4999" not in whole(app)


async def test_the_newest_weeks_are_shown_before_the_rest_is_read(
    services, monkeypatch
):
    real, go_on = Logbook.items, Event()

    def slow(self, wanted=None, **options):
        if wanted is None or wanted.since is None:
            assert go_on.wait(10)
        return real(self, wanted, **options)

    monkeypatch.setattr(Logbook, "items", slow)
    services.standing.now_ms += 200 * DAY_MS
    do_session(services, services.circuits.read("yard"))
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=SIZE) as pilot:
        for _ in range(100):
            await pilot.pause(0.02)
            if "Yard" in whole(app):
                break
        assert "the newest weeks" in texts(app)[0]
        assert "reading on" in texts(app)[0]
        assert "Rainy shed" not in whole(app)
        go_on.set()
        await settle(pilot)
        assert "3 sessions" in texts(app)[0]
        assert "Rainy shed" in whole(app)


async def test_everything_is_backed_up_and_put_back_after_a_look(tmp_path: Path):
    services = make_services(tmp_path / "home", {"rainy-shed": SHED})
    done = do_session(services, services.circuits.read("rainy-shed"), efforts=(5, 6))
    archive = tmp_path / "b.tar.gz"
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        for expected in ("read back and whole.", "nothing of it is missing here."):
            await press(pilot, "ctrl+s")
            app.screen.query_one(Input).value = str(archive)
            await press(pilot, "enter")
            await settle(pilot)
            assert expected in app.screen.message
        [journal] = services.places.log.rglob(f"{done}.jsonl")
        journal.unlink()
        await press(pilot, "ctrl+s")
        app.screen.query_one(Input).value = str(archive)
        await press(pilot, "enter")
        await settle(pilot)
        assert "1 file to put back. Type yes." in whole(app)
        await press(pilot, "n", "o", "enter")
        assert not journal.exists()
        app.screen.query_one(Input).value = "yes"
        await press(pilot, "enter")
        await settle(pilot)
        assert "1 file put back." in app.screen.message
        assert journal.exists()


async def test_a_circuit_done_from_a_file_elsewhere_is_offered_to_be_saved(
    services: ServicesForTests, tmp_path: Path
):
    quay = tmp_path / "quay.toml"
    quay.write_text(SHED.replace("Rainy shed", "Quay"), encoding="utf-8")
    text = services.circuits.text_elsewhere(str(quay))
    services.sessions.texts_elsewhere["quay"] = text
    running = start_session(services, services.circuits.read(str(quay)))
    run_until(services, running, 24 * 3_600_000, [5, 6])
    running.session.close()
    assert running.release()
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        assert "y save circuit" in texts(app)[-1]
        await press(pilot, "down")
        assert "save circuit" not in texts(app)[-1]  # the yard's is there
        await press(pilot, "up", "y")
        await settle(pilot)
        assert app.screen.message == "Quay is among your circuits now."
        assert services.circuits.read("quay").name == "Quay"
        assert "save circuit" not in texts(app)[-1]
