"""A session done without the laptop, entered in the Log room by its keys."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from rich.cells import cell_len
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import SHED, ServicesForTests, do_session, make_services
from textual.widgets import Input

from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.effort import Effort
from whistlestop.domain.text import first_hostile
from whistlestop.driver.diary import TrainingEntry
from whistlestop.tui.rooms.log.enter import EnterScreen
from whistlestop.tui.rooms.log.enter_lines import (
    EntryForm,
    begin,
    typed,
    value_of,
)
from whistlestop.tui.rooms.log.room import LogRoom

TODAY = date(2026, 3, 14)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    two = {"rainy-shed": SHED, "yard": SHED.replace("Rainy shed", "Yard")}
    made = make_services(tmp_path / "home", two)
    do_session(made, made.circuits.read("yard"))
    made.standing.now_ms += 2 * 86_400_000
    return made


@pytest.fixture
def circuits(services: ServicesForTests) -> list[Circuit]:
    return [services.circuits.read("yard"), services.circuits.read("rainy-shed")]


@pytest.fixture
def form(circuits: list[Circuit]) -> EntryForm:
    return begin(circuits, TODAY, "yard")


def test_it_begins_with_what_was_done_last_today_as_planned(form: EntryForm) -> None:
    assert (form.circuit.name, form.day, form.loops) == ("Yard", TODAY, 2)
    # 3 stations of 40/20 s, 2 loops, a break of 60 s, 10 s of get ready.
    assert form.done().length_ms == form.planned_ms > 0


@pytest.mark.parametrize(
    ("field", "text", "why"),
    [
        ("circuit", "nowhere", "no circuit name contains that"),
        ("circuit", "", "no circuit name contains that"),
        ("day", "2026-03-15", "15 Mar 2026 is in the future"),
        ("day", "soon", "expected a day"),
        ("loops", "0", "expected 1 to 20 loops"),
        ("loops", "21", "expected 1 to 20 loops"),
        ("loops", "9999", "expected 1 to 20 loops"),
        ("minutes", "x", "is not a length"),
        ("efforts", "5 6 7", "efforts of 2 loops at most"),
        ("efforts", "5 11", "0 to 10"),
        ("effort", "x", "expected an effort"),
        ("2", "sideways", "such as 2: out in loop 3"),
        ("2", "out in loop 3", "Yard has 2 loops"),
        ("discomfort", "knee", "such as .knee left 3"),
    ],
)
def test_what_will_not_do_is_refused(form: EntryForm, field, text, why) -> None:
    with pytest.raises(ValueError, match=why):
        typed(form, field, text, TODAY)


def test_every_field_is_written_as_it_is_typed(form: EntryForm) -> None:
    given = {
        "day": "2026-03-13",
        "loops": "3",
        "minutes": "42",
        "1": "16 kg in loop 3; 12 reps",
        "2": "out in loop 2",
        "efforts": "5 - 6.5",
        "effort": "7",
        "discomfort": "knee left 3; lower back middle 2",
        "note": "in the yard",
    }
    assert set(given) < set(form.fields)
    for field, text in given.items():
        form = typed(form, field, text, TODAY)
        assert value_of(form, field) == text
    done = form.done()
    assert (done.day, done.length_ms) == (date(2026, 3, 13), 42 * 60_000)
    assert done.efforts == (Effort(10), None, Effort(13))
    assert [one.station for one in done.stations] == [1, 1, 2]
    assert [one.site for one in done.felt] == ["knee", "lower back"]
    assert typed(form, "minutes", "", TODAY).done().length_ms == form.planned_ms
    assert typed(form, "efforts", "5,-", TODAY).efforts == (Effort(10), None)
    assert typed(form, "loops", "1", TODAY).efforts == (Effort(10),)


async def test_a_session_is_entered_by_its_keys_and_stands_in_the_log(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "e")
        await settle(pilot)
        assert isinstance(app.screen, EnterScreen)
        assert "Yard" in whole(app)
        await press(pilot, "left")
        assert "Rainy shed" in whole(app)
        for keys, text in ((1, "2026-03-13"), (4, "out"), (2, "5 6.5")):
            await press(pilot, *["down"] * keys, "enter")
            app.screen.query_one(Input).value = text
            await press(pilot, "enter")
            await settle(pilot)
        assert "5 6.5" in whole(app)
        assert "2 Side plank" in whole(app)
        assert "as planned" in whole(app)
        await press(pilot, "k")
        await settle(pilot)
        assert isinstance(app.screen, LogRoom)
        assert "Entered: Rainy shed." in whole(app)
        [line] = [text for text in texts(app) if " entered" in text and "5 6.5" in text]
        assert "Rainy sh" in line
        assert "5 6.5" in line
        assert "5.8 d" in line  # the mean of the loops, derived
        (entered,) = [one for one in services.logbook().done() if one.entered]
        assert entered.exercises == ("goblet-squat", "step-up")
        [entry] = services.logbook().diary.present
        assert entry.values["efforts"] == [5, 6.5]
        assert entry.values["day"] == "2026-03-13"
        await press(pilot, "u")
        await settle(pilot)
        assert "5 6.5" not in whole(app)


async def test_leaving_the_form_enters_nothing(services):
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "e")
        await settle(pilot)
        await press(pilot, "escape")
        await settle(pilot)
        assert isinstance(app.screen, LogRoom)
    assert services.logbook().diary.entries == {}


async def test_without_any_circuit_it_says_so(tmp_path):
    app = RoomsApp(make_services(tmp_path / "home"), EnterScreen())
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "No circuit to enter yet: add one first." in whole(app)
        await press(pilot, "k", "enter", "escape")
    assert app.results == [None]


@pytest.mark.parametrize("size", SIZES)
async def test_the_form_fits_every_size_whatever_a_circuit_is_called(services, size):
    name = "W" * 80
    path = services.places.circuits / "long.toml"
    path.write_text(SHED.replace("Rainy shed", name), encoding="utf-8")
    app = RoomsApp(services, EnterScreen())
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await press(pilot, "left")
        for text in texts(app):
            assert cell_len(text) == size[0]
            assert first_hostile(text) is None


async def test_a_conflict_copy_of_the_diary_is_read_and_named_in_the_room(services):
    """What another machine entered stands in the list, and the room says to look."""
    keeper = services.diary()
    keeper.add_training(TrainingEntry(TODAY, "rowing", 1_800_000))
    diary = services.places.log / "diary.jsonl"
    common = diary.read_bytes()
    keeper.add_training(TrainingEntry(TODAY, "cycling", 1_800_000))
    diary.with_name("diary (conflicted copy).jsonl").write_bytes(diary.read_bytes())
    diary.write_bytes(common)
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "cycling" in whole(app)
        assert "1 thing to look at in the diary: `log verify` names it." in whole(app)
