"""The builder room: by its keys alone, and as it looks at three sizes."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest
from tests.support.golden import same_as_golden
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import SHED, ServicesForTests, make_services
from textual.widgets import Input

from whistlestop.builder.checker import check
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.wishes import CircuitWishes
from whistlestop.driver.building import save_wishes, saved_wishes
from whistlestop.store.circuits.file import read_circuit
from whistlestop.tui.rooms.builder.room import BuilderRoom
from whistlestop.tui.rooms.builder.wishes import (
    LISTS,
    SETTINGS,
    pickable,
    toggled,
    value_text,
    with_steps,
)
from whistlestop.tui.rooms.circuits.room import CircuitsRoom

SIZE = (80, 24)


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    services = make_services(tmp_path, {"shed": SHED})
    services.places.kit_file.write_text(
        'format = 1\nmats = 1\nbench = true\nbands = ["red"]\n'
        'things = ["pull-up bar"]\n[[weight]]\nkind = "kettlebell"\n'
        'loads = ["8 kg", "12 kg"]\n',
        encoding="utf-8",
    )
    return services


def limited(services: ServicesForTests, movement: str) -> None:
    until = services.clock.wall().date() + timedelta(days=9)
    services.places.limits_file.write_text(
        f'format = 1\n[[avoid]]\nmovement = "{movement}"\n'
        f"until = {until.isoformat()}\n",
        encoding="utf-8",
    )


async def built(pilot) -> None:
    await settle(pilot)
    await press(pilot, "b")
    await settle(pilot)


async def to(pilot, setting: str) -> None:
    await press(pilot, "home")
    await press(pilot, *["down"] * SETTINGS.index(setting))


async def typed(pilot, words: str) -> None:
    pilot.app.screen.query_one(Input).value = words
    await press(pilot, "enter")
    await settle(pilot)


# Settings


@pytest.mark.parametrize("setting", SETTINGS)
def test_every_setting_goes_to_both_ends_and_says_what_it_holds(setting):
    wishes = CircuitWishes()
    for step in (1, -1):
        for _ in range(150):
            wishes = with_steps(wishes, setting, step)
            assert value_text(wishes, setting)
        assert with_steps(wishes, setting, step) == wishes
    if setting not in LISTS:
        assert with_steps(wishes, setting, 1) != wishes


def test_what_is_kept_is_no_longer_left_out():
    wishes = toggled(CircuitWishes(stations=3), "avoid", "push-up")
    wishes = toggled(wishes, "locked", "push-up")
    assert (wishes.keep, wishes.avoid) == (("push-up",), ())
    assert pickable(wishes, "locked")[0].value == "push-up"
    for key in ("pull-up", "bird-dog"):
        wishes = toggled(wishes, "locked", key)
    with pytest.raises(ValueError, match="All 3 stations are locked already"):
        toggled(wishes, "locked", "split-squat")
    assert toggled(wishes, "locked", "push-up").keep == ("pull-up", "bird-dog")


# Looks


LARGER = [pytest.param(size, marks=pytest.mark.slow) for size in SIZES[1:]]


@pytest.mark.parametrize("size", [SIZES[0], *LARGER])
async def test_the_wishes_an_answer_and_no_answer_as_they_look(services, size):
    limited(services, "push-up")
    app = RoomsApp(services, BuilderRoom())
    seen = []
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        seen.append(whole(app))
        await built(pilot)
        seen.append(whole(app))
        await press(pilot, "escape")
        await to(pilot, "minutes")
        for _ in range(20):
            await press(pilot, "left")
        await to(pilot, "locked")
        app.screen.wishes = toggled(app.screen.wishes, "locked", "push-up")
        await built(pilot)
        seen.append(whole(app))
    for text in seen:
        assert all(len(line) <= size[0] for line in text.splitlines())
    rule = "=" * size[0]
    text = f"\n{rule}\n".join(seen) + "\n"
    same_as_golden(f"tui/builder/{size[0]}x{size[1]}.txt", text)


# Keys


async def test_wishes_become_a_circuit_of_that_length_on_its_sheet(services):
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await to(pilot, "stations")
        await press(pilot, "left", "left")
        await to(pilot, "minutes")
        await press(pilot, "left", "left", "left", "left", "left")
        await built(pilot)
        one = app.screen.shown
        assert check(one.circuit, one.request) == ()
        await press(pilot, "s")
        await typed(pilot, "Six in the yard")
    assert app.asked == [("open_sheet", "six-in-the-yard")]
    saved = read_circuit(services.places.circuits / "six-in-the-yard.toml")
    assert len(saved.stations) == 6
    assert compile_plan(saved).total_ms == 25 * 60_000


async def test_every_station_shows_the_reason_it_is_there(services):
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=(200, 60)) as pilot:
        await built(pilot)
        one, page = app.screen.shown, whole(app)
    for station, reason in zip(one.circuit.stations, one.reasons, strict=True):
        assert station.name in page
        assert reason[:40] in page


@pytest.mark.slow
async def test_several_answers_differ_and_can_be_gone_through(services):
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=SIZE) as pilot:
        await built(pilot)
        for _ in range(2):
            await press(pilot, "n")
            await settle(pilot)
        room = app.screen
        chosen = [{s.exercise for s in a.circuit.stations} for a in room.answers]
        assert len(chosen) == 3
        assert all(chosen.count(one) == 1 for one in chosen)
        assert "Answer 3 of 3" in whole(app)
        await press(pilot, "left", "left", "left")
        assert "Answer 1 of 3" in whole(app)
        for _ in range(3):
            await press(pilot, "n")
            await settle(pilot)
        assert len(room.answers) == 5
        assert "5 is the most" in whole(app)


@pytest.mark.slow
async def test_what_is_marked_stays_and_the_rest_changes(services):
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=SIZE) as pilot:
        await built(pilot)
        before = [s.exercise for s in app.screen.shown.circuit.stations]
        await press(pilot, "space", "down", "down", "space")
        assert "2 stations locked" in whole(app)
        await press(pilot, "c")
        await settle(pilot)
        one = app.screen.shown
        after = {s.exercise for s in one.circuit.stations}
        assert after & set(before) >= {before[0], before[2]}
        assert len(after & set(before)) < len(before)
        assert app.screen.marked == {before[0], before[2]}
        assert check(one.circuit, one.request) == ()
        await press(pilot, "home")
        marked = app.screen.marked
        for place, station in enumerate(one.circuit.stations):
            await press(pilot, "home", *["down"] * place)
            if station.exercise not in marked:
                await press(pilot, "space")
        await press(pilot, "c")
        assert "unlock one to change it" in whole(app)


async def test_nothing_is_given_up_unless_it_is_chosen_and_what_is_left_out_is_last(
    services,
):
    """A limit is in the way of a station to keep: two ways out, the limit last."""
    limited(services, "push-up")
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        app.screen.wishes = CircuitWishes(keep=("push-up",))
        await built(pilot)
        room = app.screen
        assert room.no_fit is not None
        assert room.no_fit.proved
        assert room.chosen == 0
        await press(pilot, "enter")
        assert room.no_fit is None
        assert room.wishes.keep == ("push-up",)
        await built(pilot)
        assert "left out is by limits" not in whole(app)
        assert "push-up must be in, but is blocked by limits" in whole(app)
        await press(pilot, "end")
        assert "You asked to leave this out" in whole(app)
        await press(pilot, "home", "down", "enter")
        assert "Given up: do without push-up" in whole(app)
        ids = [s.exercise for s in room.shown.circuit.stations]
        assert "push-up" not in ids
        assert room.wishes.keep == ()


async def test_wishes_are_kept_under_a_name_and_taken_again(services):
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "w")
        assert "No saved wishes yet" in whole(app)
        await press(pilot, "right", "k")
        await typed(pilot, "No Name!")
        assert "is not a valid name for wishes" in whole(app)
        await typed(pilot, "long")
        assert saved_wishes(services, "long").minutes == 31
        save_wishes(services, "short", CircuitWishes(minutes=12, stations=4))
        await press(pilot, "w")
        await settle(pilot)
        await press(pilot, "down", "enter")
        await settle(pilot)
        assert app.screen.wishes == CircuitWishes(minutes=12, stations=4)
        assert "saved wishes: long," in " ".join(whole(app).split())


async def test_a_station_is_picked_for_a_list_and_taken_off_again(services):
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        for expected in (("pull-up",), ()):
            await to(pilot, "liked")
            await press(pilot, "enter")
            await settle(pilot)
            await press(pilot, "p", "u", "l", "l", "minus", "u", "p", "enter")
            await settle(pilot)
            assert app.screen.wishes.like == expected


async def test_every_key_that_is_shown_means_something(services):
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=(200, 60)) as pilot:
        await settle(pilot)
        shown = texts(app)[-1]
        for key in ("b", "k", "w", "o", "Esc"):
            assert f" {key} " in shown
        await press(pilot, "o", "escape")
    assert app.asked == [("open_kit",)]
    assert app.results == [None]


async def test_a_kit_file_with_problems_is_told_and_nothing_is_built(services):
    services.places.kit_file.write_text("format = 1\nmats = 99\n", encoding="utf-8")
    app = RoomsApp(services, BuilderRoom())
    async with app.run_test(size=SIZE) as pilot:
        await built(pilot)
        assert "mats is 99" in whole(app)
        assert app.screen.shown is None


async def test_the_circuits_room_leads_there_by_the_key_it_shows(services):
    app = RoomsApp(services, CircuitsRoom())
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert " b build" in texts(app)[-1]
        await press(pilot, "b")
    assert ("open_builder",) in app.asked
