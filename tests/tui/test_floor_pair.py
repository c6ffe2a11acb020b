"""The Floor for two, as lines of text at five sizes, and its keys.

Each golden screen was looked at before it was kept.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.support.golden import same_as_golden
from tests.support.halves import find, halves, roles
from tests.support.rooms_app import RoomsApp
from tests.support.scenes import pair_shown
from tests.support.services import make_services, run_until
from textual.widgets import Input

from whistlestop.data import samples_folder
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.pairing import Company, paired_plans
from whistlestop.driver.session import Options
from whistlestop.engine.commands import Do, EnterEffort, EnterVariant
from whistlestop.store.circuits.file import read_circuit
from whistlestop.tui.floor.band import drill_band
from whistlestop.tui.floor.paint_pair import paint_pair
from whistlestop.tui.floor.pair import Beside, PairModel, initials
from whistlestop.tui.floor.screen import FloorScreen
from whistlestop.tui.floor.sizes import places_for
from whistlestop.tui.rooms.close_out.room import CloseOutRoom
from whistlestop.tui.rooms.sheet.room import SheetRoom

BREAK_MS = 290_000
SCENES = {
    "warm-up": (20_000, ()),
    "get-ready": (63_000, ()),
    "work": (75_000, ()),
    "left": (135_000, ()),
    "changeover": (149_000, ()),
    "recover": (115_000, ()),
    "break": (BREAK_MS + 10_000, ()),
    "break-rated": (
        BREAK_MS + 20_000,
        ((BREAK_MS + 15_000, EnterEffort(1, Effort(13), "a2")),),
    ),
    "paused": (100_000, ((90_000, Do.PAUSE),)),
}
SIZES = ((80, 24), (100, 30), (120, 40), (160, 50), (200, 60))


def lines(rows):
    return ["".join(run.text for run in row) for row in rows]


@pytest.mark.parametrize("name", SCENES)
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_floor_of_two_is_as_it_was_looked_at(name, width, height):
    painted = lines(paint_pair(pair_shown(*SCENES[name]), width, height))
    assert [len(line) for line in painted] == [width] * height
    text = "\n".join(line.rstrip() for line in painted) + "\n"
    same_as_golden(f"floor/pair-{name}-{width}x{height}.txt", text)


@pytest.mark.parametrize("name", SCENES)
def test_ascii_floor_of_two_is_ascii(name):
    model = pair_shown(*SCENES[name])
    painted = "\n".join(lines(paint_pair(model, 80, 24, ascii_only=True)))
    assert painted.isascii(), sorted({c for c in painted if not c.isascii()})


@pytest.mark.parametrize("name", SCENES)
@pytest.mark.parametrize(
    "size", [(0, 0), (1, 1), (4, 2), (10, 3), (40, 10), (60, 16), (80, 20), (240, 70)]
)
def test_floor_of_two_fits_any_screen(name, size):
    painted = lines(paint_pair(pair_shown(*SCENES[name]), *size))
    assert [len(line) for line in painted] == [size[0]] * size[1]


@pytest.mark.parametrize("size", [(80, 24), (60, 16), (40, 12)])
def test_a_small_screen_keeps_clock_sides_names_and_both_next(size):
    """As for one: key line, tempo, progress go first; these never."""
    painted = paint_pair(pair_shown(*SCENES["left"]), *size)
    text = "\n".join(lines(painted))
    assert "█" in text
    assert "YOU" in text
    assert "ROBIN" in text
    assert "SIDE PLANK" in text
    assert "GOBLET SQUAT" in text
    assert "done 18:0" in text
    if size == (80, 24):
        for word in ("ONE-ARM ROW", "LEFT", "12 KG", "DEAD BUG"):
            assert find(halves(painted), word), word
    else:
        assert "LEFT  ONE-ARM ROW  12 KG" in text


def test_what_is_ones_own_is_told_apart():
    model = pair_shown(*SCENES["left"], answering=1)
    you, robin = model.people
    assert (you.board.name, you.board.side) == ("ONE-ARM ROW", "LEFT")
    assert (robin.board.name, robin.board.side) == ("DEAD BUG", "")
    assert you.board.load == "12 KG"
    assert (you.next_name, robin.next_name) == ("SIDE PLANK", "GOBLET SQUAT")
    assert (you.initial, robin.initial) == ("Y", "R")
    assert model.common.place == (
        "loop 1 of 2 · stations 2 and 4 of 4",
        "1/2 · 2+4/4",
    )
    own = pair_shown(BREAK_MS + 20_000)
    assert [one.board.load for one in own.people] == ["16 KG", ""]


def test_who_is_asked_has_the_lit_tile_and_the_other_is_named():
    for answering, other in ((0, "Robin"), (1, "You")):
        model = pair_shown(*SCENES["break"], answering=answering)
        (shown_one,) = model.beside
        assert shown_one.person == answering
        assert shown_one.band.letters == "RATE LOOP 1"
        assert shown_one.band.aside == f"a: enter for {other}"
    (rated,) = pair_shown(*SCENES["break-rated"], answering=1).beside
    assert rated.band.letters == "6.5 TOUGH"


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("answering", [0, 1])
def test_only_the_tile_of_who_is_asked_takes_the_hue(size, answering):
    model = pair_shown(*SCENES["break"], answering=answering)
    painted = paint_pair(model, *size)
    places = places_for(*size)
    column = places.left
    found = [roles(painted)[places.two.lines[at] // 2 + 1][column] for at in (0, 2)]
    expected = ["dim-shape", "dim-shape"]
    expected[answering] = "break-shape"
    assert found == expected


LONG_QUESTION = "Where is the discomfort?  " + "  ".join(
    f"{number} a place" for number in range(1, 23)
)
"""As many places as there are sites of discomfort: it needs the label's row."""


@pytest.mark.parametrize("clock", ["1:30", "12:05"])
@pytest.mark.parametrize("name", ["work", "left"])
def test_what_comes_next_stays_for_both_under_the_longest_question(name, clock):
    model = pair_shown(*SCENES[name])
    common = replace(model.common, clock=clock, question=LONG_QUESTION)
    painted = paint_pair(replace(model, common=common), 80, 24)
    text = "\n".join(lines(painted))
    assert "Where is the discomfort?" in text
    for one in model.people:
        assert one.next_name
        assert f"next {one.next_name}" in text
        assert find(halves(painted), one.board.name)
    assert "done 18:0" in text


@pytest.mark.parametrize("size", SIZES[2:])
def test_each_of_two_drills_has_its_key_point_over_it(size):
    points = ("Throw to eye height, let it come down.", "Heel to toe.")
    both = tuple(
        Beside(drill_band(name, point), person)
        for person, (name, point) in enumerate(
            zip(("One-ball arc", "Heel-toe stand"), points, strict=True)
        )
    )
    model = replace(pair_shown(*SCENES["recover"]), beside=both)
    painted = paint_pair(model, *size)
    shown_lines = lines(painted)
    for one, point in zip(both, points, strict=True):
        drawn = find(halves(painted), one.band.letters)
        (row,) = [at for at, line in enumerate(shown_lines) if point in line]
        assert row == drawn.y // 2 - 1


def test_drills_stand_under_each_other_where_there_is_room_else_in_turn():
    """A turn is four seconds; the calls of two stations come before."""
    model = pair_shown(*SCENES["recover"])
    assert [one.band.letters for one in model.beside] == ["ONE-BALL ARC"]
    both = (*model.beside, Beside(drill_band("Tap with one hand"), 1))
    model = replace(model, beside=both)
    large = halves(paint_pair(model, 120, 40))
    assert all(find(large, one.band.letters) for one in model.beside)
    for turn in (0, 1):
        small = halves(paint_pair(replace(model, turn=turn), 80, 24))
        shown = [find(small, one.band.letters) is not None for one in model.beside]
        assert shown == [turn == 0, turn == 1]


SITES = (
    *("lower back", "shoulder", "wrist and hand", "knee", "neck", "elbow", "shin"),
    *("upper back", "ribs", "buttock", "hip", "groin", "front of the thigh", "head"),
    *("hamstring", "calf", "Achilles tendon", "ankle", "foot", "chest", "belly"),
    "elsewhere",
)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("name", ["recover", "break", "left"])
def test_a_long_question_is_seen_whole_beside_the_clock(name, size):
    """Twenty-two places; beside a clock of minutes too, where there is least room."""
    listed = [f"{chr(97 + at)} {site}" for at, site in enumerate(SITES)]
    question = "  ".join(["Where is the discomfort?", *listed])
    model = pair_shown(*SCENES[name])
    model = replace(model, common=replace(model.common, question=question))
    painted = paint_pair(model, *size)
    text = "\n".join(lines(painted))
    assert all(one in text for one in (*listed, "Where is the discomfort?"))
    for one in model.people:
        assert find(halves(painted), one.board.name)


def test_names_that_begin_alike_are_told_apart_by_number():
    assert initials(("You", "Robin")) == ("Y", "R")
    assert initials(("Robin", "Rory")) == ("1", "2")
    assert initials(("You", "俯")) == ("1", "2")


@pytest.fixture
def floor(tmp_path):
    """The Floor of a sample for two, and how to stand at a time."""
    services = make_services(tmp_path, samples=True)
    (tmp_path / "athletes.toml").write_text(
        'format = 1\n[[athlete]]\nid = "a2"\nname = "Robin"\n', encoding="utf-8"
    )
    first, second = paired_plans(
        read_circuit(samples_folder() / "goods-shed.toml"), 3, ({}, {})
    )
    options = Options(count_in_ms=3_000, watch_gaps=False)
    company = Company((("a2", second),), 3)
    running = services.sessions.start(first, options=options, company=company)
    running.session.begin()
    screen = FloorScreen(services, running, begin=False)
    app = RoomsApp(services, screen)
    app.polls = False
    yield services, running, screen, app
    running.release()


async def test_a_key_says_who_answers_and_each_effort_is_ones_own(floor):
    services, running, screen, app = floor
    end = next(
        s for s in running.session.engine.plan.segments if s.kind == "loop_break"
    )
    run_until(services, running, end.start_ms + 5_000)
    async with app.run_test(size=(80, 24)):
        screen.press("7")
        screen.press("a")
        assert screen.model().common.notice == "entering for Robin"
        screen.press("8")
        screen.press("comma")
        assert screen.model().common.notice == "Robin: effort for loop 1: 8.5"
        efforts = [running.session.view(a).effort for a in ("a1", "a2")]
        assert efforts == [Effort(14), Effort(17)]
        screen.press("a")
        screen.press("backspace")
        efforts = [running.session.view(a).effort for a in ("a1", "a2")]
        assert efforts == [None, Effort(17)]


async def test_stations_stay_and_what_is_noted_is_of_whoever_answers(floor):
    services, running, screen, app = floor
    run_until(services, running, 432_000)
    async with app.run_test(size=(80, 24)):
        screen.press("w")
        assert "two people" in screen.model().common.notice
        screen.press("a")
        screen.press("e")
        taken = running.session.engine.entries[-1]
        assert taken.entry == EnterVariant("easier", "a2")
        assert not running.session.engine.track.swaps
        assert taken.station == 4
        assert isinstance(screen.model(), PairModel)


async def test_the_close_out_asks_both(floor):
    services, running, _screen, _app = floor
    run_until(services, running, 10**9)
    room = CloseOutRoom(running, poll_s=None)
    app = RoomsApp(services, room)
    async with app.run_test(size=(80, 24)) as pilot:
        assert "You: how hard was the session?" in room.standing_text()
        await pilot.press("6")
        room.press("a")
        assert "Robin: how hard was the session?" in room.standing_text()
        await pilot.press("9")
        own = running.session.engine.for_athlete().entries
        other = running.session.engine.for_athlete("a2").entries
        assert [taken.entry.effort for taken in own] == [Effort(12)]
        assert [taken.entry.effort for taken in other] == [Effort(18)]


async def test_the_sheet_asks_who_trains_along_and_starts_for_both(tmp_path):
    services = make_services(tmp_path, samples=True)
    sheet = SheetRoom(read_circuit(samples_folder() / "goods-shed.toml"))
    app = RoomsApp(services, sheet)
    async with app.run_test(size=(80, 24)) as pilot:
        sheet.press("p")
        await pilot.pause()
        assert sheet.is_asking
        await pilot.press("question_mark", "backspace", *"Robin", "enter")
        assert app.screen is sheet, "a question mark is a letter now"
        assert sheet.title_text()[2] == "with Robin, offset 3"
        services.standing.now_ms += 1_000
        await pilot.press("p")
        await pilot.pause()
        assert sheet.query_one(Input).value == "Robin"
        await pilot.press("escape")
        assert sheet.title_text()[2] == "with Robin, offset 3"
        assert not (tmp_path / "athletes.toml").exists(), "only a start keeps a name"
        sheet.start()
    (_, plan, company) = app.asked[-1]
    assert company.offset == 3
    assert plan.segments[7].station == 1
    assert company.others[0][1].segments[7].station == 4
    assert "Robin" in (tmp_path / "athletes.toml").read_text(encoding="utf-8")


async def test_the_sheet_says_why_two_cannot_and_stays_with_one(tmp_path):
    services = make_services(tmp_path, samples=True)
    sheet = SheetRoom(read_circuit(samples_folder() / "points-and-crossings.toml"))
    app = RoomsApp(services, sheet)
    async with app.run_test(size=(80, 24)) as pilot:
        sheet.press("p")
        await pilot.pause()
        await pilot.press(*"Robin", "enter")
        assert sheet.is_asking, "the answer stays to be mended"
        await pilot.press("escape")
        assert "Robin" not in sheet.title_text()[2]
        sheet.start()
    assert len(app.asked[-1]) == 2
