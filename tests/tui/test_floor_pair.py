"""The Floor for two, as lines of text at three sizes, and its keys.

Each golden screen was looked at before it was kept.
"""

from __future__ import annotations

import pytest
from tests.support.golden import same_as_golden
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
from whistlestop.tui.floor.paint_pair import paint_pair
from whistlestop.tui.floor.pair import PairModel
from whistlestop.tui.floor.screen import FloorScreen
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
    "break-rated": (
        BREAK_MS + 20_000,
        ((BREAK_MS + 15_000, EnterEffort(1, Effort(13), "a2")),),
    ),
    "paused": (100_000, ((90_000, Do.PAUSE),)),
}
SIZES = ((80, 24), (120, 40), (200, 60))


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
    text = "\n".join(lines(paint_pair(pair_shown(*SCENES["left"]), *size)))
    assert "█" in text
    assert "YOU" in text
    assert "ROBIN" in text
    assert "LEFT" in text
    assert "next  YOU  3 Side plank" in text
    assert "next  ROBIN  1 Goblet squat" in text


@pytest.mark.parametrize("size", SIZES)
def test_the_clock_has_seven_rows_and_both_names_letters(size):
    """7 rows are 36 arcmin at 4 m: worked out beside the clock of one athlete."""
    model = pair_shown(*SCENES["left"])
    painted = lines(paint_pair(model, *size))
    first = next(i for i, line in enumerate(painted) if "[LEFT]" in line)
    second = next(i for i, line in enumerate(painted) if "ROBIN  4 Dead bug" in line)
    rows = 3 if size == (80, 24) else 5
    filled = [any(c in line for c in "█▀▄") for line in (row[4:-4] for row in painted)]
    assert all(filled[first + 1 : first + 1 + rows])
    assert all(filled[second + 1 : second + 1 + rows])
    between = painted[first + 1 + rows : second]
    middle = [row[size[0] // 3 : 2 * size[0] // 3] for row in between]
    assert sum(any(c in row for c in "█▀▄") for row in middle) >= 7


def test_what_is_ones_own_is_told_apart():
    model = pair_shown(*SCENES["left"], answering=1)
    you, robin = model.people
    assert (you.letters, you.side) == ("ONE-ARM ROW", "LEFT")
    assert (robin.letters, robin.side) == ("DEAD BUG", "")
    assert "12 kg" in you.facts
    assert robin.next_facts.startswith("1 Goblet squat · 8 kg"), "an own load"
    assert (you.answers, robin.answers) == (False, True)
    assert model.ask == "a: enter for You"
    assert model.common.place == "loop 1 of 2 · stations 2 and 4 of 4"
    rated = pair_shown(*SCENES["break-rated"])
    assert [one.effort.effort for one in rated.people] == [None, Effort(13)]


def test_the_cautions_of_both_are_shown_whole_one_after_the_other():
    """Loop 1, station 1 in two parts of 20 s from 70 s on."""
    both = ("Mind the knee.", "Brace first.")
    assert pair_shown(75_000, cautions=both).common.caution == "You: Mind the knee."
    assert pair_shown(85_000, cautions=both).common.caution == "Robin: Brace first."
    one = ("", "Brace first.")
    assert pair_shown(75_000, cautions=one).common.caution == "Robin: Brace first."
    assert pair_shown(75_000, cautions=("", "")).common.caution == ""


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
        efforts = [one.effort.effort for one in screen.model().people]
        assert efforts == [Effort(14), Effort(17)]
        screen.press("a")
        screen.press("backspace")
        efforts = [one.effort.effort for one in screen.model().people]
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
        assert running.session.engine_for("a2").entries[-1].station == 4
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
        own = running.session.engine_for().entries
        other = running.session.engine_for("a2").entries
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
        sheet._start()
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
        sheet._start()
    assert len(app.asked[-1]) == 2
