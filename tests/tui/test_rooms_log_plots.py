"""The plots room: a cursor with its value in words, every size, 16 colours and none."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.color import ColorSystem
from rich.segment import Segment
from tests.pages.season import LAST as SEASON_END
from tests.pages.season import season
from tests.support.picture import screen_strips
from tests.support.plans import FEW
from tests.support.rooms_app import SIZES, RoomsApp, press, settle, texts, whole
from tests.support.services import ServicesForTests, make_services

from whistlestop.domain.text import first_hostile
from whistlestop.errors import StoreError
from whistlestop.review.chart_text import BLOCKS, Chart, ChartRun, Role, Spot
from whistlestop.review.charts import year_chart
from whistlestop.review.items import Filter
from whistlestop.store.diary.file import append_step, diary_path
from whistlestop.tui.rooms.log.changes import ChangesRoom
from whistlestop.tui.rooms.log.plots import (
    BALANCE,
    EFFORTS,
    NAMES,
    STATION,
    WEEKS,
    YEAR,
    PlotsRoom,
    months_on,
)
from whistlestop.tui.rooms.log.plots_lines import TONES, chart_rows, window
from whistlestop.tui.rooms.log.plots_reading import read_days, read_sessions
from whistlestop.tui.theme import THEME_NAMES, palette
from whistlestop.tui.widgets.safe_text import plain

SIZE = (80, 24)


@pytest.fixture(scope="module")
def services(tmp_path_factory: pytest.TempPathFactory) -> ServicesForTests:
    return season(tmp_path_factory.mktemp("season"))


async def shown(
    services: ServicesForTests, room: PlotsRoom, *keys: str, size=SIZE
) -> str:
    app = RoomsApp(services, room)
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        await press(pilot, *keys)
        await settle(pilot)
        return whole(app)


async def test_the_newest_week_is_told_first_and_the_arrows_go_back(services):
    newest = await shown(services, PlotsRoom())
    week = read_days(services).weeks[-1]
    assert "Week of 6 Apr 2026: at least" in newest
    assert f"{week.entered.value:.0f} AU" in newest
    assert "Week of 30 Mar 2026" in await shown(services, PlotsRoom(), "left")
    assert "Week of 5 Jan 2026" in await shown(services, PlotsRoom(), "home")
    assert "Week of 5 Jan 2026" in await shown(services, PlotsRoom(), *["left"] * 40)
    back = await shown(services, PlotsRoom(), "home", "right")
    assert "Week of 12 Jan 2026: 1184 AU" in back
    [labels] = [line for line in back.splitlines() if "week of" in line]
    assert "5 Jan" in labels  # the window moved along


async def test_what_the_words_say_is_what_the_record_holds(services):
    sessions = read_sessions(services)
    last = sessions.efforts[-1]
    sentences = await shown(services, PlotsRoom(EFFORTS))
    for loop in last.loops:
        assert f"loop {loop.loop} at {loop.effort:g}" in sentences
    seconds = sum(b.done_ms for b in sessions.stations[0] if b.day == date(2026, 4, 10))
    sentences = await shown(services, PlotsRoom(STATION))
    assert f"10 Apr 2026: 16 kg; {seconds / 1000:g} s in 2 loops" in sentences


async def test_digits_and_tab_choose_the_chart(services):
    app = RoomsApp(services, PlotsRoom())
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        for digit, name in enumerate(NAMES, 1):
            await press(pilot, str(digit))
            assert f"━━ {name} ━━" in texts(app)[0]
            assert f"{digit} of 5" in texts(app)[0]
        await press(pilot, "tab")
        assert "1 of 5" in texts(app)[0]
        await press(pilot, "shift+tab")
        assert "5 of 5" in texts(app)[0]
        await press(pilot, "escape")
    assert app.results == [None]


async def test_another_station_begins_at_its_newest_session(services):
    first = await shown(services, PlotsRoom(STATION), *["left"] * 3)
    other = await shown(services, PlotsRoom(STATION), *["left"] * 3, "down")
    assert "Goblet squat: load and work" in first
    assert "31 Mar 2026: 16 kg" in first
    assert "One-arm row on a bench: load and work" in other
    assert "10 Apr 2026: 10 kg" in other


async def test_a_year_is_walked_by_day_and_month(services):
    sentences = await shown(
        services, PlotsRoom(YEAR), "up", "up", "right", "right", "right"
    )
    assert "15 Feb 2026: other cycling" in sentences
    sentences = await shown(services, PlotsRoom(YEAR), "home")
    assert "1 Jan 2026: blank, not known" in sentences
    sentences = await shown(services, PlotsRoom(YEAR), *["down"] * 20)
    assert "31 Dec 2026: not yet" in sentences
    # No year without an entry is walked to.
    sentences = await shown(services, PlotsRoom(YEAR), *["pageup"] * 3)
    assert "2026, day by day" in sentences


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("chart", range(len(NAMES)), ids=NAMES)
async def test_every_chart_fills_every_size_and_says_its_value(services, chart, size):
    app = RoomsApp(services, PlotsRoom(chart))
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        lines = texts(app)
        assert len(lines) == size[1]
        assert all(cell_len(line) == size[0] for line in lines)
        room = app.screen
        assert isinstance(room, PlotsRoom)
        assert room.standing_text()[:60] in whole(app).replace("\n  ", " ")
        # The last row of a chart is its legend: nothing is out of sight.
        legend = room._window.chart.lines[-1]
        assert legend.strip() in whole(app)
        for words in ("1-5 charts", "Esc back"):
            assert words in lines[-1]


@pytest.mark.parametrize("theme", THEME_NAMES)
@pytest.mark.parametrize("chart", range(len(NAMES)), ids=NAMES)
async def test_in_16_colours_nothing_vanishes_and_the_cursor_stands_out(
    services, chart, theme
):
    app = RoomsApp(services, PlotsRoom(chart), theme)
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        strips = screen_strips(app)
        page = strips[3:-2]
    standard = [
        (segment.text, *(_in_16(color) for color in _colors(segment)))
        for strip in page
        for segment in strip
        if segment.text.strip()
    ]
    assert all(fore != back for _, fore, back in standard)
    paper = _in_16(_hex(palette(theme).background))
    ink = _in_16(_hex(palette(theme).text.fg))
    cursor = [text for text, fore, back in standard if (fore, back) == (paper, ink)]
    assert len([text for text in cursor if text.strip("█│ ")]) == 1


def _colors(segment: Segment):
    style = segment.style
    assert style is not None
    return style.color, style.bgcolor


def _in_16(color) -> int:
    number = color.downgrade(ColorSystem.STANDARD).number
    assert number is not None
    return number


def _hex(value: str):
    from rich.color import Color

    return Color.parse(value)


async def test_without_colour_and_in_ascii_the_shapes_and_words_stay(tmp_path):
    from dataclasses import replace

    made = season(tmp_path, weeks=6)
    screen = replace(made.settings.screen, ascii=True)
    made.settings = replace(made.settings, screen=screen)
    for chart in range(len(NAMES)):
        text = await shown(made, PlotsRoom(chart))
        assert text.isascii()
    year = await shown(made, PlotsRoom(YEAR))
    assert "C circuit   O other   B circuit and other" in year


async def test_an_empty_log_says_so_in_every_chart(tmp_path):
    empty = make_services(tmp_path)
    for chart in (WEEKS, EFFORTS, STATION, BALANCE):
        sentences = await shown(empty, PlotsRoom(chart), "left", "up", "end", "home")
        assert "Nothing to show yet." in sentences
    assert "2026, day by day" in await shown(empty, PlotsRoom(YEAR), "left", "up")


async def test_a_log_that_cannot_be_read_is_said(tmp_path):
    broken = make_services(tmp_path)

    def fail(**_options):
        raise StoreError("the log folder cannot be read")

    broken.log.sessions = fail
    app = RoomsApp(broken, PlotsRoom())
    async with app.run_test(size=SIZE) as pilot:
        for _ in range(40):
            await pilot.pause(0.05)
            if "cannot be read" in whole(app):
                break
        assert "The log could not be read: the log folder cannot be read" in whole(app)
        await press(pilot, "1", "2", "left", "escape")
    assert app.results == [None]


async def test_a_screen_far_too_small_breaks_nothing(services):
    for size in ((40, 12), (10, 3), (1, 1)):
        for chart in range(len(NAMES)):
            app = RoomsApp(services, PlotsRoom(chart))
            async with app.run_test(size=size) as pilot:
                await settle(pilot)
                await press(pilot, "left", "up", "end")
                assert len(texts(app)) == size[1]


async def test_names_that_mean_harm_are_shown_and_do_none(tmp_path):
    made = make_services(tmp_path)
    name = "\x1b[2J[@click=app.quit]x[/] \u202e日本"
    line = {"k": "training", "id": "d1", "day": "2026-03-12", "sport": name}
    wall = made.clock.wall().isoformat()
    append_step(
        diary_path(made.places.log),
        [{**line, "length_ms": 3_600_000, "effort": 3}],
        wall=wall,
    )
    app = RoomsApp(made, PlotsRoom(YEAR))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        assert all(first_hostile(text) is None for text in texts(app))
        assert "[@click=app.quit]x[/]" in whole(app)


async def test_older_sessions_than_are_read_are_counted(services, monkeypatch):
    monkeypatch.setattr("whistlestop.tui.rooms.log.plots.read_sessions", _only_five)
    sentences = await shown(services, PlotsRoom(BALANCE))
    assert "the newest 5 sessions; 21 are older" in sentences


def _only_five(services, wanted):
    return read_sessions(services, wanted, 5)


async def test_a_session_that_cannot_be_read_is_counted_and_the_rest_stays(tmp_path):
    made = season(tmp_path, weeks=3)
    line = made.log.sessions()[2]
    line.path.write_bytes(b'{"k":"start"}\n')
    found = read_sessions(made)
    assert (len(found.efforts), found.unread) == (5, 1)
    assert "1 that cannot be read are left out" in await shown(made, PlotsRoom(BALANCE))


def test_every_role_has_a_tone_and_the_rows_stay_the_text_of_the_chart(services):
    assert set(TONES) == set(Role)
    days = read_days(services)
    chart = year_chart(days.book, 2026, days.today, 76, BLOCKS)
    for at in (0, 100, 364):
        rows = chart_rows(chart, at)
        assert [plain(one) for one in rows] == [
            f"  {line}".rstrip() for line in chart.lines
        ]
        [cursor] = [span for one in rows for span in one if span.tone == "board"]
        spot = chart.row_ranges[at]
        assert cursor.text == f"{chart.lines[spot.row]:<80}"[spot.column :][:1]


def test_the_cursor_stands_out_past_the_end_of_a_short_row():
    chart = Chart(((ChartRun("ab", Role.TEXT),),), ("one",), (Spot(0, 4, 3),))
    [spans] = chart_rows(chart, 0)
    assert "".join(span.text for span in spans) == "  ab     "
    assert spans[-1] == ("   ", "board")


def test_a_wide_character_is_set_out_whole():
    chart = Chart(((ChartRun("x日本y", Role.TEXT),),), ("one",), (Spot(0, 1, 2),))
    [spans] = chart_rows(chart, 0)
    assert [span.text for span in spans if span.tone == "board"] == ["日"]


@FEW
@given(
    st.integers(0, 60),
    st.integers(1, 20),
    st.lists(st.integers(-5, 70), min_size=1, max_size=8),
)
def test_a_window_always_holds_the_cursor_and_moves_no_more_than_it_must(
    count, room, cursors
):
    def make(end: int) -> Chart:
        held = min(end, room)
        return Chart((), tuple(map(str, range(end - held, end))), ())

    end = count
    for cursor in cursors:
        found = window(make, count, cursor, end)
        if not count:
            assert found.chart.sentences == ()
            continue
        inside = max(0, min(cursor, count - 1))
        assert found.chart.sentences[found.at] == str(inside)
        assert 0 <= found.first <= inside < found.end <= count
        assert found.first + len(found.chart.sentences) == found.end
        if end - min(end, room) <= inside < end:
            assert found.end == end
        end = found.end


def test_months_on_stays_within_the_month():
    assert months_on(date(2028, 1, 31), 1) == date(2028, 2, 29)
    assert months_on(date(2026, 3, 31), -1) == date(2026, 2, 28)
    assert months_on(date(2026, 1, 15), -1) == date(2025, 12, 15)
    assert months_on(date(2026, 12, 15), 12) == date(2027, 12, 15)


async def test_the_filter_of_the_log_reaches_its_plots(services):
    """Efforts and stations are of what is filtered; a week is of everything done."""
    none = await shown(services, PlotsRoom(BALANCE, Filter(circuit="no such")))
    assert "filter: no such" in none
    assert "%" not in none
    some = await shown(services, PlotsRoom(BALANCE, Filter(circuit="rainy")))
    assert "filter: rainy" in some
    assert "%" in some
    assert "of everything: no filter" in await shown(
        services, PlotsRoom(0, Filter(circuit="rainy"))
    )


async def test_what_changed_is_said_in_sentences_and_tab_goes_on_to_the_plots(services):
    app = RoomsApp(services, ChangesRoom(Filter(station="row", until=SEASON_END)))
    async with app.run_test(size=SIZE) as pilot:
        await settle(pilot)
        shown_now = whole(app)
        assert "filter: station row to 2026-04-12" in shown_now
        assert "Goblet squat: 12 to 16 kg since 3 Feb" in shown_now
        assert "target effort (7 or below)" in shown_now
        await press(pilot, "tab")
        assert isinstance(app.screen, PlotsRoom)
        assert app.screen.wanted.station == "row"
