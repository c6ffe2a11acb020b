"""The editor room: each key's step, live words, undo, and what is saved where."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from tests.support.plans import FEW, circuits
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import SHED, ServicesForTests, make_services

from whistlestop.data import samples_folder
from whistlestop.domain.circuit.circuit import Circuit, Drill, Station
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.domain.text import first_hostile
from whistlestop.errors import RefusedError
from whistlestop.store.circuits.file import read_circuit
from whistlestop.store.circuits.writer import is_program_owned, save_circuit
from whistlestop.store.kit.limits import limits_text
from whistlestop.tui.rooms.editor import steps
from whistlestop.tui.rooms.editor.lines import SETTINGS, editor_page, remark_rows
from whistlestop.tui.rooms.editor.live import drill_for, fresh_station, live
from whistlestop.tui.rooms.editor.room import EditorRoom
from whistlestop.tui.rooms.frame.key_list import RoomKeys
from whistlestop.tui.rooms.library.known import KnownLibrary, read_known
from whistlestop.tui.widgets.safe_text import plain, width_of

SIZE = (80, 24)
SAMPLES = sorted(samples_folder().glob("*.toml"))
_NAMES = {" ": "space", ".": "full_stop", ",": "comma", "-": "minus", ":": "colon"}


@pytest.fixture
def services(tmp_path: Path) -> ServicesForTests:
    return make_services(tmp_path / "home", {"rainy-shed": SHED}, samples=True)


@pytest.fixture
def known(services: ServicesForTests) -> KnownLibrary:
    return read_known(services)


def owned(services: ServicesForTests) -> Path:
    """The shed as a file of the program's own, under another name."""
    path = services.places.circuits / "own.toml"
    made = replace(read_circuit(services.places.circuits / "rainy-shed.toml"), id="own")
    save_circuit(made, path)
    return path


async def type_line(pilot, words: str) -> None:
    for character in words:
        await pilot.press(_NAMES.get(character, character))
    await pilot.pause()


async def ask(pilot, *keys: str, line: str) -> None:
    """Press keys, type a line over what stands there, and take it."""
    await press(pilot, *keys)
    await pilot.press("ctrl+u")
    await type_line(pilot, line)
    await press(pilot, "enter")
    await settle(pilot)


# Steps


@pytest.mark.parametrize(
    ("setting", "way", "shows"),
    [
        ("loops", 1, {"loops": 3}),
        ("work", -1, {"work_ms": 35_000}),
        ("recover", 1, {"recover_ms": 25_000}),
        ("loop break", 1, {"loop_break_ms": 75_000}),
        ("loop break", -4, {"loop_break_ms": None, "break_until_key": False}),
        ("changeover", 2, {"changeover_ms": 2_000}),
        ("get ready", -1, {"get_ready_ms": 5_000}),
    ],
)
def test_a_press_takes_a_setting_one_step(services, setting, way, shows):
    made = services.circuits.read("rainy-shed")
    changed = steps.with_steps(made, setting, way)
    assert changed == replace(made, **shows)


def test_below_no_break_lies_the_break_until_a_key(services):
    made = steps.with_steps(services.circuits.read("rainy-shed"), "loop break", -4)
    gate = steps.with_steps(made, "loop break", -1)
    assert gate.break_until_key
    assert steps.with_steps(gate, "loop break", -1) == gate
    assert steps.with_steps(gate, "loop break", 1) == made


@pytest.mark.parametrize(
    ("setting", "typed", "says"),
    [
        ("name", " ", "a name has at least one letter"),
        ("loops", "many", "type a number"),
        ("loops", "21", "1 to 20 loops"),
        ("work", "3", "work lasts 5 s"),
        ("work", "long", "expected seconds"),
        ("loop break", "until tea", "expected seconds"),
        ("changeover", "1:00", "0 s to 10 s"),
        ("get ready", "6 min", "0 s to 5 min"),
    ],
)
def test_what_cannot_be_typed_is_refused_in_text(services, setting, typed, says):
    with pytest.raises(RefusedError, match=says):
        steps.setting_typed(services.circuits.read("rainy-shed"), setting, typed)


@pytest.mark.parametrize(
    ("setting", "typed", "shows"),
    [
        ("name", " Yard ", {"name": "Yard"}),
        ("note", "", {"note": ""}),
        ("loops", "4", {"loops": 4}),
        ("work", "1:30", {"work_ms": 90_000}),
        ("recover", "0", {"recover_ms": 0}),
        ("loop break", "until key", {"loop_break_ms": None, "break_until_key": True}),
        ("loop break", "2 min", {"loop_break_ms": 120_000}),
        ("changeover", "3 s", {"changeover_ms": 3_000}),
        ("get ready", "30", {"get_ready_ms": 30_000}),
    ],
)
def test_a_setting_can_be_typed(services, setting, typed, shows):
    made = services.circuits.read("rainy-shed")
    assert steps.setting_typed(made, setting, typed) == replace(made, **shows)


@FEW
@given(circuits(), st.sampled_from(sorted(steps.ASKED)), st.data())
def test_what_stands_there_can_be_typed_again_and_changes_nothing(made, what, data):
    number = data.draw(st.integers(1, len(made.stations)))
    typed = steps.station_value(made, number, what)
    if what == "name":
        made = steps.station_typed(made, number, what, typed)
    again = steps.station_typed(made, number, what, typed)
    assert again == made


@FEW
@given(circuits(), st.sampled_from(SETTINGS), st.text(max_size=12))
def test_any_typed_line_leaves_a_circuit_that_can_be_done(made, setting, typed):
    try:
        changed = steps.setting_typed(made, setting, typed)
    except RefusedError:
        return
    compile_plan(changed)


def test_parts_go_round():
    parts: tuple[str, ...] = ()
    seen = []
    for _ in range(3):
        parts = steps.next_parts(parts)
        seen.append(parts)
    assert seen == [("left", "right"), ("left", "right", "together"), ()]
    assert steps.next_parts(("near", "far")) == ()


# Live words


def test_balance_counts_regions_and_remarks_name_their_rule(services, known):
    now = live(services.circuits.read("goods-shed"), known)
    assert dict(now.balance) == {"legs": 3, "core": 3, "arms": 4, "whole": 0}
    assert now.remarks == ()
    shed = live(services.circuits.read("rainy-shed"), known)
    assert "push-pull" not in {remark.rule for remark in shed.remarks}
    assert {"hinge-squat", "same-region"} & {one.rule for one in shed.remarks}
    rules = {one.rule for one in shed.remarks}
    silent = live(services.circuits.read("rainy-shed"), known, frozenset(rules))
    assert silent.remarks == ()


def test_kit_and_limits_stand_first_and_mark_their_stations(services):
    from datetime import date

    from whistlestop.domain.limits import Limit

    services.places.kit_file.write_text("format = 1\nmats = 1\n")
    limit = Limit("pattern", "step", date(2026, 4, 2))
    services.places.limits_file.write_text(limits_text([limit]))
    now = live(services.circuits.read("rainy-shed"), read_known(services))
    sentences = [remark.sentence for remark in now.remarks if not remark.rule]
    assert sentences == [
        "Station 1, Goblet squat: not in your kit: weight.",
        "Station 3, Step-up: not in your kit: box, two weights.",
        "Station 3, Step-up: you leave out step until 2 Apr.",
    ]
    assert now.blocked == {1, 3}


def test_a_fresh_station_keeps_a_load_that_fits(known):
    before = Station("x", "X", "X", load=parse_load("2 x 8 kg"))
    one = fresh_station(known, "goblet-squat", before)
    assert one is not None
    assert str(one.load) == "8 kg"
    two = fresh_station(known, "bent-over-row", before)
    assert two is not None
    assert str(two.load) == "2 x 8 kg"
    for exercise in ("dead-bug", "band-row"):
        none = fresh_station(known, exercise, before)
        assert none is not None
        assert none.load is None, exercise
    assert fresh_station(known, "nothing-such") is None
    assert drill_for(known, "nothing-such") is None


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_sample_is_laid_out_within_its_cells(path, known):
    now = live(read_circuit(path), known)
    for cells in (77, 97):
        for chosen in range(len(SETTINGS) + len(now.circuit.stations)):
            page = editor_page(now, chosen, cells, beside=False)
            rows = (*page.head, *page.rows)
            assert all(width_of(one) <= cells for one in rows)
            marked = [plain(one) for one in rows if "▌" in plain(one)]
            assert len(marked) == 1
            first, last = page.row_ranges[chosen]
            assert "▌" in plain(page.rows[first])
            assert first == last


def test_totals_and_the_nearest_remark_stand_still_above_the_rows(services, known):
    now = live(services.circuits.read("rainy-shed"), known)
    page = editor_page(now, len(SETTINGS) + 2, 77, beside=False)
    plan = compile_plan(services.circuits.read("rainy-shed"))
    head = [plain(one) for one in page.head]
    assert head[0].startswith(f"  {plan.total_ms // 60000}:")
    assert "3 stations × 2" in head[0]
    near = [one.sentence for one in now.remarks if 3 in one.stations]
    assert near
    assert near[0][:30] in head[2]


@pytest.mark.parametrize("cells", [38, 77])
def test_each_remark_has_its_source_and_a_way_to_be_silent(services, known, cells):
    now = live(services.circuits.read("rainy-shed"), known)
    told = " ".join(" ".join(plain(one) for one in remark_rows(now, cells)).split())
    rules = [remark for remark in now.remarks if remark.note is not None]
    assert rules
    for remark in rules:
        assert remark.note is not None
        assert f"{remark.note.source}." in told
    assert "Silence a rule in config.toml: [advice] silenced = [" in told


# Keys


async def test_a_new_circuit_from_nothing_to_a_file(services):
    app = RoomsApp(services, EditorRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert "No station yet" in whole(app)
        await press(pilot, "s")
        assert "It has no station yet" in whole(app)
        await press(pilot, "a")
        await type_line(pilot, "goblet")
        await press(pilot, "enter")
        await settle(pilot)
        assert "It needs a load: press l." in whole(app)
        await ask(pilot, "l", line="12 kg")
        await press(pilot, "a")
        await type_line(pilot, "side plank")
        await press(pilot, "enter")
        await settle(pilot)
        await ask(pilot, "s", line="My yard")
        assert "Saved as my-yard." in whole(app)
        assert "saved" in texts(app)[0]
        await press(pilot, "escape")
    assert app.results == [None]
    made = services.circuits.read("my-yard")
    assert [one.exercise for one in made.stations] == ["goblet-squat", "side-plank"]
    assert str(made.stations[0].load) == "12 kg"
    assert is_program_owned(services.places.circuits / "my-yard.toml")


async def test_every_key_of_a_station_does_its_step(services):
    path = owned(services)
    app = RoomsApp(services, EditorRoom(read_circuit(path), path))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "right", "h", "D")
        await ask(pilot, "t", line="hold")
        await ask(pilot, "r", line="15")
        await ask(pilot, "n", line="slowly")
        await ask(pilot, "m", line="Deep squat")
        await press(pilot, "down", "p", "down")
        await ask(pilot, "P", line="near, far")
        await ask(pilot, "w", line="1:00")
        await press(pilot, "shift+up", "K", "J", "c", "s")
        assert "Saved." in whole(app)
    squat, step, copy, plank = read_circuit(path).stations
    assert (squat.exercise, squat.work_ms, squat.hold) == ("goblet-squat", 45_000, True)
    assert (str(squat.tempo), squat.recover_ms, squat.drill) == ("hold", 15_000, None)
    assert (squat.name, squat.call_name) == ("Deep squat", "DEEP SQUAT")
    assert squat.note == "slowly"
    assert step == copy
    assert (step.parts, step.work_ms) == (("near", "far"), 60_000)
    assert plank.parts == ("left", "right", "together")


async def test_a_station_of_ones_own_can_be_added_and_is_read_back(services):
    own = """\
format = 1
[[station]]
id = "my-sled"
name = "Push the sled"
region = "legs"
pattern = "squat"
sides = "one-then-other"
tempo = "flow"
kit = ["sled"]
cautions = ["Kn"]
"""
    (services.places.kit_file.parent / "stations.toml").write_text(own)
    app = RoomsApp(services, EditorRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "a")
        await type_line(pilot, "sled")
        await press(pilot, "enter")
        await settle(pilot)
        await ask(pilot, "s", line="Sled")
        assert "Saved as sled." in whole(app)
    (station,) = services.circuits.read("sled").stations
    assert (station.exercise, station.name) == ("my-sled", "Push the sled")
    assert (station.parts, str(station.tempo)) == (("left", "right"), "flow")
    assert (station.kit, station.cautions) == (("sled",), ("Kn",))


async def test_another_exercise_and_a_drill_come_from_the_library(services):
    path = owned(services)
    app = RoomsApp(services, EditorRoom(read_circuit(path), path))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "enter")
        await settle(pilot)
        line = next(one for one in texts(app) if one.startswith("▌"))
        assert "Goblet squat" in line
        await type_line(pilot, "front rack")
        await press(pilot, "enter")
        await settle(pilot)
        await press(pilot, "d")
        await type_line(pilot, "finger")
        await press(pilot, "enter")
        await settle(pilot)
        await press(pilot, "s")
    first = read_circuit(path).stations[0]
    assert first.exercise == "front-rack-squat"
    assert str(first.load) == "2 x 12 kg"
    assert first.drill is not None
    assert first.drill.id == "finger-runs"


async def test_all_of_it_can_be_undone_and_done_again(services):
    path = owned(services)
    app = RoomsApp(services, EditorRoom(read_circuit(path), path))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        room = app.screen
        assert isinstance(room, EditorRoom)
        await press(pilot, "x", "c", "J", "right", "p", "up", "up", "up", "right")
        changed = room.circuit
        many = len(room.history.past)
        assert many >= 5
        await press(pilot, *["u"] * many)
        assert room.circuit == read_circuit(path)
        assert "not saved" not in texts(app)[0]
        await press(pilot, "u")
        assert "There is nothing to undo." in whole(app)
        await press(pilot, *["U"] * many)
        assert room.circuit == changed
        await press(pilot, "U")
        assert "There is nothing to do again." in whole(app)


async def test_a_step_that_cannot_be_says_why_and_changes_nothing(services):
    path = owned(services)
    app = RoomsApp(services, EditorRoom(read_circuit(path), path))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "shift+up")
        assert "It is the first station already." in whole(app)
        await ask(pilot, "w", line="2 s")
        assert "Work lasts 5 s to 10 min." in whole(app)
        await press(pilot, "escape")
        await settle(pilot)
        await press(pilot, "down")
        await ask(pilot, "w", line="9 s")
        assert "Not possible: station 2, loop 1" in whole(app)
        await press(pilot, "escape")
        await settle(pilot)
        assert "not saved" not in texts(app)[0]


async def test_a_file_written_by_hand_is_saved_elsewhere_and_both_can_be_used(services):
    path = services.places.circuits / "rainy-shed.toml"
    app = RoomsApp(services, EditorRoom(read_circuit(path), path))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "x", "s")
        assert "You wrote this file by hand, so it is not changed." in whole(app)
        await press(pilot, "enter")
        await settle(pilot)
        assert "Saved as rainy-shed-2." in whole(app)
        await press(pilot, "u")
        assert "not saved" in texts(app)[0]
        await press(pilot, "s")
        assert "Saved." in whole(app)
        await press(pilot, "escape")
    assert app.results == [None]
    assert path.read_text(encoding="utf-8") == SHED
    listing = services.circuits.find_all()
    assert listing.duplicates == {}
    assert len(listing.circuits["rainy-shed-2"].circuit.stations) == 3
    assert "rainy-shed" in listing.circuits


async def test_a_duplicate_of_a_sample_gets_an_id_of_its_own(services):
    app = RoomsApp(services, EditorRoom(services.circuits.read("goods-shed"), None))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "s", "enter")
        await settle(pilot)
    assert services.circuits.find_all().duplicates == {}
    copy = services.circuits.read("goods-shed-2")
    assert copy.stations == services.circuits.read("goods-shed").stations


async def test_a_file_changed_by_hand_meanwhile_is_not_written_over(services):
    path = owned(services)
    app = RoomsApp(services, EditorRoom(read_circuit(path), path))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        path.write_text(path.read_text() + "# mine now\n")
        await press(pilot, "x", "s")
        assert "file by hand" in whole(app)
    assert path.read_text().endswith("# mine now\n")


async def test_leaving_asks_only_where_something_would_be_lost(services):
    path = owned(services)
    for keys, leaves in (((), 1), (("x",), 2), (("x", "s"), 1), (("x", "u"), 1)):
        before = path.read_text()
        app = RoomsApp(services, EditorRoom(read_circuit(path), path))
        async with app.run_test(size=SIZE) as pilot:
            await settle(pilot)
            await press(pilot, *keys)
            for _ in range(leaves - 1):
                await press(pilot, "escape")
                assert app.results == []
                assert "Esc again discards the changes" in whole(app)
            await press(pilot, "escape")
        assert app.results == [None], keys
        if "s" not in keys:
            assert path.read_text() == before


async def test_a_disk_that_does_not_take_it_is_said(services, monkeypatch):
    path = owned(services)

    def full(*_args):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("whistlestop.store.kit.file.replace_file", full)
    app = RoomsApp(services, EditorRoom(read_circuit(path), path))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        await press(pilot, "x", "s")
        assert "Not saved: cannot write" in whole(app)
        assert "not saved" in texts(app)[0]


async def test_the_list_of_keys_names_every_key_that_acts(services):
    app = RoomsApp(services, EditorRoom(services.circuits.read("goods-shed"), None))
    async with app.run_test(size=(120, 40)) as pilot:
        await settle(pilot)
        await press(pilot, "question_mark")
        assert isinstance(app.screen, RoomKeys)
        for one in EditorRoom.ACTIONS:
            assert one.long_keys in whole(app)
            assert one.sentence in whole(app)
        await press(pilot, "escape")
        assert isinstance(app.screen, EditorRoom)


# Any size, any name


@pytest.mark.parametrize("size", [*SIZES, (40, 12), (20, 6), (1, 1)], ids=str)
@pytest.mark.parametrize("begun", ["new", "sample"])
async def test_the_room_fills_its_screen_and_no_more(services, begun, size):
    room = {
        "new": EditorRoom,
        "sample": lambda: EditorRoom(services.circuits.read("goods-shed"), None),
    }[begun]()
    app = RoomsApp(services, room)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        for keys in (("down", "end"), ("l",), ("escape",), ("home", "right")):
            await press(pilot, *keys)
            if not app.screen_stack:
                break
            for line in texts(app):
                assert cell_len(line) == size[0]
                assert first_hostile(line) is None


@pytest.mark.parametrize(
    "name",
    [
        "[/] [bold]x",
        "\x1b[31mred\x07",
        "a\u202eb",
        "日本語の体操" * 12,
        "W" * 80,
        "a\nb",
    ],
    ids=range(6),
)
async def test_a_name_that_means_harm_is_shown_and_does_none(services, name):
    station = Station(name, name, "X", kit=(name,), note=name, drill=Drill(name, name))
    made = Circuit("x", name, (station, station), note=name)
    app = RoomsApp(services, EditorRoom(made, None))
    async with app.run_test(size=(160, 45)) as pilot:
        await settle(pilot)
        await press(pilot, "down", "x", "u", "home")
        for line in texts(app):
            assert cell_len(line) == 160
            assert first_hostile(line) is None
        assert not app._exit


async def test_ascii_only_means_ascii_only(services):
    screen = replace(services.settings.screen, ascii=True)
    services.settings = replace(services.settings, screen=screen)
    for size in ((80, 24), (160, 45)):
        app = RoomsApp(services, EditorRoom(services.circuits.read("goods-shed"), None))
        async with app.run_test(size=size) as pilot:
            await settle(pilot)
            assert whole(app).isascii()
            await press(pilot, "home", "down", "down", "question_mark")
            assert whole(app).isascii()
