"""Safe text, key line, title line, page arithmetic, guard: the parts of every room."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from whistlestop.domain.text import first_hostile
from whistlestop.tui.rooms.frame.debounce import ARRIVAL_MS, REPEAT_MS, Debounce
from whistlestop.tui.widgets.key_line import KeyEntry, key_row
from whistlestop.tui.widgets.page import RowsOnDemand, thumb, top_line
from whistlestop.tui.widgets.safe_text import (
    Column,
    TextSpan,
    beside,
    cut,
    fit,
    fit_row,
    in_ascii,
    plain,
    row,
    spread,
    width_of,
    wrapped,
)
from whistlestop.tui.widgets.title_line import heading, rail, title_row

ANY_TEXT = st.text(max_size=60)


@given(ANY_TEXT, st.integers(0, 40), st.booleans())
def test_fitted_text_is_exactly_as_wide_as_asked_and_harmless(text, cells, right):
    fitted = fit(text, cells, right=right)
    assert cell_len(fitted) == cells
    assert first_hostile(fitted) is None


@given(ANY_TEXT, st.integers(2, 30))
def test_wrapped_lines_never_pass_the_edge_and_lose_no_letter(text, cells):
    lines = wrapped(text, cells)
    assert all(cell_len(line) <= cells for line in lines)
    assert all(first_hostile(line) is None for line in lines)
    if text.isascii() and text.isprintable():
        assert "".join("".join(lines).split()) == "".join(text.split())


@given(st.lists(ANY_TEXT, max_size=5), st.integers(0, 50))
def test_a_fitted_row_fills_its_cells_whatever_it_holds(parts, cells):
    fitted = fit_row(row(*parts), cells)
    assert width_of(fitted) == cells
    assert all(first_hostile(span.text) is None for span in fitted)


@pytest.mark.parametrize(
    ("text", "cells", "expected"),
    [
        ("Goblet squat", 20, "Goblet squat"),
        ("Goblet squat", 8, "Goblet…"),
        ("日本の体操", 6, "日本…"),
        ("[/] [bold]x", 20, "[/] [bold]x"),
        ("a\x1b[31mb", 20, "a\\x1b[31mb"),
        ("right\u202eleft", 20, "right\\u202eleft"),
        ("anything", 0, ""),
    ],
)
def test_cut_text_is_shown_as_it_is_or_made_harmless(text, cells, expected):
    assert cut(text, cells) == expected


def test_rows_beside_each_other_keep_their_columns():
    left = [row("one"), row("two")]
    right = [row("a"), row("b"), row("c")]
    lines = [plain(line) for line in beside([Column(left, 5), Column(right, 3)], 2)]
    assert lines == ["one    a", "two    b", "       c"]


def test_spread_rows_let_the_left_one_give_way():
    assert plain(spread(row("name"), row("12:00"), 12)) == "name   12:00"
    assert plain(spread(row("a very long name"), row("12:00"), 12)) == "a very 12:00"


def test_ascii_folding_keeps_every_width():
    spans = row("━━ ●─◐ × 7½ … 日本 é ▌")
    folded = in_ascii(spans)
    assert plain(folded).isascii()
    assert width_of(folded) == width_of(spans)


ENTRIES = (
    KeyEntry("Space", "start"),
    KeyEntry("Esc", "back"),
    KeyEntry("x", "discomfort", 3),
    KeyEntry("n", "note", 1),
)


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        (80, "  Space start   Esc back   x discomfort   n note"),
        (40, "  Space start   Esc back   n note"),
        (30, "  Space start   Esc back"),
        (10, "  Space start   Esc back"),
    ],
)
def test_the_key_line_drops_what_is_needed_least_and_never_the_start(cells, expected):
    assert plain(key_row(ENTRIES, cells)) == expected


@given(st.text(max_size=90), st.text(max_size=20), st.integers(40, 200))
def test_the_title_line_is_as_wide_as_the_screen(subject, state, cells):
    assert width_of(title_row("Circuits", subject, state, cells)) == cells


def test_the_title_line_names_room_subject_and_state():
    text = plain(title_row("Close-out", "Goods shed", "saved", 60))
    assert text.startswith("━━ Close-out ━━ Goods shed ━")
    assert text.endswith("━ saved ━━")
    assert plain(heading("Notes")) == "━━ Notes"


@pytest.mark.parametrize(
    ("permille", "heavy"), [(-5, 0), (0, 0), (499, 4), (500, 5), (1000, 10), (2000, 10)]
)
def test_a_rail_is_heavy_as_far_as_the_share_goes(permille, heavy):
    assert plain(rail(10, permille)) == "━" * heavy + "─" * (10 - heavy)


@given(
    st.integers(0, 500),
    st.integers(0, 500),
    st.integers(1, 60),
    st.integers(0, 499),
)
def test_the_line_in_focus_is_always_in_view(top, count, height, focus):
    focus = min(focus, max(0, count - 1))
    first = top_line(top, count, height, (focus, focus))
    assert 0 <= first <= max(0, count - height)
    if count:
        assert first <= focus < first + height


@given(st.integers(1, 500), st.integers(1, 60), st.integers(0, 500))
def test_the_thumb_stays_on_its_rail(count, height, top):
    first = top_line(top, count, height, None)
    lines = thumb(first, count, height)
    assert (len(lines) == 0) == (count <= height)
    if len(lines):
        assert lines.start >= 0
        assert lines.stop <= height
        assert (lines.start == 0) or first > 0


def test_rows_on_demand_are_made_when_looked_at_and_not_before():
    made: list[int] = []

    def make(index: int) -> tuple[TextSpan, ...]:
        made.append(index)
        return row(str(index))

    rows = RowsOnDemand(100_000, make)
    assert len(rows) == 100_000
    assert plain(rows[70_000]) == "70000"
    assert made == [70_000]
    with pytest.raises(IndexError):
        rows[100_000]


def test_a_held_key_acts_once_until_it_has_rested():
    guard = Debounce(0)
    acted = [guard.lets("enter", 1_000 + 33 * n) for n in range(30)]
    assert acted == [True] + [False] * 29
    last = 1_000 + 33 * 29
    assert not guard.lets("enter", last + REPEAT_MS - 1)
    assert guard.lets("enter", last + 2 * REPEAT_MS)


def test_a_key_held_from_the_room_before_does_not_act_on_arrival():
    guard = Debounce(10_000)
    assert not guard.lets("enter", 10_000 + ARRIVAL_MS - 1, on_arrival=False)
    assert guard.lets("space", 10_000 + ARRIVAL_MS, on_arrival=False)
    assert Debounce(10_000).lets("d", 10_001)
