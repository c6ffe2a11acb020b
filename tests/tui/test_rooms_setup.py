"""'What you have': what keys list, what loads mean, what is kept, what fits."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import SHED, make_services
from tests.tui.test_rooms_sizes import check_lines

from whistlestop.data import samples_folder
from whistlestop.domain.kit.kit import Kit
from whistlestop.domain.kit.substitutions import problems_found
from whistlestop.domain.limits import Limit
from whistlestop.library.whole import library_means
from whistlestop.store.circuits.circuit_list import find_circuits
from whistlestop.store.circuits.file import read_circuit
from whistlestop.store.kit.file import kit_text, parse_kit
from whistlestop.store.kit.limits import limits_text, parse_limits
from whistlestop.tui.rooms.kit.setup import SetupRoom
from whistlestop.tui.rooms.kit.setup_lines import MOST_SHOWN, change_text
from whistlestop.tui.rooms.kit.setup_state import (
    BOTTLE_KEY,
    MOST_BOTTLES,
    PLAIN,
    SORE,
    SORE_DAYS,
    TYPED,
    Setup,
)
from whistlestop.tui.rooms.sheet.fit_circuits import best_suited
from whistlestop.tui.rooms.sheet.room import SheetRoom

ON = date(2026, 3, 12)
NOTHING = Setup(on=ON)
EVERY_KEY = (*PLAIN, *SORE, BOTTLE_KEY)


def samples():
    found = find_circuits([samples_folder()], read=read_circuit).circuits
    return [one.circuit for one in found.values()]


def test_no_key_means_two_things():
    keys = [*TYPED, BOTTLE_KEY, *PLAIN, *SORE]
    assert len(set(keys)) == len(keys)
    assert all(len(key) == 1 and key.isalpha() for key in keys)


@pytest.mark.parametrize("key", [*PLAIN])
def test_each_key_switches_its_thing_on_and_off(key):
    on = NOTHING.toggled(key)
    assert on.has(key)
    assert not NOTHING.has(key)
    assert on.toggled(key) == NOTHING
    if key in PLAIN:
        assert on.kit.has(PLAIN[key])
        assert not on.toggled(key).kit.has(PLAIN[key])


def test_bottles_count_up_and_begin_again():
    counts = []
    setup = NOTHING
    for _ in range(MOST_BOTTLES + 1):
        setup = setup.toggled(BOTTLE_KEY)
        counts.append(setup.bottles)
    assert counts == [1, 2, 3, 4, 0]
    # 1.497 kg of water at 20 °C (CRC Handbook) in a bottle of 0.03 to 0.04 kg (from
    # memory) is 1.53 to 1.54 kg, widened to 4 to 30 °C.
    (bottle,) = NOTHING.toggled(BOTTLE_KEY).kit.containers
    assert 1.52 < bottle.ready.low_kg < 1.53
    assert 1.53 < bottle.ready.high_kg < 1.55


@pytest.mark.parametrize(
    ("typed", "listed"),
    [
        ("12", [("12 kg", 1)]),
        ("12 kg", [("12 kg", 1)]),
        ("35lb", [("35 lb", 1)]),
        ("2 x 8, 16", [("8 kg", 2), ("16 kg", 1)]),
        ("2x8,,", [("8 kg", 2)]),
        ("17.5", [("17.5 kg", 1)]),
        ("", []),
    ],
)
def test_loads_are_read_as_people_type_them(typed, listed):
    setup = NOTHING.with_loads("k", typed)
    assert [(str(w.load), w.count) for w in setup.kit.weights] == listed
    assert {w.kind for w in setup.kit.weights} <= {"kettlebell"}


@pytest.mark.parametrize("typed", ["heavy", "0", "8, 8", "8 kg kg", "900", "21 x 1"])
def test_what_is_no_load_is_refused_in_text(typed):
    with pytest.raises(ValueError, match=r"expected|each weight once|at most"):
        NOTHING.with_loads("d", typed)


def test_a_backpack_has_one_load_at_a_time():
    setup = NOTHING.with_loads("p", "10, 12.5")
    assert setup.kit.backpack is not None
    assert setup.loads("p") == "10 kg, 12.5 kg"
    with pytest.raises(ValueError, match="one backpack"):
        NOTHING.with_loads("p", "2 x 10")
    assert setup.with_loads("p", "").kit == Kit()


def test_minutes_are_typed_and_taken_back():
    setup = NOTHING
    for key in ("0", "2", "5", "backspace", "0", "0", "9"):
        setup = setup.with_minutes(key)
    assert setup.minutes == "9"


def test_a_sore_place_is_left_out_for_two_weeks_and_asked_about_then():
    (limit,) = NOTHING.toggled("w").limits
    assert (limit.kind, limit.value) == ("site", "wrist-hand")
    assert limit.strength == "out"
    assert limit.until == ON + timedelta(days=SORE_DAYS)
    assert "wrist" in limit.review


def test_a_second_press_goes_easy_and_a_third_takes_it_off():
    """4 and more of 10 is left out, 1 to 3 goes easy; nothing sore is no limit."""
    once = NOTHING.toggled("n")
    twice = once.toggled("n")
    assert [once.strength("n"), twice.strength("n")] == ["out", "easy"]
    assert twice.limits[0].until == once.limits[0].until
    assert twice.toggled("n").limits == ()


def test_a_press_leaves_side_and_last_day_of_a_limit_as_they_were():
    left = Limit("site", "knee", ON + timedelta(40), note="stairs", side="left")
    setup = Setup.of(Kit(), (left,), ON).toggled("n")
    assert setup.limits == (replace(left, strength="easy"),)


@given(
    st.lists(st.sampled_from(EVERY_KEY), max_size=20),
    st.lists(st.integers(1, 99), max_size=4, unique=True),
)
def test_whatever_is_listed_can_be_written_and_read_again(keys, masses):
    setup = NOTHING
    for key in keys:
        setup = setup.toggled(key)
    setup = setup.with_loads("k", ", ".join(str(mass) for mass in masses))
    assert parse_kit(kit_text(setup.kit), name="kit.toml") == setup.kit
    limits = parse_limits(limits_text(setup.limits), name="limits.toml")
    assert limits == setup.limits
    again = Setup.of(setup.kit, limits, ON)
    assert [again.has(key) for key in EVERY_KEY] == [
        setup.has(key) for key in EVERY_KEY
    ]


# What fits


PROFILES = {
    "nothing": NOTHING,
    "a bell and a mat": NOTHING.toggled("m").with_loads("k", "12"),
    "a garage": Setup.of(None, (), ON)
    .with_loads("k", "8, 12, 16")
    .with_loads("d", "2 x 8")
    .toggled("s")
    .toggled("r")
    .toggled("u"),
}


@pytest.mark.parametrize("minutes", [None, 20, 45])
@pytest.mark.parametrize("sore", ["", "w", "n"])
@pytest.mark.parametrize("profile", PROFILES)
def test_every_sample_suits_every_profile_and_says_what_it_took(profile, sore, minutes):
    setup = PROFILES[profile]
    setup = setup.toggled(sore) if sore else setup
    means = library_means(setup.kit, setup.limits, ON)
    found = best_suited(samples(), means, minutes)
    assert len(found) == 7
    assert [one.rank for one in found] == sorted(one.rank for one in found)
    for one in found:
        plan = one.draft.plan
        here = {card.number for card in plan.stations}
        left = {t.station for t in problems_found(one.draft.as_performed, means)} & here
        assert left == set()
        assert 2 * len(plan.stations) >= len(one.draft.circuit.stations)
        if one.fits and minutes is not None:
            assert plan.total_ms <= minutes * 60_000
        told = " ".join(change_text(one))
        for exchange in one.draft.changes.exchanges.values():
            was = one.draft.circuit.stations[exchange.station - 1].name
            assert exchange.name in told or exchange.name == was
        for number in one.draft.today.without_stations:
            name = one.draft.as_performed.stations[number - 1].name
            assert f"without {name}" in told
        if not one.draft.is_changed:
            assert told == "no changes" or "→" in told


# The room


async def test_a_hand_written_kit_is_used_for_now_and_stays_as_it_is(tmp_path: Path):
    services = make_services(tmp_path, {"rainy-shed": SHED}, samples=True)
    own = "format = 1\nmats = 1\n"
    services.places.kit_file.write_text(own)
    app = RoomsApp(services, SetupRoom())
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        assert "m ● mat" in whole(app)
        assert "c ○ chair" in whole(app)
        await press(pilot, "c", "enter")
        assert "not saved" in whole(app)
        await settle(pilot)
        assert "What fits" in whole(app)
    assert services.places.kit_file.read_text() == own


async def test_typing_a_load_can_be_given_up_and_is_refused_in_text(tmp_path: Path):
    services = make_services(tmp_path, samples=True)
    app = RoomsApp(services, SetupRoom())
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "k", "0", "enter")
        assert "expected a load above 0" in whole(app)
        await press(pilot, "escape")
        assert "k ○ kettlebell" in whole(app)
        await press(pilot, "k", "2", "x", "8", "comma", "1", "6", "enter")
        assert "2 x 8 kg, 16 kg" in whole(app)
        await press(pilot, "escape")
    assert app.results == [None]
    assert not services.places.kit_file.exists()


async def test_back_from_what_fits_keeps_the_listing(tmp_path: Path):
    services = make_services(tmp_path, samples=True)
    app = RoomsApp(services, SetupRoom())
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "n", "2", "0", "enter")
        await settle(pilot)
        assert whole(app).count(":") >= MOST_SHOWN
        await press(pilot, "down", "enter")
        assert isinstance(app.screen, SheetRoom)
        assert app.screen.draft.plan.total_ms <= 20 * 60_000
        await press(pilot, "escape", "escape")
        assert "n ● knee" in whole(app)
        assert "Minutes  20" in whole(app)


class SetupApp(RoomsApp):
    """Opens the set-up where a room asks for it."""

    def open_setup(self, then: object = None) -> None:
        self.push_screen(SetupRoom(), then)


async def test_a_w_held_from_the_sheet_makes_no_wrist_sore(tmp_path: Path):
    services = make_services(tmp_path, {"rainy-shed": SHED})
    app = SetupApp(services, SheetRoom(services.circuits.read("rainy-shed")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "w")
        await press(pilot, *["w"] * 12, after_ms=33)
        assert "w ○ wrist" in whole(app)
        await press(pilot, "w")
        assert "w ● wrist" in whole(app)


async def test_a_home_without_circuits_says_so(tmp_path: Path):
    app = RoomsApp(make_services(tmp_path), SetupRoom())
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await settle(pilot)
        assert "No circuit could be read." in whole(app)
        await press(pilot, "enter", "down")


@pytest.mark.parametrize("size", [*SIZES, (40, 12), (10, 3)], ids=str)
async def test_both_pages_fill_their_screen_and_no_more(tmp_path: Path, size):
    app = RoomsApp(make_services(tmp_path, samples=True), SetupRoom())
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        check_lines(texts(app), size)
        await press(pilot, "k", "1", "2")
        check_lines(texts(app), size)
        await press(pilot, "enter", "1", "5", "enter")
        await settle(pilot)
        check_lines(texts(app), size)


async def test_space_starts_the_chosen_circuit_as_it_was_made_to_suit(tmp_path: Path):
    services = make_services(tmp_path, samples=True)
    app = RoomsApp(services, SetupRoom())
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "2", "0", "enter")
        await settle(pilot)
        await press(pilot, "down", "space")
        room = app.screen
        assert isinstance(room, SetupRoom)
        assert room.found is not None
        assert app.asked == [("begin", room.found[1].draft.plan)]


def test_what_takes_a_tenth_of_the_minutes_is_never_the_best(tmp_path: Path):
    short = SHORT_CIRCUIT_OF_ONE
    services = make_services(tmp_path, {"short": short}, samples=True)
    circuits = [one.circuit for one in services.circuits.find_all().circuits.values()]
    found = best_suited(circuits, library_means(None, (), ON), 20)
    assert "short" in {one.draft.circuit.id for one in found}
    assert found[0].draft.circuit.id != "short"
    assert found[0].draft.plan.total_ms >= 10 * 60_000


SHORT_CIRCUIT_OF_ONE = """\
format = 1
name = "A minute"
[[station]]
exercise = "dead-bug"
"""
