"""The sheet beside kit and limits: marks, swaps, loads, advice, the built warm-up."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import SHED, ServicesForTests, make_services
from tests.tui.test_rooms_sizes import HOSTILE, check_lines, hostile_circuit

from whistlestop.data import samples_folder
from whistlestop.domain.circuit.circuit import Circuit
from whistlestop.domain.circuit.warm_up import built_warm_up
from whistlestop.domain.demands import asks
from whistlestop.domain.kit.kit import Kit, Weight
from whistlestop.domain.limits import Limit
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.errors import RefusedError
from whistlestop.library import drills, exercises
from whistlestop.library.whole import library_means
from whistlestop.store.circuits.file import read_circuit
from whistlestop.store.kit.file import write_kit
from whistlestop.store.kit.limits import write_limits
from whistlestop.store.settings.values import AdviceSettings
from whistlestop.tui.rooms.sheet.lines import facts_of, sheet
from whistlestop.tui.rooms.sheet.room import SheetRoom
from whistlestop.tui.rooms.sheet.today import SETTINGS, Draft
from whistlestop.tui.widgets.safe_text import plain

ON = date(2026, 3, 12)
WRISTS = Limit("site", "wrist-hand", date(2026, 4, 1))
BELLS = Kit(
    weights=tuple(Weight("kettlebell", parse_load(x)) for x in ("8 kg", "14 kg")),
    mats=1,
    bench=True,
)
# On a sheet of goods-shed: the settings come first, then its stations.
DOWN_TO = {n: ["down"] * (len(SETTINGS) + n - 1) for n in range(1, 11)}


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    made = make_services(tmp_path, {"rainy-shed": SHED}, samples=True)
    write_kit(made.places.kit_file, BELLS)
    write_limits(made.places.limits_file, [WRISTS])
    return made


def goods_shed() -> Circuit:
    return read_circuit(samples_folder() / "goods-shed.toml")


def told(draft: Draft, chosen: int = 0, cells: int = 198) -> str:
    made = sheet(draft, chosen, cells)
    return "\n".join(plain(one) for one in (*made.head, *made.rows))


def test_every_station_in_the_way_is_marked_and_named_with_the_best_swap():
    draft = Draft.of(goods_shed(), library_means(BELLS, (WRISTS,), ON))
    text = told(draft, cells=78)
    marked = [
        line
        for line in text.splitlines()
        if line.startswith(" !") and line[2:4].strip()
    ]
    assert [int(line[2:4]) for line in marked] == [*range(1, 10)]
    flat = " ".join(text.split())
    until = "you leave out the wrist or hand until 2026-04-01"
    assert f"! 7 Push-up: {until}" in flat
    assert "s swaps in Prone Y-T-W raise: same region, arms" in flat
    assert f"! 3 Band anti-rotation press: {until}; not in your kit: band" in flat
    # Its weight is what the hand would hold; and the drill after it is another thing.
    assert "s swaps in Single-leg Romanian deadlift: the same at body weight" in flat
    assert f"! drill after 5 Boxer step: {until}" in flat
    assert "8 stations blocked, 6 drills blocked" in flat


def test_a_limit_stands_at_its_station_with_site_strength_and_swap():
    easy = Limit("site", "knee", date(2026, 4, 1), strength="easy", side="left")
    lines = told(Draft.of(goods_shed(), library_means(None, (easy,), ON)), cells=78)
    rows = lines.splitlines()
    at = next(n for n, line in enumerate(rows) if line.startswith(" ! 1 Goblet"))
    assert rows[at + 1].strip().startswith("left knee: go easy · s swaps in ")
    assert "easier" not in rows[at + 1]
    # The bench is no site: what asks nothing of the knee is as it was.
    assert not any(line.startswith(" ! 7 Push-up") for line in rows)


def test_a_bell_far_too_heavy_is_said_with_its_percentage():
    bell = Kit(weights=(Weight("kettlebell", parse_load("24 kg")),), mats=1)
    text = told(Draft.of(goods_shed(), library_means(bell, (), ON)), cells=78)
    flat = " ".join(text.split())
    heavy = "12 kg planned; 24 kg is the lightest you own, 100 % more"
    assert f"! 4 Single-leg Romanian deadlift: {heavy}" in flat
    assert "s swaps in Single-leg Romanian deadlift: the same at body weight" in flat
    assert "12 kg planned; nearest you own is 24 kg, 100 % more: choose a load" in flat


def test_loads_say_what_was_wanted_and_what_is_here():
    draft = Draft.of(goods_shed(), library_means(BELLS, (), ON))
    text = " ".join(told(draft, cells=78).split())
    assert "1, 2, 6: 16 kg planned; nearest you own is 14 kg" in text
    assert "! 3: band: medium planned; nothing in your kit comes close" in text
    loads = {s.load for s in draft.plan.segments if s.station == 1 and s.load}
    assert loads == {"14 kg"}


def test_without_a_kit_nothing_is_said_of_it_and_loads_stay_as_written():
    text = told(Draft.of(goods_shed()))
    assert "Loads from your kit" not in text
    assert "Blocked today" not in text
    assert "not in your kit" not in text
    assert "16 kg" in text


async def test_s_takes_the_best_swap_then_the_next_and_comes_back_as_written(services):
    app = RoomsApp(services, SheetRoom(services.circuits.read("goods-shed")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *DOWN_TO[7])
        assert "! you leave out the wrist or hand until 2026-04-01" in whole(app)
        await press(pilot, "s")
        assert "7 Prone Y-T-W raise" in whole(app)
        assert "~ for Push-up: same region, arms" in whole(app)
        # The drill after it asks something of the hands as well: the same key.
        await press(pilot, "s")
        drill = drills()[app.screen.draft.as_performed.stations[6].drill.id]
        assert asks(drill, "wrist-hand", extra=drill.added_at()) == 0
        seen = {app.screen.draft.as_performed.stations[6].exercise}
        for _ in range(4):
            await press(pilot, "s")
            seen.add(app.screen.draft.as_performed.stations[6].exercise)
        assert "push-up" in seen
        others = [exercises()[x] for x in seen - {"push-up"}]
        assert not [one.id for one in others if asks(one, "wrist-hand")]


async def test_what_a_companion_spares_is_marked_with_the_name(services):
    write_limits(services.places.limits_file, [])
    services.places.kit_file.unlink()
    services.places.athletes_file.write_text(
        'format = 1\n[[athlete]]\nid = "a2"\nname = "Robin"\n[[athlete.limit]]\n'
        'site = "knee"\nside = "left"\nstrength = "easy"\nuntil = 2026-05-31\n'
    )
    app = RoomsApp(services, SheetRoom(services.circuits.read("goods-shed")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "knee: go easy" not in whole(app)
        await press(pilot, "p", *"Robin", "enter")
        await settle(pilot)
        assert "Robin, left knee: go easy" in whole(app)
        await press(pilot, "p", *["backspace"] * 5, "enter")
        await settle(pilot)
        assert "Robin" not in whole(app)


async def test_what_is_swapped_and_loaded_is_what_starts(services):
    app = RoomsApp(services, SheetRoom(services.circuits.read("goods-shed")))
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, *DOWN_TO[1], "l", *["down"] * 6, "s", "space")
    [(_, plan)] = app.asked
    assert plan.card(7).exercise == "letter-raise"
    # 14 kg stood there as the nearest; the next one up the ladder is 8 kg again.
    assert {s.load for s in plan.segments if s.station == 1 and s.load} == {"8 kg"}
    assert plan.card(7).parts == ()


async def test_only_the_drill_gives_way_where_only_its_ball_is_missing(services):
    services.places.limits_file.unlink()
    app = RoomsApp(services, SheetRoom(services.circuits.read("rainy-shed")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *DOWN_TO[1], "s")
        draft = app.screen.draft
    assert draft.as_performed.stations[0].exercise == "goblet-squat"
    assert draft.as_performed.stations[0].drill.id != "one-ball-arc"
    assert draft.changes.exchanges == {}


async def test_nothing_to_take_is_said(services, tmp_path):
    services.places.limits_file.unlink()
    write_limits(
        services.places.limits_file,
        [Limit("region", one, date(2026, 4, 1)) for one in ("legs", "core", "arms")],
    )
    app = RoomsApp(services, SheetRoom(services.circuits.read("rainy-shed")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *DOWN_TO[2], "s")
        assert "No station fits as a swap today." in whole(app)


@pytest.mark.parametrize(
    ("name", "text"),
    [("kit.toml", "format = 1\nmatts = 2\n"), ("limits.toml", "format = 'x'\n")],
)
async def test_a_broken_file_is_named_with_its_place_and_the_sheet_opens(
    services, name, text
):
    path = services.places.kit_file.with_name(name)
    path.write_text(text)
    app = RoomsApp(services, SheetRoom(services.circuits.read("rainy-shed")))
    async with app.run_test(size=(200, 60)) as pilot:
        await settle(pilot)
        await pilot.pause()
        assert f"{name}:" in whole(app)
        assert "6:30 in all" in whole(app)


# Advice


def test_advice_is_named_by_rule_and_can_be_silenced():
    sample = read_circuit(samples_folder() / "light-engine.toml")
    text = " ".join(told(Draft.of(sample), cells=78).split())
    assert "Stations 2 and 3 both need a strong grip. (grip)" in text
    assert '[advice] silenced = ["grip"]' in text
    assert "grip: common practice." in text
    draft = Draft.of(sample)
    quiet = facts_of(draft, frozenset({"grip"}))
    assert quiet.advice == ()
    assert "(grip)" not in "\n".join(
        plain(one) for one in sheet(draft, 0, 78, quiet).rows
    )


async def test_the_setting_silences_on_the_screen(services):
    services.settings = replace(services.settings, advice=AdviceSettings(("grip",)))
    app = RoomsApp(services, SheetRoom(services.circuits.read("light-engine")))
    async with app.run_test(size=(120, 80)) as pilot:
        await settle(pilot)
        assert "strong grip" not in whole(app)


def test_advice_about_a_station_that_is_left_out_today_is_left_out():
    sample = read_circuit(samples_folder() / "light-engine.toml")
    draft = Draft.of(sample).toggled(3)
    assert [one.rule for one in facts_of(draft).advice] == []


# Warm-up and break


def test_a_warm_up_is_built_shown_and_taken_only_when_asked_for(tmp_path):
    circuit = make_services(tmp_path, {"rainy-shed": SHED}).circuits.read("rainy-shed")
    draft = Draft.of(circuit)
    assert "not added yet" in told(draft)
    longer = draft.with_steps("warm-up", 1)
    built = built_warm_up(["squat", "anti-lateral", "step"])
    items = [s for s in longer.plan.segments if s.kind is SegmentKind.WARM_UP]
    assert [(s.exercise_name, s.duration_ms) for s in items] == [
        (item.name, item.duration_ms) for item in built
    ]
    extra_ms = sum(item.duration_ms for item in built)
    assert longer.plan.total_ms - draft.plan.total_ms == extra_ms
    assert "not added yet" not in told(longer)
    with pytest.raises(RefusedError, match="no longer warm-up"):
        longer.with_steps("warm-up", 1)
    assert not longer.with_steps("warm-up", -1).is_changed


def test_a_warm_up_of_the_file_gets_shorter_then_goes_and_comes_back():
    draft = Draft.of(goods_shed())
    shorter = draft.with_steps("warm-up", -1)
    assert (
        280_000 <= sum(i.duration_ms for i in shorter.as_performed.warm_up) <= 300_000
    )
    none = shorter.with_steps("warm-up", -1)
    assert none.as_performed.warm_up == ()
    assert "No warm-up today" in told(none)
    assert not none.with_steps("warm-up", 2).is_changed


def test_the_break_changes_by_five_seconds_and_a_gate_gets_a_length():
    draft = Draft.of(goods_shed())
    assert draft.with_steps("break", -2).plan.total_ms == draft.plan.total_ms - 20_000
    with pytest.raises(RefusedError, match="With one loop there is no break"):
        draft.with_steps("loops", -2).with_steps("break", 1)
    gate = Draft.of(read_circuit(samples_folder() / "branch-line.toml"))
    assert gate.plan.open_gates == 2
    timed = gate.with_steps("break", 12)
    assert timed.plan.open_gates == 0
    assert timed.plan.total_ms == gate.plan.total_ms + 2 * 60_000
    assert timed.with_steps("break", -12).plan.open_gates == 2
    with pytest.raises(RefusedError, match="waits for a key"):
        gate.with_steps("break", -1)


# Every size, and names that mean harm


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("sample", ["goods-shed", "heavy-haul"])
async def test_a_sheet_with_much_to_say_fills_its_screen_and_no_more(
    services, sample, size
):
    app = RoomsApp(services, SheetRoom(services.circuits.read(sample)))
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        for _ in range(8):
            await press(pilot, "pagedown")
            check_lines(texts(app), size)
            assert "Space start" in texts(app)[-1]


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
async def test_a_name_that_means_harm_does_none_beside_a_kit(services, name):
    app = RoomsApp(services, SheetRoom(hostile_circuit(name)))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, *DOWN_TO[1], "s", "l", "m", "5", "enter", "enter")
        check_lines(texts(app), (80, 24))
        assert not app._exit
