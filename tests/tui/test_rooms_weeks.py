"""The room of the weeks: a grid, wishes typed, and plans shown before they are kept.

It is Thursday 12 March 2026, after a session of the shed.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
import vobject
from tests.support.golden import same_as_golden
from tests.support.rooms_app import (
    SIZES,
    RoomsApp,
    do,
    settle,
    texts,
    type_in,
    whole,
)
from tests.support.services import SHED, ServicesForTests, do_session, make_services
from textual.widgets import Input

from whistlestop.domain.targets import Targets
from whistlestop.driver.planning import Planning
from whistlestop.tui.rooms.coach.weeks_lines import FIELDS
from whistlestop.tui.rooms.coach.weeks_room import WeeksRoom

SIZE = (80, 24)
PLACES = [field.name for field in FIELDS]
DAY_MS = 86_400_000
WISHES = Targets(
    began=date(2026, 3, 9),
    circuits=("rainy-shed",),
    sessions_a_week=2,
    days=frozenset({1, 2, 4, 5}),
    key_weekdays=frozenset({6}),
    races=frozenset({date(2026, 4, 12)}),
    away=((date(2026, 3, 24), date(2026, 3, 26)),),
    blocks=(("base", 4),),
    weeks=6,
)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    made = make_services(tmp_path / "home", {"rainy-shed": SHED, "yard": SHED})
    do_session(made, made.circuits.read("rainy-shed"), efforts=[5, 6])
    return made


@pytest.fixture
def planned(services: ServicesForTests) -> ServicesForTests:
    """The same home with a plan kept from the wishes above."""
    planning = Planning(services)
    planning.save(planning.made(planning.outlook(WISHES)), WISHES)
    return services


def days_of(services: ServicesForTests) -> list[tuple[date, str]]:
    plan = Planning(services).outlook().plan
    assert plan is not None
    return [(s.day, s.state) for s in plan.sessions]


@pytest.mark.parametrize("size", SIZES, ids=str)
async def test_the_room_as_it_was_looked_at(planned, size):
    """Five days on, on a Tuesday; then that Tuesday falls out."""
    planned.standing.now_ms += 5 * DAY_MS
    app = RoomsApp(planned, WeeksRoom())
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        name = f"weeks-{size[0]}x{size[1]}.txt"
        same_as_golden(f"rooms/{name}", whole(app) + "\n")
        await do(pilot, "x")
        await type_in(pilot, "2026-03-17")
        name = f"weeks-pending-{size[0]}x{size[1]}.txt"
        same_as_golden(f"rooms/{name}", whole(app) + "\n")


async def test_a_first_plan_is_shown_and_kept_only_by_enter(services):
    app = RoomsApp(services, WeeksRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "A first plan:" in whole(app)
        assert "not saved yet" in texts(app)[0]
        assert not services.places.plan_file.exists()
        await do(pilot, "enter")
        assert "Saved." in whole(app)
        assert "not saved yet" not in texts(app)[0]
    assert services.places.plan_file.exists()
    assert Planning(services).targets().circuits == ("rainy-shed",)


async def test_a_day_that_falls_out_moves_one_session_and_esc_leaves_all(planned):
    before = days_of(planned)
    planned.standing.now_ms += 5 * DAY_MS
    app = RoomsApp(planned, WeeksRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "x")
        await type_in(pilot, "2026-03-17")
        assert "rainy-shed moves from Tue 17 Mar to Wed 18 Mar." in whole(app)
        await do(pilot, "escape")
        assert "Nothing changed." in whole(app)
        assert days_of(planned) == before
        await do(pilot, "x")
        await type_in(pilot, "2026-03-17")
        await do(pilot, "enter")
    after = days_of(planned)
    moved = [day for day, _ in after if day not in {d for d, _ in before}]
    assert moved == [date(2026, 3, 18)]
    assert len(after) == len(before)


async def test_a_missed_day_is_planned_again_and_never_doubled(planned):
    """Wednesday: Tuesday was missed and fits today; Friday stays, 48 h later."""
    planned.standing.now_ms += 6 * DAY_MS
    app = RoomsApp(planned, WeeksRoom())
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await do(pilot, "r")
        assert "moves from Tue 17 Mar to Wed 18 Mar." in whole(app)
        await do(pilot, "enter", "r")
        assert "No session has to move." in whole(app)
    days = [day for day, _ in days_of(planned)]
    assert len(days) == len(set(days))


@pytest.mark.parametrize(
    ("field", "typed", "value"),
    [
        ("sessions_a_week", "3", 3),
        ("days", "mon thu sat", frozenset({0, 3, 5})),
        ("key_weekdays", "none", frozenset()),
        ("key_days", "2026-03-20", frozenset({date(2026, 3, 20)})),
        ("races", "none", frozenset()),
        ("races_b", "2026-04-05", frozenset({date(2026, 4, 5)})),
        ("away", "2026-03-30..2026-04-02", ((date(2026, 3, 30), date(2026, 4, 2)),)),
        ("blocks", "build:5 strength:4", (("build", 5), ("strength", 4))),
        ("circuits", "rainy-shed yard", ("rainy-shed", "yard")),
        ("weeks", "9", 9),
    ],
)
async def test_each_wish_is_typed_shown_and_kept(planned, field, typed, value):
    place = PLACES.index(field)
    app = RoomsApp(planned, WeeksRoom())
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await do(pilot, *["down"] * place, "enter")
        line = FIELDS[place].kind.as_line(getattr(WISHES, field))
        assert pilot.app.screen.query_one(Input).value == line
        await type_in(pilot, typed)
        assert "Not saved yet" in whole(app)
        await do(pilot, "enter")
        assert "Saved." in whole(app)
    assert Planning(planned).targets() == replace(WISHES, **{field: value})


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("sessions_a_week", "9", "Expected 1 to 7."),
        ("days", "none", "Expected 1 to 7 days"),
        ("key_weekdays", "someday", "Expected some of mon"),
        ("away", "2026-04-02..2026-03-30", "ends on its first day or later"),
        ("blocks", "base:9", "4 to 6 weeks"),
        ("circuits", "a b c d", "Expected 1 to 3 circuits"),
    ],
)
async def test_what_is_typed_wrong_stays_to_be_mended(planned, field, typed, said):
    place = PLACES.index(field)
    app = RoomsApp(planned, WeeksRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, *["down"] * place, "enter")
        await type_in(pilot, typed)
        assert said in " ".join(whole(app).split())
        assert pilot.app.screen.query_one(Input).value == typed
    assert Planning(planned).targets() == WISHES


async def test_a_circuit_that_is_not_there_is_said_and_the_plan_stays(planned):
    before = days_of(planned)
    app = RoomsApp(planned, WeeksRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, *["down"] * PLACES.index("circuits"), "enter")
        await type_in(pilot, "nowhere")
        assert "nowhere" in whole(app)
    assert days_of(planned) == before


async def test_what_is_planned_goes_out_as_a_calendar(planned, tmp_path):
    path = tmp_path / "weeks.ics"
    app = RoomsApp(planned, WeeksRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "i")
        await type_in(pilot, str(tmp_path / "weeks.txt"))
        assert "must end in .ics" in whole(app)
        await type_in(pilot, str(path))
        assert "planned sessions written" in whole(app)
        await do(pilot, "i")
        await type_in(pilot, str(path))
        assert "That file exists" in whole(app)
    events = list(vobject.readOne(path.read_text()).vevent_list)
    coming = [day for day, state in days_of(planned) if state == "planned"]
    assert sorted(event.dtstart.value.date() for event in events) == coming


async def test_wishes_written_by_hand_stay_and_that_is_said(services):
    services.places.weeks_file.write_text(
        'format = 1\nbegan = 2026-03-09\ncircuits = ["rainy-shed"]\n'
    )
    app = RoomsApp(services, WeeksRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await do(pilot, "enter")
        assert "Saved." in whole(app)
        await do(pilot, "enter")
        await type_in(pilot, "3")
        await do(pilot, "enter")
        assert "by hand" in " ".join(whole(app).split())
    assert "sessions_a_week" not in services.places.weeks_file.read_text()


async def test_a_broken_file_is_named_and_nothing_breaks(services):
    services.places.weeks_file.write_text("format = 1\nsessions = 3\n")
    app = RoomsApp(services, WeeksRoom())
    async with app.run_test(size=SIZE) as pilot:
        await do(pilot, "down")
        assert "sessions" in whole(app)
        await do(pilot, "enter", "r", "down", "escape")
    assert app.results == [None]


async def test_letters_carry_it_all_without_colour(planned):
    planned.settings = replace(
        planned.settings, screen=replace(planned.settings.screen, ascii=True)
    )
    app = RoomsApp(planned, WeeksRoom())
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        sentences = whole(app)
        assert sentences.isascii()
        assert "A ok" in sentences
        assert "A-" in sentences
        assert " K" in sentences
        assert "R" in sentences
        assert "~" in sentences
