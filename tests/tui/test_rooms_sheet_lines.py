"""What the station sheet says, as text: kit, cautions, today's changes, the table."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from rich.cells import cell_len
from tests.support.services import SHED, make_services

from whistlestop.domain.circuit.circuit import (
    Circuit,
    Drill,
    LoopChange,
    Station,
    StationInLoop,
)
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.errors import RefusedError
from whistlestop.library import exercises
from whistlestop.library.cautions import CAUTIONS
from whistlestop.library.whole import library_means
from whistlestop.prints.sheet_facts import applied, gather
from whistlestop.tui.rooms.sheet.caution_lines import caution_rows
from whistlestop.tui.rooms.sheet.floor_lines import floor_rows
from whistlestop.tui.rooms.sheet.kit_lines import kit_rows
from whistlestop.tui.rooms.sheet.lines import facts_of, sheet
from whistlestop.tui.rooms.sheet.station_lines import station_rows
from whistlestop.tui.rooms.sheet.today import Draft
from whistlestop.tui.widgets.safe_text import Row, plain, width_of


def said(rows: list[Row] | tuple[Row, ...]) -> list[str]:
    return [plain(one) for one in rows]


@pytest.fixture
def shed(tmp_path: Path) -> Circuit:
    return make_services(tmp_path, {"rainy-shed": SHED}).circuits.read("rainy-shed")


def station(name: str, **changes) -> Station:
    return replace(Station(name.lower(), name, name.upper()), **changes)


# Kit and cautions


def test_kit_is_laid_out_once_in_floor_order_with_its_loads():
    circuit = Circuit(
        "x",
        "X",
        (
            station("Press", kit=("weight", "mat"), load=parse_load("8 kg")),
            station("Row", kit=("two weights",), load=parse_load("2 x 8 kg")),
            station("Swing", kit=("weight",), load=parse_load("8 kg")),
            station("Pull", kit=("band", "wall"), load=parse_load("band: green")),
            station("Carry", load=parse_load("10 kg")),
        ),
        loops=2,
        loop_changes={
            2: LoopChange(stations={3: StationInLoop(load=parse_load("9 kg"))})
        },
    )
    told = said(kit_rows(facts_of(Draft.of(circuit)), 60))
    assert [" ".join(line.split()) for line in told] == [
        "━━ Lay out 5 things, in floor order",
        "mat at 1",
        "2 x weight 8 kg each at 1 to 3",
        "weight 9 kg at 3",
        "band green at 4",
        "weight 10 kg at 5",
        "Keep clear: wall",
    ]


def test_a_drill_brings_its_kit_and_an_own_drill_brings_none():
    circuit = Circuit(
        "x",
        "X",
        (
            station("A", drill=Drill("one-ball-arc", "One-ball arc")),
            station("B", drill=Drill("my-own", "Mine")),
        ),
    )
    told = said(kit_rows(facts_of(Draft.of(circuit)), 60))
    assert [" ".join(line.split()) for line in told] == [
        "━━ Lay out 1 thing, in floor order",
        "small ball drill after 1",
    ]


def test_only_the_cautions_of_these_stations_are_shown_and_all_of_them():
    circuit = Circuit(
        "x",
        "X",
        (
            station("A", cautions=("Kn", "Bk")),
            station("B"),
            station("C", cautions=("Kn",)),
        ),
    )
    plan = compile_plan(circuit)
    assert [(one.caution.code, one.stations) for one in applied(plan)] == [
        ("Kn", (1, 3)),
        ("Bk", (1,)),
    ]
    facts = gather(circuit, plan, library_means())
    told = " ".join(said(caution_rows(facts, 60)))
    assert CAUTIONS["Kn"].sheet in told
    assert CAUTIONS["Bk"].sheet in told
    assert CAUTIONS["Gr"].title not in told


def test_a_drill_with_closed_eyes_brings_its_caution():
    circuit = Circuit("x", "X", (station("A", drill=Drill("one-leg-stand", "Stand")),))
    found = applied(compile_plan(circuit))
    assert [(one.caution.code, one.drills) for one in found] == [
        ("Bal", (1,)),
        ("EC", (1,)),
    ]


# Today's changes


def test_today_changes_loops_work_and_recover_and_comes_back_to_as_written(shed):
    draft = Draft.of(shed)
    assert draft.plan.total_ms == 390_000
    shorter = draft.with_steps("loops", -1)
    assert shorter.plan.total_ms == 170_000
    longer = draft.with_steps("work", 1)
    assert longer.plan.work_ms == 6 * 45_000
    assert draft.with_steps("recover", -1).plan.total_ms == 390_000 - 4 * 5_000
    assert longer.with_steps("work", -1).today.is_empty
    assert shorter.with_steps("loops", 1).today.is_empty
    assert shorter.as_written().plan == draft.plan


def test_a_station_is_left_out_and_taken_in_again(shed):
    without = Draft.of(shed).toggled(2)
    assert [card.number for card in without.plan.stations] == [1, 3]
    assert without.toggled(2).today.is_empty


def test_what_cannot_be_laid_out_is_refused_in_a_sentence(shed):
    one = Draft.of(shed).toggled(1).toggled(2)
    with pytest.raises(
        RefusedError, match=r"^Not possible: loop 1 has no station left\.$"
    ):
        one.toggled(3)
    with pytest.raises(RefusedError, match="Loops: 1 to 20"):
        Draft.of(replace(shed, loops=1)).with_steps("loops", -1)
    short = Draft.of(replace(shed, work_ms=10_000))
    with pytest.raises(RefusedError, match=r"station 2, loop 1: a part lasts 2\.5 s"):
        short.with_steps("work", -1)
    with pytest.raises(RefusedError, match="Recover: 0 s to 30 min"):
        Draft.of(replace(shed, recover_ms=0)).with_steps("recover", -1)


# Sheet


def test_the_sheet_says_station_sides_load_tempo_seconds_and_drill(shed):
    heads, first, second, third = said(station_rows(Draft.of(shed), 2, 78))
    assert heads.split() == ["station", "sides", "load", "tempo", "seconds", "drill"]
    assert first.startswith("   1 Goblet squat ")
    assert "12 kg" in first
    assert "40 / 20" in first
    assert first.endswith("One-ball arc")
    assert second.startswith("▌  2 Side plank")
    assert "left, right" in second
    assert "2 x 6 kg" in third
    # The break takes the place of the last recovery.
    assert "40 /  –" in third


def test_the_sheet_counts_what_stands_below_and_says_a_station_in_full(shed):
    draft = Draft.of(shed)
    layout = sheet(draft, 0, 78)
    assert said(layout.head) == ["  6:30 in all   work 4:00   3 stations × 2", ""]
    rows = said(layout.rows)
    assert rows[0].split() == ["▌", "loops", "2", "←", "→"]
    known = [exercises()[name] for name in ("goblet-squat", "side-plank", "step-up")]
    care = {code for one in known for code in one.cautions}
    # Weight, small ball, mat, box, two weights.
    assert f"     5 things to lay out, {len(care)} cautions" in rows
    full = said(sheet(draft, 5, 78).rows)
    assert "     Goblet squat · then One-ball arc" in full
    # The recovery after the last station never comes, and so neither does its drill.
    last = said(sheet(draft, 7, 78).rows)
    assert "     Step-up · left then right" in last


def test_a_left_out_station_says_so_and_leaves_kit_and_cautions(shed):
    told = "\n".join(said(sheet(Draft.of(shed).toggled(1), 0, 78).rows))
    assert "Goblet squat" in told
    assert "left out today" in told
    assert "12 kg" not in told


@pytest.mark.parametrize("cells", [78, 110, 118, 166, 198])
@pytest.mark.parametrize("chosen", [0, 2, 4, 5, 7])
def test_the_chosen_line_is_where_the_sheet_says_it_is(shed, cells, chosen):
    layout = sheet(Draft.of(shed), chosen, cells)
    line = layout.row_ranges[chosen][0]
    assert plain(layout.rows[line]).startswith("▌")
    assert sum(plain(one).startswith("▌") for one in layout.rows) == 1
    assert all(width_of(one) <= cells for one in layout.rows)


def test_wide_sheets_show_cautions_and_kit_without_scrolling(shed):
    top = "\n".join(said(sheet(Draft.of(shed), 0, 198).rows[:40]))
    assert "Lay out" in top
    assert "Take care" in top
    assert "Keep the door open." in top


def test_the_floor_has_every_station_but_the_dropped_ones():
    text = " ".join(said(floor_rows(10, frozenset({3}), 38, 13)))
    assert [n for n in range(1, 11) if str(n) in text.split()] == [
        1, 2, 4, 5, 6, 7, 8, 9, 10,
    ]  # fmt: skip
    assert floor_rows(30, frozenset(), 4, 2) == []


def test_wide_and_accented_names_move_no_column():
    """Measured by rich, whose tables lay the screen out."""
    names = ("腕立て伏せ", "E\u0301lan", "Push-up")
    circuit = Circuit(
        "x", "X", tuple(station(name, load=parse_load("8 kg")) for name in names)
    )
    lines = said(station_rows(Draft.of(circuit), 1, 78))[1:]
    assert len(lines) == 3
    assert len({cell_len(line[: line.index("8 kg")]) for line in lines}) == 1
