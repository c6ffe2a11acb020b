"""How blank days count is asked once, remembered, and taken back."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from tests.support.rooms_app import RoomsApp, press, settle, whole
from tests.support.services import SHED, ServicesForTests, do_session, make_services
from textual.widgets import Input

from whistlestop.driver.diary import TrainingEntry
from whistlestop.errors import UsageError
from whistlestop.review.days import DaySpan
from whistlestop.review.numbers import week
from whistlestop.tui.rooms.log.room import LogRoom

TODAY = date(2026, 4, 2)  # three weeks after the first session
DONE = date(2026, 3, 12)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    made = make_services(tmp_path / "home", {"rainy-shed": SHED})
    do_session(made, made.circuits.read("rainy-shed"), efforts=[5, 7])
    made.standing.now_ms += 21 * 86_400_000
    assert made.logbook().today == TODAY
    return made


def test_it_is_asked_while_a_week_of_the_last_four_is_blank(
    services: ServicesForTests, tmp_path: Path
) -> None:
    assert services.logbook().asks_of_blanks()
    fresh = make_services(tmp_path / "fresh", {"rainy-shed": SHED})
    assert not fresh.logbook().asks_of_blanks()
    do_session(fresh, fresh.circuits.read("rainy-shed"))
    fresh.standing.now_ms += 7 * 86_400_000
    assert not fresh.logbook().asks_of_blanks()


@pytest.mark.parametrize("as_rest", [True, False])
def test_an_answer_is_remembered_with_its_day_and_undone(
    services: ServicesForTests, as_rest: bool
) -> None:
    services.diary().count_blanks(DONE, as_rest=as_rest)
    assert not services.logbook().asks_of_blanks()
    book = services.logbook().book()
    day = DONE + timedelta(days=3)
    assert book.day(day).is_blank_as_rest == as_rest
    assert book.day(TODAY).is_open
    first = week(book, DaySpan(date(2026, 3, 16), date(2026, 3, 22)))
    assert (first.load.value == 0) == as_rest
    (item, _) = sorted(services.logbook().items(), key=lambda one: one.id, reverse=True)
    assert item.name.startswith("blank days")
    assert "blank days as" in services.diary().undo()
    assert services.logbook().asks_of_blanks()


def test_a_day_to_come_is_refused(services: ServicesForTests) -> None:
    with pytest.raises(UsageError, match="still to come"):
        services.diary().count_blanks(TODAY + timedelta(days=1), as_rest=True)


def test_the_trends_go_on_over_blank_days_that_count(
    services: ServicesForTests,
) -> None:
    services.diary().count_blanks(DONE, as_rest=True)
    ride = TrainingEntry(TODAY - timedelta(days=2), "cycling", 3_600_000)
    services.diary().add_training(ride)
    book = services.logbook().book()
    # A training without an effort is not known, whatever blank days count as.
    assert book.day(ride.day).without_effort == 1
    assert book.first_day == DONE


async def test_the_log_room_asks_and_takes_the_answer(
    services: ServicesForTests,
) -> None:
    app = RoomsApp(services, LogRoom())
    async with app.run_test(size=(100, 30)) as pilot:
        await settle(pilot)
        assert "count as a rest day?" in whole(app)
        await press(pilot, "b")
        app.screen.query_one(Input).value = "past"
        await press(pilot, "enter")
        await settle(pilot)
        assert "count as a rest day?" not in whole(app)
        assert services.logbook().book().day(DONE + timedelta(1)).is_blank_as_rest
        await press(pilot, "u")
        await settle(pilot)
        assert services.logbook().book().day(DONE + timedelta(1)).is_open
